"""The set: one job's trusses, where their copies stand, and the revisions that they are built from."""

from trusses.models.bearings import BearingLink, WallLine, validate_line, validate_lumber
from trusses.models.codes import PaperCode
from trusses.models.events import MarkEvent
from trusses.models.immutable import Immutable, ImmutableQuerySet
from trusses.models.jobs import Job, Membership, Role, validate_heights, validate_time_zone
from trusses.models.marks import (
    CHANGEABLE_STAGES,
    DIRECTIONS,
    STAGE_ORDER,
    Copy,
    Placement,
    Stage,
    Truss,
    validate_kinds,
)
from trusses.models.revisions import Revision, Submission
from trusses.models.shop import BUILDING_BOUNDS_IN, JobBuilding, JobRates, PlateTable, validate_stock

__all__ = [
    "BUILDING_BOUNDS_IN",
    "CHANGEABLE_STAGES",
    "DIRECTIONS",
    "STAGE_ORDER",
    "BearingLink",
    "Copy",
    "Immutable",
    "ImmutableQuerySet",
    "Job",
    "JobBuilding",
    "JobRates",
    "MarkEvent",
    "Membership",
    "PaperCode",
    "Placement",
    "PlateTable",
    "Revision",
    "Role",
    "Stage",
    "Submission",
    "Truss",
    "WallLine",
    "validate_heights",
    "validate_kinds",
    "validate_line",
    "validate_lumber",
    "validate_stock",
    "validate_time_zone",
]
