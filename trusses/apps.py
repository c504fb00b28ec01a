from django.apps import AppConfig


class TrussesConfig(AppConfig):
    name = "trusses"

    def import_models(self) -> None:
        super().import_models()
        # a room's own rows, which know those of the set and are not known by them
        import trusses.copies.models
        import trusses.sealing.models  # noqa: F401

    def ready(self) -> None:
        # production stands below: what was found of copies keeps them off by what is handed to it here
        from trusses.copies.looks import keeps_off
        from trusses.production import before_set

        if keeps_off not in before_set:
            before_set.append(keeps_off)
