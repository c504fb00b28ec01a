"""The change's calls of the API."""

urlpatterns: list = []
