"""What is said of an opening in a truss."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from trusses.analysis.words.lengths import feet_inches
from trusses.analysis.words.phrases import Says, as_counted, listed

#: So many members are told, and of more all but the last of these.
_MOST_NAMES = 6


def _named(kind: str, names: Sequence[str]) -> str:
    names = sorted(names, key=as_counted)
    if len(names) == 1:
        return f"{kind} {names[0]}"
    return f"{kind}s {listed(names, _MOST_NAMES if len(names) <= _MOST_NAMES else _MOST_NAMES - 1)}"


def _webs(members: Sequence[str], by_in: float) -> str:
    verb = "is" if len(members) == 1 else "are"
    return f"{_named('Web', members)} {verb} in the way, by {feet_inches(by_in)}."


FITS: Mapping[str, Says] = {
    "cuts-chord": lambda members: f"It would cut {_named('chord', members)}. A chord is never cut.",
    "reaches-outside": "It reaches outside of the truss; an opening must lie between the chords.",
    "webs-in-the-way": _webs,
    "fits-exactly": "It fits as it is, with nothing to spare.",
    "fits": "It fits as it is, with {spare_in:feet} to spare.",
}
"""Whether an opening is clear, and what stands in its way."""


def _at(centre_in: Sequence[float], clearance_in: float) -> str:
    clear = f", {feet_inches(clearance_in)} clear all around" if clearance_in else ""
    return f"centre {feet_inches(centre_in[0])} along the span and {feet_inches(centre_in[1])} up{clear}"


ASKED: Mapping[str, Says] = {
    "circle": lambda id, size_in, **place: f"{id}: {feet_inches(size_in[0])} round, {_at(**place)}",
    "rectangle": lambda id, size_in, **place: (
        f"{id}: {feet_inches(size_in[0])} wide and {feet_inches(size_in[1])} high, {_at(**place)}"
    ),
}
"""What opening is wanted, and where."""
