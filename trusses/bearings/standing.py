"""What a mark stands on and what it carries, as its pages tell it."""

from __future__ import annotations

import itertools
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from trusses.analysis.load_path import chain
from trusses.analysis.load_path.landing import SAME_PLACE_IN, CarryingError, Landing
from trusses.analysis.load_path.taken_up import TakenUp
from trusses.analysis.words.lengths import feet_inches
from trusses.analysis.words.phrases import listed
from trusses.bearings.links import Chain, chain_of, standing_on
from trusses.job.surroundings import stands_on
from trusses.models import BearingLink, Truss
from trusses.once import once
from trusses.words import runs

_LIKE_THIS_LB = 1.0
"""Nearer than this a document holds what a mark puts on it."""


@dataclass(frozen=True)
class Part:
    """What one bearing of some copies stands on, where it isn't the same under all of them: as said by `link`, else as
    the plan draws it; `turned`: they stand turned end for end."""

    copies: tuple[int, ...]
    says: str
    link: BearingLink | None = None
    turned: bool = False

    @property
    def told(self) -> str:
        """wall A (copies 1–2); wall C (copy 3, turned end for end)."""
        numbers = f"cop{'y' if len(self.copies) == 1 else 'ies'} {runs(self.copies)}"
        return f"{self.says} ({numbers}{', turned end for end' if self.turned else ''})"


@dataclass(frozen=True)
class Foot:
    """What one bearing stands on, as a page tells it. `lands_in`: how far from the carrier's left bearing, inches, on
    each of the marks `on` that it stands on. `parts`: of whom what holds, where copies stand on several things;
    `link` is then of those that stand as the drawing has them."""

    joint: str
    link: BearingLink | None = None
    lands_in: tuple[float, ...] = ()
    trouble: str = ""
    on: tuple[str, ...] = ()
    near: str = ""
    """Where nobody said what it stands on: what the plan has there, in words."""
    parts: tuple[Part, ...] = ()

    @property
    def known(self) -> bool:
        """Whether anything is known of what it stands on, under any copy."""
        return bool(self.link or self.near or self.parts)

    @property
    def says(self) -> str:
        if self.parts:
            return "; ".join(part.told for part in self.parts)
        if self.link is None:
            return f"by the plan {self.near}; nobody said what it stands on" if self.near else "not said"
        if self.link.wall:
            return self.link.wall.label
        if self.trouble or not self.lands_in:
            return f"on {self.link.carrier}"
        if len(self.on) > 1:
            return f"on {listed(self.on)}, at {along(self.lands_in)} from the left end of the one that it stands on"
        return f"on {listed(self.on) or self.link.carrier}, at {along(self.lands_in)} from its left end"

    @property
    def typed_places(self) -> str:
        """The places that were named, one a line, as the form takes them."""
        hung = self.link.hung if self.link else []
        return "\n".join(f"{place['member']} {feet_inches(place['at_in'])}" for place in hung)


def called(link: BearingLink) -> str:
    return link.wall.label if link.wall else f"on {link.carrier}"


def along(places_in: Sequence[float]) -> str:
    """Places along a carrier: 2'-0", 5'-0" and 9'-0"; many that are evenly spaced by their first, step and last."""
    steps = [b - a for a, b in itertools.pairwise(places_in)]
    if len(steps) > 2 and max(steps) - min(steps) <= SAME_PLACE_IN:
        first, last = feet_inches(places_in[0]), feet_inches(places_in[-1])
        return f"{first} and then every {feet_inches(steps[0])} to {last}"
    *rest, last = map(feet_inches, places_in)
    return f"{', '.join(rest)} and {last}" if rest else last


