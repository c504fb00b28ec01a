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
    """Trusses of one axis: (trusses,) each."""

    def __init__(self, across: Floats, needs: Floats, low: Floats, high: Floats) -> None:
        self.across, self.needs, self.low, self.high = across, needs, low, high

    @classmethod
    def of(cls, run: Run, those: Sequence[Stood]) -> _Row:
        room = run.section.room_in
        reach = np.array([one.reach for one in those]).reshape(-1, 2)
        return cls(
            np.array([one.across_in for one in those]),
            np.array([(room + one.design.thickness_in) / 2 for one in those]) - _HAIR_IN,
            reach[:, 0] - room / 2 + _HAIR_IN,
            reach[:, 1] + room / 2 - _HAIR_IN,
        )

    def where(self, those: Bools) -> _Row:
        """Some of them: few are near one place, so that what is asked of many places is asked of few trusses."""
        return _Row(self.across[those], self.needs[those], self.low[those], self.high[those])

    def near(self, across: Floats | float) -> Bools:
        """(places, trusses), or (trusses,) of one place."""
        return np.abs(np.asarray(across)[..., None] - self.across) < self.needs

    def reached(self, low: Floats | float, high: Floats | float) -> Bools:
        return (np.asarray(low)[..., None] < self.high) & (np.asarray(high)[..., None] > self.low)


class Wood:
    """The trusses of the run's level."""

    def __init__(self, run: Run, copies: Sequence[Stood]) -> None:
        there = [one for one in copies if one.level == run.level]
        self._rows = {axis: _Row.of(run, [one for one in there if one.along == axis]) for axis in "xy"}

    def _apart(self, axis: str) -> tuple[_Row, _Row]:
        return self._rows[axis], self._rows["y" if axis == "x" else "x"]

    def at_corners(self, places: Floats, across: float, axis: str) -> Bools:
        """(places,): whether corners there stand in the wood of any truss."""
        own, other = self._apart(axis)
        there, over = own.where(own.near(across)), other.where(other.reached(across, across))
        return np.asarray(there.reached(places, places).any(axis=-1) | over.near(places).any(axis=-1))

    def at_each_corner(self, places: Floats, across: Floats, axis: str) -> Bools:
        """(places, across): whether a corner at one of each stands in the wood of any truss."""
        own, other = self._apart(axis)
        there = _any(own.reached(places, places), own.near(across))
        return there | _any(other.near(places), other.reached(across, across))

    def along(self, places: Floats, across: tuple[float, float], axis: str) -> Bools:
        """(places,): whether the path, from one place across to another, lies in the wood of what it runs along."""
        _, other = self._apart(axis)
        return np.asarray(other.where(other.reached(*sorted(across))).near(places).any(axis=-1))

    def crossed(self, places: Floats, across: float, axis: str) -> NDArray[np.intp]:
        """(places,): how many trusses of the other axis that reach over `across` lie before each place: two places
        differ by what one would cross from one to the other."""
        _, other = self._apart(axis)
        there = np.sort(other.across[(across > other.low) & (across < other.high)])
        return np.searchsorted(there, places)


def _any(one: Bools, other: Bools) -> Bools:
    """(of one, of other): whether both are true of any truss. A product of matrices, so that nothing has three axes."""
    return np.asarray(one.astype(np.float32) @ other.astype(np.float32).T > 0)
