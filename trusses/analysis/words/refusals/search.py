"""Why no option is searched for."""

from __future__ import annotations

from collections.abc import Mapping

from trusses.analysis.words.openings import FITS
from trusses.analysis.words.phrases import Coded, Says, tell


def _opening(opening: str, fit: Coded) -> str:
    return f"Opening {opening} can't be made here. {tell(FITS, [fit])}"


SEARCH: Mapping[str, Says] = {
    "today-shares-wood": "Today's truss can't be built as it is drawn. {why}.",
    "opening-impossible": _opening,
    "arrangements-missing": ("The truss lacks load arrangements ({lacking:names}); without them no option is offered."),
}
