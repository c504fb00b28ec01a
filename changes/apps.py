from django.apps import AppConfig


class ChangesConfig(AppConfig):
    name = "changes"
