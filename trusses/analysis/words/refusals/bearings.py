"""Why a bearing can't be somewhere."""

from __future__ import annotations

from collections.abc import Mapping

from trusses.analysis.words.phrases import Says

BEARINGS: Mapping[str, Says] = {
    "bearing-not-of-truss": "{mark} has no bearing at joint {joint:text}.",
    "bearing-the-only-one": "{mark} would have no bearing left.",
    "bearing-beyond-truss": (
        "A bearing at {at_in:feet} is {by_in:feet} beyond the end of {mark}: it takes a truss of another length."
    ),
    "bearing-there-already": "{mark} has a bearing at {at_in:feet} already.",
    "bearing-beside-chord": "At {at_in:feet} {mark} has no chord to bear on.",
}
