"""The set's calls of the API."""

urlpatterns: list = []
