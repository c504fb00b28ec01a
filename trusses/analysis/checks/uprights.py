"""Webs that stand on a chord, posts of a chase among them: compression across the chord's grain (NDS 3.10)."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from trusses.analysis.checks import nds
from trusses.analysis.checks.check import PASSES, Check, terms
from trusses.analysis.checks.member_properties import Pieces
from trusses.analysis.format.model import ROLES, Truss
from trusses.analysis.frame.member_loads import superposed
from trusses.analysis.frame.solution import Solution
from trusses.analysis.frame.topology import Topology
from trusses.analysis.loads.combinations import Combination

Array = npt.NDArray[np.float64]

ON_CHORD = "bearing on the chord"
#: A web that leans farther than 45 degrees from square to a chord pushes along it more than across it (sine, less what
#: rounded coordinates make of it).
_UPRIGHT = math.sqrt(0.5) - 1e-9
#: A force is square to the grain up to this (1 - sine).
_SQUARE = 1e-9


def upright_checks(
    trusses: Sequence[Truss],
    combinations: Sequence[Combination],
    solution: Solution,
    factors: Array,
    pieces: Pieces,
    least: Array,
) -> list[UprightChecks]:
    """The check of the chords under the webs of trusses of one shape; none where no web stands on a chord. Axial force
    up to the `least` of each truss (t,) is none."""
    on = _on_chords(solution.shape)
    web, _, chord = on.T
    (right, up), (chord_right, chord_up) = (solution.place.along.take(m, axis=1) for m in (web, chord))
    sine = np.abs(right * chord_up - up * chord_right)
    upright = sine >= _UPRIGHT
    stand = upright.any(axis=1)
    if not stand.any():
        return []
    on, sine, upright = on[stand], sine[stand], upright[stand]
    web, end, chord = on.T
    pressing = -superposed(factors, solution.ends[:, end, web])
    force = np.where(upright & (pressing > least), pressing, 0.0)
    cd = np.array([combination.load_duration for combination in combinations])[:, None, None]
    area = np.minimum(pieces.width[web], pieces.width[chord]) * pieces.depth[web]
    clause = nds.bearing_at_angle(force, area, pieces.fc[chord] * cd, pieces.fc_perp[chord], sine)
    return [UprightChecks(trusses, combinations, on, solution.place.length, sine, clause)]


@dataclass(frozen=True)
class UprightChecks:
    """Each web's section pressed on each piece of chord at its ends, `on` (k, 3) as `_on_chords` has them: `clause` and
    its ratio are (r, k, t), 0 where the web doesn't press or leans too far; `length` (m, t) inches, `sine` (k, t).

    The area is the web's whole section, no broader than the chord, and Cb = 1: what plates carry isn't counted on. A
    web that leans over 45 degrees from square, or is cut against another one, is left to its plates.
    """

    trusses: Sequence[Truss]
    combinations: Sequence[Combination]
    on: npt.NDArray[np.int64]
    length: Array
    sine: Array
    clause: nds.Clause

    @property
    def ratio(self) -> Array:
        return np.asarray(self.clause.ratio)

    def worst(self, known: Array) -> Array:
        """The largest ratio of each truss, or what is `known` where that is more, (t,)."""
        return np.maximum(known, self.ratio.max(axis=(0, 1)))

    def of(self, t: int) -> Iterator[Check]:
        """One check for each web of a truss that presses on a chord, where it does so most."""
        truss = self.trusses[t]
        for web in dict.fromkeys(self.on[:, 0].tolist()):
            ratio = np.where(self.on[:, 0] == web, self.ratio[..., t], 0.0)
            row, k = map(int, np.unravel_index(int(ratio.argmax()), ratio.shape))
            if ratio[row, k] <= 0:
                continue
            _, end, chord = self.on[k].tolist()
            demand, capacity = (_at(value, row, k, t) for value in (self.clause.demand, self.clause.capacity))
            factors = {name: _at(value, row, k, t) for name, value in self.clause.factors.items()}
            yield Check(
                of="member",
                id=truss.members[web].id,
                rule=ON_CHORD,
                source="NDS 3.10.2" if self.sine[k, t] > 1 - _SQUARE else "NDS 3.10.3",
                combination=self.combinations[row].name,
                at_in=float(self.length[web, t]) if end else 0.0,
                demand=demand,
                capacity=capacity,
                ratio=float(ratio[row, k]),
                passes=bool(ratio[row, k] <= PASSES),
                terms=terms(
                    [
                        ("CD", self.combinations[row].load_duration),
                        *factors.items(),
                        ("sine of the angle to the grain", self.sine[k, t]),
                        ("chord", truss.members[chord].id),
                        ("lumber", truss.members[chord].lumber),
                        ("joint", truss.members[web].joints[end]),
                    ]
                ),
            )


def _at(values: nds.Number, *place: int) -> float:
    """One of values that are (r, k, t), or broadcast to that."""
    array = np.asarray(values)
    which = place[len(place) - array.ndim :]
    return float(array[tuple(i if n > 1 else 0 for i, n in zip(which, array.shape, strict=True))])


@lru_cache(maxsize=256)
def _on_chords(shape: Topology) -> npt.NDArray[np.int64]:
    """Each web's end on a piece of a chord: the web, its end there (0 or 1) and the piece, (k, 3)."""
    is_chord = [ROLES[role] != "web" for role in shape.roles]
    found = []
    for web in (m for m, chord in enumerate(is_chord) if not chord):
        for end in (0, 1):
            meeting = np.flatnonzero((shape.ends == shape.ends[web, end]).any(axis=1)).tolist()
            found += [(web, end, m) for m in meeting if is_chord[m]]
    return np.array(found, dtype=int).reshape(-1, 3)
