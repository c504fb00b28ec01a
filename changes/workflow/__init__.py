"""The change's verbs, for pages and API alike, and the one table of what each does to a request's state.

Every verb asks `permissions` first, does all or nothing in one transaction, and writes an event with who and when.
Refused (what was sent is wrong), Conflict (somebody was first), NotAllowed (not in that role): each `says` why.
"""

from changes.computations import ring_if_due as ring
from changes.refusals import Conflict, NotAllowed
from changes.workflow.along import answer_along
from changes.workflow.deciding import decide, work_out_together
from changes.workflow.drafting import draw_option
from changes.workflow.ending import left_out, unfinished
from changes.workflow.filing import answer, answer_there, compute_again, file, keys_used, tells_of_damage, withdraw
from changes.workflow.holds import answer_hold
from changes.workflow.on_the_plan import move_on_the_plan
from changes.workflow.repairing import attach_repair
from changes.workflow.starting import start_revision
from changes.workflow.table import TRANSITIONS, Step, move, note
from trusses.refusals import Refused

__all__ = [
    "TRANSITIONS",
    "Conflict",
    "NotAllowed",
    "Refused",
    "Step",
    "answer",
    "answer_along",
    "answer_hold",
    "answer_there",
    "attach_repair",
    "compute_again",
    "decide",
    "draw_option",
    "file",
    "keys_used",
    "left_out",
    "move",
    "move_on_the_plan",
    "note",
    "ring",
    "start_revision",
    "tells_of_damage",
    "unfinished",
    "withdraw",
    "work_out_together",
]
