"""Whether a damaged truss stands as it is: how it can move, or the check that it exceeds most, under what is on it."""

from __future__ import annotations

import copy
from collections.abc import Collection, Mapping
from dataclasses import dataclass, replace

from trusses.analysis.analysis import analyse
from trusses.analysis.checks.check import PASSES, Check
from trusses.analysis.checks.stack import SERVICEABILITY
from trusses.analysis.checks.surroundings import NOTHING_SAID, Surroundings
from trusses.analysis.damage.damaged import Damage, Document, damaged, taken_as
from trusses.analysis.format.document import read_stored
from trusses.analysis.format.model import Truss
from trusses.analysis.frame.mechanism import Mechanism
from trusses.analysis.lumber import lookup, section

_SAME_IN = 1e-6
#: A notch through the whole depth leaves this share, so that a ratio says so and nothing is divided by nothing.
_LEAST_LEFT = 1e-3


@dataclass(frozen=True)
class Standing:
    """The truss under the loads of some cases. `moves` where it can move freely; else `worst`, its highest check of
    strength, stability or bearing, None where nothing is loaded."""

    cases: tuple[str, ...]
    moves: Mechanism | None = None
    worst: Check | None = None

    @property
    def exceeds(self) -> bool:
        """Whether it can't be shown to carry these loads. That it isn't so shows nothing but these sums."""
        return self.moves is not None or (self.worst is not None and self.worst.ratio > PASSES)


def standing(
    truss: Truss, damage: Damage, acting: Collection[str] = (), surroundings: Surroundings = NOTHING_SAID
) -> tuple[Standing, Standing]:
    """The damaged truss under its dead load and what is on it now (`acting` are those cases), and under all that it was
    drawn for. Raises DamageError."""
    document = damaged(truss, damage)
    notched = _notched(truss, damage, document)
    loads = truss.document.get("loads", {}).values()
    every = tuple(dict.fromkeys(load["case"] for kind in loads for load in kind))
    now = tuple(case for case in every if case == "dead" or case in acting)
    one, two = (_stands(document, cases, notched, surroundings) for cases in (now, every))
    return one, two


def shore_at(truss: Truss, member_id: str) -> tuple[str, ...]:
    """Where shores go: the panel points of the bottom chord beside a damaged member and the next one on either side,
    from the left. Bearings are carried already."""
    member = truss.member(member_id)
    low, high = sorted(joint.x for joint in truss.ends(member))
    chord = {name for each in truss.members if each.role == "bottom_chord" for name in each.joints}
    along = sorted((truss.joint(name) for name in chord), key=lambda joint: joint.x)
    left = [joint for joint in along if joint.x < low - _SAME_IN][-1:]
    right = [joint for joint in along if joint.x > high + _SAME_IN][:1]
    beside = [joint for joint in along if low - _SAME_IN <= joint.x <= high + _SAME_IN]
    bearings = {bearing.joint for bearing in truss.bearings}
    return tuple(joint.name for joint in (*left, *beside, *right) if joint.name not in bearings)


def _notched(truss: Truss, damage: Damage, document: Document) -> dict[str, float]:
    """The members beside a notch in a chord, and what it leaves of their depth."""
    if damage.how != "notched" or taken_as(truss, damage) != "hinged":
        return {}
    member = truss.member(damage.member)
    left = max(1.0 - damage.size_in / section(lookup(member.lumber), member.flat).depth_in, _LEAST_LEFT)
    halves = {each["id"] for each in document["members"]} - truss.member_index.keys()
    return dict.fromkeys({damage.member, *halves}, left)


def _stands(
    document: Document, cases: tuple[str, ...], notched: Mapping[str, float], surroundings: Surroundings
) -> Standing:
    loaded = copy.deepcopy(document)
    for kind, held in loaded.get("loads", {}).items():
        loaded["loads"][kind] = [load for load in held if load["case"] in cases]
    try:
        analysis = analyse(read_stored(loaded), surroundings)
    except Mechanism as moves:
        return Standing(cases, moves=moves)
    checks = [_at_notch(check, notched) for check in analysis.checks if check.rule not in SERVICEABILITY]
    return Standing(cases, worst=max(checks, key=lambda check: check.ratio, default=None))


def _at_notch(check: Check, notched: Mapping[str, float]) -> Check:
    """The check of a notched chord on what the notch leaves of its area."""
    left = notched.get(check.id, 1.0) if check.of == "member" else 1.0
    ratio = check.ratio / left
    return replace(check, demand=check.demand / left, ratio=ratio, passes=ratio <= PASSES)
