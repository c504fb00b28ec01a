from django.apps import AppConfig


class ChangesConfig(AppConfig):
    name = "changes"

    def ready(self) -> None:
        # trusses imports nothing of changes: what may keep its saw waiting is handed to it here
        from changes.workflow.issuing import tell_of_correction
        from changes.workflow.saw import keeps_waiting
        from trusses.correcting import after_correction
        from trusses.production import before_cut

        if tell_of_correction not in after_correction:
            after_correction.append(tell_of_correction)
        if keeps_waiting not in before_cut:
            before_cut.append(keeps_waiting)
