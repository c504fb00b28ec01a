from django.apps import AppConfig


class ChangesConfig(AppConfig):
    name = "changes"

    def ready(self) -> None:
        # trusses imports nothing of changes: what may keep its saw waiting, and the worker, are handed to it here
        from changes.asks.on_plan import in_the_set, on_the_plan
        from changes.computations import enqueue_submission
        from changes.workflow.issuing import tell_of_correction
        from changes.workflow.repairing import repair_told_at
        from changes.workflow.saw import keeps_waiting
        from changes.workflow.setting import keeps_cut, keeps_off, told_of
        from trusses.copies.looks import told_elsewhere
        from trusses.copies.undoing import before_uncut
        from trusses.marks.correcting import after_correction
        from trusses.marks.submissions import work_is_wanted
        from trusses.plan.overlays import paths_of
        from trusses.production import before_cut, before_set
        from trusses.sealing.seals import repairs_at
        from trusses.solid.standing import runs_of

        if tell_of_correction not in after_correction:
            after_correction.append(tell_of_correction)
        if keeps_waiting not in before_cut:
            before_cut.append(keeps_waiting)
        if keeps_off not in before_set:
            before_set.append(keeps_off)
        if keeps_cut not in before_uncut:
            before_uncut.append(keeps_cut)
        if told_of not in told_elsewhere:
            told_elsewhere.append(told_of)
        if repair_told_at not in repairs_at:
            repairs_at.append(repair_told_at)
        if enqueue_submission not in work_is_wanted:
            work_is_wanted.append(enqueue_submission)
        if on_the_plan not in paths_of:
            paths_of.append(on_the_plan)
        if in_the_set not in runs_of:
            runs_of.append(in_the_set)
