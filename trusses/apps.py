from django.apps import AppConfig


class TrussesConfig(AppConfig):
    name = "trusses"