def feet(truss: Truss) -> list[Foot]:
    """What was said that each bearing of a mark's current revision stands on, in the document's order. Of copies that
    were turned end for end it needn't hold: pages ask `trusses.plan.feet`."""
    rows = {link.joint: link for link in stands_on([truss.pk])[truss.pk]}
    reached = chain_of([truss]) if any(link.carrier_id for link in rows.values()) else None
    found = []
    for bearing in truss.current.document["bearings"]:
        joint = bearing["joint"]
        links = [link for link in reached.links if (link.carried, link.joint) == (truss.mark, joint)] if reached else []
        landed = [_landed(reached.marks, link) for link in links] if reached else []
        places = tuple(sorted({landing.along_in for there, _ in landed for landing in there}))
        trouble = next((says for _, says in landed if says), "")
        found.append(Foot(joint, rows.get(joint), places, trouble, tuple(link.carrier for link in links)))
    return found


def _landed(marks: Mapping[str, chain.Mark], link: chain.Link) -> tuple[tuple[Landing, ...], str]:
    try:
        return chain.land(marks, link), ""
    except CarryingError as trouble:
        return (), str(trouble)


@dataclass(frozen=True)
class Load:
    """A mark that stands on a carrier: which bearings, where along the carrier, the most it puts there at one place."""

    truss: Truss
    joints: tuple[str, ...]
    lands_in: tuple[float, ...]
    down_lb: float
    trouble: str = ""

    @property
    def at(self) -> str:
        return along(self.lands_in)


@dataclass(frozen=True)
class Carries:
    """What a mark carries. `behind`: marks whose loads in its current document aren't those that they put there now."""

    loads: tuple[Load, ...] = ()
    behind: tuple[str, ...] = ()

    def __bool__(self) -> bool:
        return bool(self.loads or self.behind)


def carried(truss: Truss) -> Carries:
    """What stands on a mark today, and whether its current document has it."""
    standing = standing_on(truss)
    written = TakenUp.read(truss.current.taken_up).still_in(truss.current.document).marks
    if not standing:
        return Carries(behind=tuple(written))
    reached = chain_of(standing)
    loads = []
    for other in standing:
        links = [link for link in reached.links if (link.carried, link.carrier) == (other.mark, truss.mark)]
        landed = [_landed(reached.marks, link) for link in links]
        down = [_most_down(reached.marks[other.mark].analysis, link.joint) for link in links]
        along = sorted(landing.along_in for on, _ in landed for landing in on)
        trouble = next((says for _, says in landed if says), "")
        joints = tuple(link.joint for link in links)
        loads.append(Load(other, joints, tuple(along), max(down, default=0.0), trouble))
    return Carries(tuple(loads), _behind(reached, truss, written))


def _most_down(analysis: Mapping[str, Any], joint: str) -> float:
    return float(analysis["envelope"]["reactions_lb"].get(joint, {}).get("down_lb", 0.0))


def _behind(reached: Chain, truss: Truss, written: Sequence[str]) -> tuple[str, ...]:
    marks = list(dict.fromkeys([*written, *(link.carried for link in reached.links if link.carrier == truss.mark)]))
    try:
        _, then = chain.loaded(reached.marks, reached.links, truss.mark)
    except CarryingError:
        return tuple(marks)
    now = TakenUp.read(truss.current.taken_up).still_in(truss.current.document)
    kin = _first_marks(truss.job_id)
    return tuple(mark for mark in marks if not _alike(_put_by(now, mark, kin), _put_by(then, mark, kin)))


def _first_marks(job: int) -> dict[str, str]:
    """{variant: the mark that it was split off}: what its copies put where they stand counts, not by which name."""
    rows = Truss.objects.filter(job=job, variant_of__isnull=False).values_list("mark", "variant_of__mark")
    return once(("first marks", job), lambda: dict(rows))


def _put_by(taken: TakenUp, mark: str, kin: Mapping[str, str]) -> dict[Any, float]:
    """What a document holds of a mark and its kin: pounds by case, arrangement and place."""
    first = kin.get(mark, mark)
    put: dict[Any, float] = {}
    for one in taken.loads:
        if kin.get(one.mark, one.mark) == first:
            key = (one.case, one.pattern, *map(round, one.place_in))
            put[key] = put.get(key, 0.0) + one.down_lb
    return put


def _alike(one: Mapping[Any, float], other: Mapping[Any, float]) -> bool:
    return one.keys() == other.keys() and all(abs(lb - other[key]) < _LIKE_THIS_LB for key, lb in one.items())
