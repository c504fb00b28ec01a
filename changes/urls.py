app_name = "changes"
urlpatterns: list = []
