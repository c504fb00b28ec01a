from django.urls import path

from trusses import views

app_name = "trusses"
urlpatterns = [path("jobs/<int:job>/", views.job, name="job")]
