"""The checks of a truss under its combinations: for each object and rule, where and by which one it governs."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property, lru_cache

import numpy as np
import numpy.typing as npt

from trusses.analysis.checks import nds
from trusses.analysis.checks.check import PASSES, TERM_UNITS, Check, terms
from trusses.analysis.checks.combined import forces, may_bend, noise
from trusses.analysis.checks.deflection import LIVE, TOTAL, Deflections, deflection_checks
from trusses.analysis.checks.governing import MemberChecks, member_checks
from trusses.analysis.checks.member_properties import Pieces, in_service, service_terms, stack_pieces
from trusses.analysis.checks.surroundings import NOTHING_SAID, Surroundings
from trusses.analysis.checks.uprights import UprightChecks, upright_checks
from trusses.analysis.format.model import ROLES, Truss
from trusses.analysis.frame.member_loads import superposed
from trusses.analysis.frame.solution import Solution
from trusses.analysis.frame.topology import Topology
from trusses.analysis.loads.combinations import Combination

__all__ = ["SERVICEABILITY", "TERM_UNITS", "WALL_PLATE", "Check", "StackChecks", "check_stack"]

#: The rules whose failure a designer may accept with a reason; every other one is of strength, stability or bearing.
SERVICEABILITY = frozenset({LIVE, TOTAL})
#: The rule of the plate below a bearing, where its lumber was said; that of the chord on it is "bearing".
WALL_PLATE = "bearing of the wall plate"


@dataclass(frozen=True)
class StackChecks:
    """The checks of a stack of trusses: `worst` (t,) the largest ratio of each, 0 where nothing is checked.

    The records of one truss are made from its solution alone when asked for: a search asks for few of its many, and
    all that was looked at on the way would fill the memory.
    """

    trusses: Sequence[Truss]
    combinations: Sequence[Combination]
    solution: Solution
    factors: npt.NDArray[np.float64]
    worst: npt.NDArray[np.float64]
    surroundings: Surroundings = NOTHING_SAID

    def of(self, t: int) -> tuple[Check, ...]:
        """Every check of one truss: members in order, webs on chords, bearings, then the truss."""
        one = self.solution.only(t)
        members, others = _parts([self.trusses[t]], self.combinations, one, self.factors, self.surroundings)
        return (*members.of(0), *(check for part in others for check in part.of(0)))


def check_stack(
    trusses: Sequence[Truss],
    combinations: Sequence[Combination],
    solution: Solution,
    factors: npt.NDArray[np.float64],
    surroundings: Surroundings = NOTHING_SAID,
) -> StackChecks:
    """The checks of trusses of one shape, use and ceiling under the same combinations, which `factors` (r, cases) make
    of the solution's cases."""
    members, others = _parts(trusses, combinations, solution, factors, surroundings)
    worst = members.worst(np.zeros(len(trusses)))
    for part in others:
        worst = part.worst(worst)
    # what is known by then leaves little to look for between the places
    return StackChecks(trusses, combinations, solution, factors, members.between(worst), surroundings)


def failing(
    truss: Truss,
    combinations: Sequence[Combination],
    solution: Solution,
    factors: npt.NDArray[np.float64],
    surroundings: Surroundings = NOTHING_SAID,
) -> tuple[Check, ...]:
    """The checks of one truss that are over their limits. The records of all others, which are most of the work, aren't
    made."""
    members, others = _parts([truss], combinations, solution, factors, surroundings)
    checks = (*members.of(0, over=PASSES), *(check for part in others for check in part.of(0)))
    return tuple(check for check in checks if not check.passes)


def _parts(
    trusses: Sequence[Truss],
    combinations: Sequence[Combination],
    solution: Solution,
    factors: npt.NDArray[np.float64],
    surroundings: Surroundings,
) -> tuple[MemberChecks, list[UprightChecks | BearingChecks | Deflections]]:
    """The checks of the members, and all others."""
    pieces = stack_pieces(trusses, solution.shape, solution.place, surroundings.km)
    bent = may_bend(solution)
    along = solution.along(bent)
    upward = superposed(factors, solution.reactions[:, 1])
    groups = forces(solution, factors, bent, along)
    least = noise([group.forces for group in groups])
    deflections = deflection_checks(trusses, combinations, solution, factors, bent, along)
    return member_checks(trusses, combinations, pieces, groups, least), [
        *upright_checks(trusses, combinations, solution, factors, pieces, least[0]),
        BearingChecks(trusses, combinations, solution.shape, pieces, upward, surroundings),
        *([] if deflections is None else [deflections]),
    ]


def checks_of_members(
    truss: Truss,
    combinations: Sequence[Combination],
    solution: Solution,
    factors: npt.NDArray[np.float64],
    surroundings: Surroundings = NOTHING_SAID,
) -> tuple[Check, ...]:
    """The checks of one truss's members alone, under some of its combinations, which `factors` (r, cases) make."""
    pieces, bent = stack_pieces([truss], solution.shape, solution.place, surroundings.km), may_bend(solution)
    groups = forces(solution, factors, bent, solution.along(bent))
    least = noise([group.forces for group in groups])
    members = member_checks([truss], combinations, pieces, groups, least)
    uprights = upright_checks([truss], combinations, solution, factors, pieces, least[0])
    return (*members.of(0), *(check for part in uprights for check in part.of(0)))


