from django.contrib import admin
from django.urls import include, path

urlpatterns = [
    path("", include("project.entry")),
    path("", include("project.offline.page")),
    path("", include("trusses.urls")),
    path("", include("changes.urls")),
    path("api/v1/", include("project.api")),
    path("admin/", admin.site.urls),
]

handler400 = "project.uploads.not_taken"
