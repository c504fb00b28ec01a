"""The change: what was asked, what was computed, what was decided, and the record of it."""

from changes.models.atlases import Atlas
from changes.models.computations import Computation
from changes.models.decisions import Decision, Hold, Issue, Repair
from changes.models.inspection import Correction, CorrectionWord, InspectorLink
from changes.models.options import Consequence, Option, Together
from changes.models.record import Event, IdempotencyKey, Seen
from changes.models.requests import AS_IT_IS, OPEN_STATES, Ask, Kind, Photo, Request, Run, State, Verdict

__all__ = [
    "AS_IT_IS",
    "OPEN_STATES",
    "Ask",
    "Atlas",
    "Computation",
    "Consequence",
    "Correction",
    "CorrectionWord",
    "Decision",
    "Event",
    "Hold",
    "IdempotencyKey",
    "InspectorLink",
    "Issue",
    "Kind",
    "Option",
    "Photo",
    "Repair",
    "Request",
    "Run",
    "Seen",
    "State",
    "Together",
    "Verdict",
]
