"""The lateral design value of a common nail in single shear, wood to wood (NDS 2018, 12.3.1).

The six yield modes with the letters of Table 12.3.1A; the equations and the constants from memory, held to the printed
values of Table 12N by tests. No factor but the load's duration is in what is given here: a lasting temperature, wet
wood, end grain, a toe-nail take from it (11.3, 12.5), and end and edge distances are not looked at.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from trusses.analysis.lumber import Lumber

#: The steps in which Table 12.3.3 prints Fe, psi.
_PRINTED_PSI = 50.0
#: Penetration in diameters: the least into the main member (12.1.6.4), and from where a nail's tip counts whole.
_LEAST_D, _TIP_COUNTS_D = 6.0, 10.0


@dataclass(frozen=True, slots=True)
class Nail:
    """A common wire nail (NDS Table L4): shank diameter and length, inches."""

    name: str
    diameter_in: float
    length_in: float

    @property
    def fyb(self) -> float:
        """Bending yield strength, psi (NDS Table I1)."""
        if self.diameter_in <= 0.142:
            return 100_000.0
        return 90_000.0 if self.diameter_in <= 0.177 else 80_000.0

    @property
    def kd(self) -> float:
        """The reduction term Rd of every mode for nails up to 1/4 in. (Table 12.3.1B)."""
        return 2.2 if self.diameter_in <= 0.17 else 10.0 * self.diameter_in + 0.5


TEN_PENNY = Nail("10d common", 0.148, 3.0)
SIXTEEN_PENNY = Nail("16d common", 0.162, 3.5)
COMMON: tuple[Nail, ...] = (TEN_PENNY, SIXTEEN_PENNY)


def dowel_bearing_psi(specific_gravity: float) -> float:
    """Fe of a dowel under 1/4 in., 16,600 G^1.84, as Table 12.3.3 rounds it."""
    return _PRINTED_PSI * round(16_600.0 * specific_gravity**1.84 / _PRINTED_PSI)


@dataclass(frozen=True, slots=True)
class Lateral:
    """`z_lb` is the least of the six `modes`, pounds a nail before any adjustment."""

    nail: Nail
    z_lb: float
    mode: str
    modes: Mapping[str, float]


def lateral(nail: Nail, side_in: float, main_in: float, specific_gravity: float) -> Lateral | None:
    """One nail through a side member of `side_in` into a main member `main_in` thick, both of one specific gravity.

    None where it reaches less than six diameters into the main member, which counts for nothing.
    """
    d, rd, fyb = nail.diameter_in, nail.kd, nail.fyb
    reach = nail.length_in - side_in
    lm, ls = min(reach, main_in), side_in
    if lm < _LEAST_D * d:
        return None
    if reach <= main_in and reach < _TIP_COUNTS_D * d:
        lm -= d  # half of a tip of two diameters (12.3.5.3)
    fem = fes = dowel_bearing_psi(specific_gravity)
    re, rt = fem / fes, lm / ls
    k1 = (math.sqrt(re + 2 * re**2 * (1 + rt + rt**2) + rt**2 * re**3) - re * (1 + rt)) / (1 + re)
    k2 = -1 + math.sqrt(2 * (1 + re) + 2 * fyb * (1 + 2 * re) * d**2 / (3 * fem * lm**2))
    k3 = -1 + math.sqrt(2 * (1 + re) / re + 2 * fyb * (2 + re) * d**2 / (3 * fem * ls**2))
    modes = {
        "Im": d * lm * fem / rd,
        "Is": d * ls * fes / rd,
        "II": k1 * d * ls * fes / rd,
        "IIIm": k2 * d * lm * fem / ((1 + 2 * re) * rd),
        "IIIs": k3 * d * ls * fem / ((2 + re) * rd),
        "IV": d**2 / rd * math.sqrt(2 * fem * fyb / (3 * (1 + re))),
    }
    mode = min(modes, key=lambda name: modes[name])
    return Lateral(nail, modes[mode], mode, MappingProxyType(modes))


def in_lumber(nail: Nail, side_in: float, lumber: Lumber) -> Lateral | None:
    """The same into one piece of a truss's lumber, with a side member of its own species."""
    return lateral(nail, side_in, lumber.thickness_in, lumber.g)
