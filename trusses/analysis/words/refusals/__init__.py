"""The sentences of the core's refusals, a table for each subject."""

from __future__ import annotations

from collections.abc import Mapping

from trusses.analysis.words.phrases import Says
from trusses.analysis.words.refusals.bearings import BEARINGS
from trusses.analysis.words.refusals.capacity import CAPACITY
from trusses.analysis.words.refusals.damage import DAMAGE
from trusses.analysis.words.refusals.document import DOCUMENT
from trusses.analysis.words.refusals.drawing import DRAWING
from trusses.analysis.words.refusals.lengths import LENGTHS
from trusses.analysis.words.refusals.load_path import LOAD_PATH
from trusses.analysis.words.refusals.loads import LOADS
from trusses.analysis.words.refusals.lumber import LUMBER
from trusses.analysis.words.refusals.openings import OPENINGS
from trusses.analysis.words.refusals.passages import PASSAGES
from trusses.analysis.words.refusals.plates import PLATES
from trusses.analysis.words.refusals.runs import RUNS
from trusses.analysis.words.refusals.search import SEARCH
from trusses.analysis.words.refusals.shapes import SHAPES

REFUSALS: Mapping[str, Says] = {
    **LENGTHS,
    **DOCUMENT,
    **LUMBER,
    **LOADS,
    **OPENINGS,
    **RUNS,
    **SHAPES,
    **LOAD_PATH,
    **SEARCH,
    **PLATES,
    **DRAWING,
    **DAMAGE,
    **CAPACITY,
    **BEARINGS,
    **PASSAGES,
}
"""For each code of a refusal, its sentence. Codes are of all subjects together, so that one may stand in another."""
