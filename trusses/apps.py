from django.apps import AppConfig


class TrussesConfig(AppConfig):
    name = "trusses"

    def import_models(self) -> None:
        super().import_models()
        # a room's own rows, which know those of the set and are not known by them
        import trusses.copies.models
        import trusses.sealing.models  # noqa: F401
