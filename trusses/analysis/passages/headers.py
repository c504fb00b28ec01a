"""Headers between two trusses beside one that is left out, and what they bring to them.

Where a truss is left out, tail pieces stand in its line from either wall to the passage and bear on a header there.
Half of what lies on a tail goes to its wall, half to the header, which takes it as an even load w over its length L and
brings R = wL/2 to the truss on either side. The header is a document of its own, and its reactions are handed on like
those of any truss that stands on another."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from trusses.analysis.analysis import Analysis, analyse
from trusses.analysis.capacity.placing import along
from trusses.analysis.format.document import read
from trusses.analysis.format.model import Role, Truss
from trusses.analysis.load_path.landing import Landing
from trusses.analysis.load_path.transfer import Carried, carry
from trusses.analysis.loads.windows import total_lb
from trusses.analysis.lumber import DRESSED_WIDTH, LUMBER, lookup
from trusses.analysis.redesign.building import USUAL, Building

Document = dict[str, Any]
_BEARING_IN = 1.5
_LEAST_LB = 1e-6
_PLIES = 2


@dataclass(frozen=True)
class Header:
    """A doubled header at x along the span in the plane of a chord, the smallest that passes, else the largest.
    `stocked`: of what the job has; where it has nothing of the chord's species, the numbers are those of the chord's
    own lumber, and it doesn't pass."""

    x_in: float
    chord: Role
    analysis: Analysis
    stocked: bool = True

    @property
    def passes(self) -> bool:
        return self.stocked and self.analysis.passes

    @property
    def reaction_lb(self) -> float:
        """What it brings to the truss on either side at most, over all combinations."""
        return float(self.analysis.results.combined.reactions[:, :, 1].max())


def headers(
    truss: Truss,
    chord: Role,
    window: tuple[float, float],
    length_in: float,
    left_out: int = 1,
    building: Building = USUAL,
) -> list[Header]:
    """The headers at both ends of `window`, the x from which to which the passage reaches, in the plane of one chord;
    `length_in` between the trusses that carry them, `left_out` trusses' width on them. None where nothing lies
    there."""
    xs = [x for _, low, high in along(truss, chord) for x in (low, high)]
    sides = ((window[0], (min(xs), window[0])), (window[1], (window[1], max(xs))))
    called = [f"{side} {_CALLED[chord]} header" for side in ("left", "right")]
    found = (
        _header(truss, chord, name, x, tail, length_in, left_out, building)
        for name, (x, tail) in zip(called, sides, strict=True)
    )
    return [header for header in found if header is not None]


def handed_on(document: Document, carried: Sequence[Header], side: int) -> Document:
    """The document of the truss on one `side` of the headers (0 the first in the row, 1 the next) with their
    reactions."""
    truss = read(document)
    each = [
        Carried(header.analysis.truss, header.analysis.document(), (_landing(truss, header, side),))
        for header in carried
    ]
    return carry(document, each)[0]


def _landing(truss: Truss, header: Header, side: int) -> Landing:
    joint = header.analysis.truss.bearings[1 - side].joint
    for member, low, high in along(truss, header.chord):
        if low <= header.x_in <= high:
            first, second = truss.ends(member)
            at = truss.length(member) * (header.x_in - first.x) / (second.x - first.x)
            left = min(truss.joint(bearing.joint).x for bearing in truss.bearings)
            return Landing(joint, member.id, at, header.x_in - left)
    raise ValueError(f"{truss.mark} has no {header.chord} at {header.x_in:g} in.")


def _header(
    truss: Truss,
    chord: Role,
    name: str,
    x: float,
    tail: tuple[float, float],
    length_in: float,
    left_out: int,
    building: Building,
) -> Header | None:
    lines = []
    for load in truss.document.get("loads", {}).get("area", ()):
        if load["chord"] == chord:
            on_tail = total_lb(truss, [("area", load)], tail) * left_out
            if abs(on_tail) > _LEAST_LB:
                kept = {key: load[key] for key in ("case", "pattern", "acts") if key in load}
                lines.append({**kept, "member": "H", "plf": on_tail / 2 / length_in * 12})
    if not lines:
        return None
    keys = _keys(truss, chord)
    stocked = [key for key in keys if building.stocks(key)]
    tried = None
    for key in stocked or keys:
        tried = analyse(read(_document(key, length_in, lines, name, truss)))
        if tried.passes:
            break
    return None if tried is None else Header(x, chord, tried, bool(stocked))


_CALLED = {"bottom_chord": "lower", "top_chord": "upper"}


def _keys(truss: Truss, chord: Role) -> list[str]:
    """Lumber of the species and grade of the chord's own, the smallest first."""
    now = lookup(next(member for member in truss.members if member.role == chord).lumber)
    return [key for size in DRESSED_WIDTH if (key := f"2x{size} {now.species} {now.grade}") in LUMBER]


def _document(key: str, length_in: float, lines: list[Document], mark: str, truss: Truss) -> Document:
    return {
        "format": "chordchange.truss",
        "version": 1,
        "mark": mark,
        "plies": _PLIES,
        "ply_fastening": "nailed, to be designed",
        "spacing_in": truss.spacing_in,
        "use": truss.use,
        "ceiling": truss.ceiling,
        "joints": {"A": [0, 0], "B": [length_in, 0]},
        "members": [{"id": "H", "role": "bottom_chord", "joints": ["A", "B"], "lumber": key}],
        "bearings": [
            {"joint": "A", "restrains": "xy", "width_in": _BEARING_IN},
            {"joint": "B", "restrains": "y", "width_in": _BEARING_IN},
        ],
        "loads": {"line": lines},
        "lateral_restraint": {"bottom_chord_in": 24},
        **({"uplift_dead_share": truss.uplift_dead_share} if truss.uplift_dead_share is not None else {}),
    }