@dataclass(frozen=True)
class BearingChecks:
    """Compression across the grain of the chord on each bearing that is pressed on, and of the wall plate below where
    its lumber was said (NDS 3.10.2, Cb = 1); `upward` (r, b, t) are the reactions, lb."""

    trusses: Sequence[Truss]
    combinations: Sequence[Combination]
    shape: Topology
    pieces: Pieces
    upward: npt.NDArray[np.float64]
    surroundings: Surroundings

    @cached_property
    def _bears_on(self) -> npt.NDArray[np.int64]:
        """The member that each bearing presses on, (b, t): the weakest piece of the chord that meets there.

        The bottom chord at that joint, or the top chord where there is none; a document has a chord on every bearing.
        """
        found, strength = np.empty((len(self.shape.bearings), len(self.trusses)), dtype=int), None
        for b, meeting in enumerate(_meeting(self.shape)):
            if len(meeting) == 1:
                found[b] = meeting
                continue
            if strength is None:
                strength = self.pieces.fc_perp * self.pieces.width
            found[b] = meeting[strength[meeting].argmin(axis=0)]
        return found

    @cached_property
    def _area(self) -> npt.NDArray[np.float64]:
        """Of contact, in², (b, t)."""
        widths = np.array([[bearing.width_in for bearing in truss.bearings] for truss in self.trusses]).T
        return widths * self._there(self.pieces.width)

    @cached_property
    def _clause(self) -> nds.Clause:
        return nds.bearing(self.upward.max(axis=0), self._area, self._there(self.pieces.fc_perp))

    def _there(self, values: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
        """What the members that the bearings press on have of some values (m, t) or (m, 1), (b, t)."""
        return values[self._bears_on, np.arange(values.shape[1])]

    @cached_property
    def _below(self) -> npt.NDArray[np.float64] | None:
        """Fc-perp' of the wall plates, psi (b, t), in the service of the truss on them; without end where the lumber
        wasn't said; None where none was."""
        if not self.surroundings.wall_plates:
            return None
        below = np.full((len(self.shape.bearings), len(self.trusses)), np.inf)
        for t, truss in enumerate(self.trusses):
            for b, bearing in enumerate(truss.bearings):
                if plate := self.surroundings.plate(bearing.joint):
                    below[b, t] = plate.fc_perp * in_service(plate, truss.service, "fc_perp").product
        return below

    def worst(self, known: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
        """The largest ratio of each truss, or what is `known` where that is more, (t,)."""
        ratio = self._clause.ratio
        if self._below is not None:
            ratio = np.maximum(ratio, self._clause.demand / self._below)
        return np.maximum(known, np.max(ratio, axis=0, initial=0.0))

    def of(self, t: int) -> Iterator[Check]:
        """The checks of one truss's bearings."""
        truss, most = self.trusses[t], self.upward[:, :, t].argmax(axis=0)
        demand, capacity, ratio, area = (
            np.asarray(values)[:, t].tolist()
            for values in (self._clause.demand, self._clause.capacity, self._clause.ratio, self._area)
        )
        for b, bearing in enumerate(truss.bearings):
            pressing = float(self.upward[most[b], b, t])
            if pressing <= 0:
                continue
            factors = {"R": pressing, "area": area[b], "Cb": 1.0}
            lumber = truss.members[self._bears_on[b, t]].lumber
            chord = Check(
                of="bearing",
                id=bearing.joint,
                rule="bearing",
                source="NDS 3.10.2",
                combination=self.combinations[most[b]].name,
                at_in=None,
                demand=demand[b],
                capacity=capacity[b],
                ratio=ratio[b],
                passes=ratio[b] <= PASSES,
                terms=terms([*factors.items(), ("lumber", lumber), *service_terms(truss.service, lumber, "bearing")]),
            )
            yield chord
            if plate := self.surroundings.plate(bearing.joint):
                # the same area is pressed from both sides
                allowed = plate.fc_perp * in_service(plate, truss.service, "fc_perp").product
                of_plate = demand[b] / allowed
                yield replace(
                    chord,
                    rule=WALL_PLATE,
                    capacity=allowed,
                    ratio=of_plate,
                    passes=of_plate <= PASSES,
                    terms=terms(
                        [
                            *factors.items(),
                            ("lumber", plate.key),
                            *service_terms(truss.service, plate.key, "bearing"),
                        ]
                    ),
                )


@lru_cache(maxsize=256)
def _meeting(shape: Topology) -> list[npt.NDArray[np.int64]]:
    """The pieces of the chord that each bearing presses on."""
    found = []
    for joint in shape.bearings:
        meeting = np.flatnonzero((shape.ends == joint).any(axis=1))
        roles = [ROLES[role] for role in shape.roles[meeting]]
        on = "bottom_chord" if "bottom_chord" in roles else "top_chord"
        found.append(meeting[[role == on for role in roles]])
    return found
