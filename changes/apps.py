from django.apps import AppConfig


class ChangesConfig(AppConfig):
    name = "changes"

    def ready(self) -> None:
        # trusses imports nothing of changes: what may keep its saw waiting, and the worker, are handed to it here
        from changes.computations import enqueue_mark
        from changes.workflow.issuing import tell_of_correction
        from changes.workflow.saw import keeps_waiting
        from changes.workflow.setting import damaged
        from trusses.marks.correcting import after_correction
        from trusses.production import before_cut, before_set
        from trusses.revisions import analysis_is_wanted

        if tell_of_correction not in after_correction:
            after_correction.append(tell_of_correction)
        if keeps_waiting not in before_cut:
            before_cut.append(keeps_waiting)
        if damaged not in before_set:
            before_set.append(damaged)
        if enqueue_mark not in analysis_is_wanted:
            analysis_is_wanted.append(enqueue_mark)
