"""Why what was asked can't be drawn."""

from __future__ import annotations

from collections.abc import Mapping

from trusses.analysis.words.phrases import Says

DRAWING: Mapping[str, Says] = {
    "drawing-width": "a drawing is between {least} and {most} pixels wide",
    "drawing-view": "the views are plain and forces",
    "drawing-detail": "the details are sheet, phone and thumb",
    "drawing-prefix": "a drawing's id prefix is a letter followed by letters, digits, _ or -, at most 40",
    "drawing-without-analysis": "a view of the forces needs the truss's analysis",
    "drawing-of-another-truss": "the analysis has no member {member}: it belongs to another truss document",
    "drawing-combination": "the analysis has no combination called {combination}",
}
