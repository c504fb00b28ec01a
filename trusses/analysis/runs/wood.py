"""Where a path in plan would come into the wood of trusses, for many places at once. Inches.

Corners keep half of the run's width and half of a truss's thickness to the middle of every truss, and so does what runs
along trusses (`corners`, `crossing`). Places are along trusses of one axis, and `across` them is the other way.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from trusses.analysis.runs.run import Run
from trusses.analysis.runs.stood import Stood

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]
_HAIR_IN = 1e-9


class _Row:
    """All trusses of one axis: (trusses,) each."""

    def __init__(self, run: Run, those: Sequence[Stood]) -> None:
        room = run.section.room_in
        self.across = np.array([one.across_in for one in those])
        self.needs = np.array([(room + one.design.thickness_in) / 2 for one in those]) - _HAIR_IN
        reach = np.array([one.reach for one in those]).reshape(-1, 2)
        self.low, self.high = reach[:, 0] - room / 2 + _HAIR_IN, reach[:, 1] + room / 2 - _HAIR_IN

    def near(self, across: Floats) -> Bools:
        """(places, trusses)"""
        return np.abs(across[..., None] - self.across) < self.needs

    def reached(self, low: Floats, high: Floats) -> Bools:
        return (low[..., None] < self.high) & (high[..., None] > self.low)


class Wood:
    """The trusses of the run's level."""

    def __init__(self, run: Run, copies: Sequence[Stood]) -> None:
        there = [one for one in copies if one.level == run.level]
        self._rows = {axis: _Row(run, [one for one in there if one.along == axis]) for axis in "xy"}

    def _apart(self, axis: str) -> tuple[_Row, _Row]:
        return self._rows[axis], self._rows["y" if axis == "x" else "x"]

    def at_corners(self, places: Floats, across: Floats, axis: str) -> Bools:
        """Whether corners stand in the wood of any truss; the shapes of both broadcast."""
        places, across = np.broadcast_arrays(places, across)
        own, other = self._apart(axis)
        there = (own.near(across) & own.reached(places, places)).any(axis=-1)
        return np.asarray(there | (other.near(places) & other.reached(across, across)).any(axis=-1))

    def along(self, places: Floats, across: tuple[float, float], axis: str) -> Bools:
        """(places,): whether the path, from one place across to another, lies in the wood of what it runs along."""
        _, other = self._apart(axis)
        low, high = (np.full(len(places), one) for one in sorted(across))
        return np.asarray((other.near(places) & other.reached(low, high)).any(axis=-1))

    def crossed(self, places: Floats, across: float, axis: str) -> NDArray[np.intp]:
        """(places,): how many trusses of the other axis that reach over `across` lie before each place: two places
        differ by what one would cross from one to the other."""
        _, other = self._apart(axis)
        there = np.sort(other.across[(across > other.low) & (across < other.high)])
        return np.searchsorted(there, places)
