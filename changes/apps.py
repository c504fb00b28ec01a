from typing import Any

from django.apps import AppConfig


class ChangesConfig(AppConfig):
    name = "changes"

    def ready(self) -> None:
        # trusses imports nothing of changes: what may keep its saw waiting, and the worker, are handed to it here
        from changes.asks.blocks import in_the_set as blocks_in_the_set
        from changes.asks.new_walls import coming
        from changes.asks.on_plan import in_the_set, on_the_plan
        from changes.asks.on_sheet import runs_through
        from changes.asks.on_walls import moving
        from changes.asks.weights import issued
        from changes.computations import enqueue_submission
        from changes.inspection.corrections import disputes, still_open
        from changes.workflow.issuing import tell_of_correction
        from changes.workflow.repairing import repair_told_at
        from changes.workflow.saw import keeps_waiting
        from changes.workflow.setting import keeps_cut, keeps_off, repaired, told_of
        from changes.workflow.waiting import open_on as asked_on
        from changes.workflow.walls import keep_standing
        from trusses.copies import disputed
        from trusses.copies.harmed import repaired_by
        from trusses.copies.looks import told_elsewhere
        from trusses.copies.undoing import before_uncut
        from trusses.marks.correcting import after_correction
        from trusses.marks.submissions import work_is_wanted
        from trusses.plan import on_walls
        from trusses.plan.overlays import paths_of
        from trusses.production import before_cut, before_set, open_on
        from trusses.sealing.seals import repairs_at
        from trusses.sheets.closing import open_besides
        from trusses.sheets.runs import told_by
        from trusses.sheets.weights import issued_by
        from trusses.solid.standing import runs_of, weights_of

        handed: list[tuple[list[Any], Any]] = [
            (after_correction, tell_of_correction),
            (before_cut, keeps_waiting),
            (before_set, keeps_off),
            (open_on, asked_on),
            (before_uncut, keeps_cut),
            (told_elsewhere, told_of),
            (repaired_by, repaired),
            (repairs_at, repair_told_at),
            (work_is_wanted, enqueue_submission),
            (issued_by, issued),
            (told_by, runs_through),
            (paths_of, on_the_plan),
            (on_walls.told_by, moving),
            (on_walls.told_by, coming),
            (on_walls.before_redrawn, keep_standing),
            (runs_of, in_the_set),
            (weights_of, blocks_in_the_set),
            (open_besides, still_open),
            (disputed.told_by, disputes),
        ]
        for those, own in handed:
            if own not in those:
                those.append(own)
