"""Sawn lumber: reference design values, dressed sizes, sections.

Values are the reference design values of the National Design Specification's Supplement (2015 and 2018 editions), psi,
before any adjustment. No row was read in the Supplement itself: each says in `source` which table and edition it is of,
and whether it was read in a copy or comes from memory; a row on which texts disagree says how in `note`.
Before release each row wants one reading against the Supplement.

A row is a key only where every value is known, so these are left out: machine-rated 1800f-1.6E (no shear or bearing
value for any species), Southern Pine Select Structural wider than 8 in., and Stud wider than 6 in. (the Supplement
sends that to the values of No.3: ask for No.3).
"""

from __future__ import annotations

import difflib
import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal, NamedTuple

from trusses.analysis.words.refusal import Refusal

Rule = Literal["visual", "southern pine", "msr"]

#: Nominal to dressed, inches, dry (PS 20; NDS Supplement Table 1A).
DRESSED_THICKNESS: Mapping[int, float] = MappingProxyType({2: 1.5})
DRESSED_WIDTH: Mapping[int, float] = MappingProxyType({3: 2.5, 4: 3.5, 6: 5.5, 8: 7.25, 10: 9.25, 12: 11.25})

_SOURCE_4A = "NDS Supplement 2018, Table 4A: read in copies of the table, not in the Supplement"
_SOURCE_4A_MEMORY = "NDS Supplement 2018, Table 4A: from memory; copies of the table disagree"
_SOURCE_4B = (
    "NDS Supplement 2018, Table 4B: from memory; agrees to rounding with a metric edition of the values of 2013, which"
    " the table has"
)
_SOURCE_4C = "NDS Supplement 2018, Table 4C: "
_PRINTED_4C = (
    "read in a table of the grade's producers, not in the Supplement; Emin from memory, agreeing with NDS Appendix D at"
    " COVE 0.11"
)
_TRANSCRIBED_4C = "Fb, Ft, Fc and E read in a table of the grade's producers, the rest in a copy, not in the Supplement"


#: A lasting temperature up to this takes nothing from any value, °F.
ORDINARY_F = 100.0
#: NDS Table 2.3.3, read in a handbook that prints it: up to which °F, then Ct of Ft and E, of the rest where dry, and
#: of the rest where wet.
_TEMPERATURE = ((ORDINARY_F, 1.0, 1.0, 1.0), (125.0, 0.9, 0.8, 0.7), (150.0, 0.9, 0.7, 0.5))
#: CM of the Supplement's Table 4A, from a copy; those of 4B and 4C the same, from memory. Fb and Fc keep all
#: of their value where that, times CF, is no more than so many psi.
_WET: Mapping[str, float] = {"fb": 0.85, "ft": 1.0, "fv": 0.97, "fc_perp": 0.67, "fc": 0.8, "e": 0.9}
_WET_UP_TO: Mapping[str, float] = {"fb": 1150.0, "fc": 750.0}
#: NDS Table 4.3.8, from memory.
_INCISED: Mapping[str, float] = {"fb": 0.8, "ft": 0.8, "fv": 0.8, "fc_perp": 1.0, "fc": 0.8, "e": 0.95}
Value = Literal["fb", "ft", "fv", "fc_perp", "fc", "e"]
VALUES: tuple[Value, ...] = ("fb", "ft", "fv", "fc_perp", "fc", "e")


class LumberError(Refusal):
    """A lumber key that the table doesn't have; the value `near` has the nearest keys."""


@dataclass(frozen=True, slots=True)
class Lumber:
    """One size of one grade. Dressed sizes in inches, all values in psi, `g` the specific gravity (oven dry)."""

    key: str
    size: str
    species: str
    grade: str
    rule: Rule
    thickness_in: float
    width_in: float
    fb: float
    ft: float
    fv: float
    fc_perp: float
    fc: float
    e: float
    e_min: float
    g: float
    source: str
    note: str = ""

    @property
    def nominal(self) -> tuple[int, int]:
        """Nominal thickness and width, inches."""
        thickness, width = self.size.split("x")
        return int(thickness), int(width)


@dataclass(frozen=True, slots=True)
class Section:
    """`plies` equal rectangles side by side; `breadth_in` is one ply's, `depth_in` lies in the truss's plane."""

    breadth_in: float
    depth_in: float
    plies: int = 1

    @property
    def area(self) -> float:
        """All plies, in²."""
        return self.plies * self.breadth_in * self.depth_in

    @property
    def inertia(self) -> float:
        """All plies, bending in the truss's plane, in⁴."""
        return self.plies * self.breadth_in * self.depth_in**3 / 12

    @property
    def modulus(self) -> float:
        """All plies, bending in the truss's plane, in³."""
        return self.plies * self.breadth_in * self.depth_in**2 / 6


@dataclass(frozen=True, slots=True)
class _Row:
    """One row of a table: the values that a grade has at some nominal widths."""

    species: str
    grade: str
    rule: Rule
    widths: tuple[int, ...]
    fb: float
    ft: float
    fc: float
    e: float
    e_min: float
    fv: float
    fc_perp: float
    g: float
    source: str
    note: str = ""

    def lumber(self) -> Iterator[Lumber]:
        for width in self.widths:
            size = f"2x{width}"
            yield Lumber(
                key=f"{size} {self.species} {self.grade}",
                size=size,
                species=self.species,
                grade=self.grade,
                rule=self.rule,
                thickness_in=DRESSED_THICKNESS[2],
                width_in=DRESSED_WIDTH[width],
                fb=self.fb,
                ft=self.ft,
                fv=self.fv,
                fc_perp=self.fc_perp,
                fc=self.fc,
                e=self.e,
                e_min=self.e_min,
                g=self.g,
                source=self.source,
                note=self.note,
            )


_ALL = tuple(DRESSED_WIDTH)
_STUD = (3, 4, 6)
#: Fv, Fc⊥ and specific gravity of a visually graded species (Table 4A; G of NDS 2018 Table 12.3.3A, from a
#: copy).
_SPECIES = {"SPF": (135, 425, 0.42), "DF-L": (180, 625, 0.50), "Hem-Fir": (150, 405, 0.43)}
_SPF_SELECT = (
    "The texts disagree on SPF Select Structural: one prints Fb 1150 psi and one Ft 825 psi where the others, and this"
    " table, have Fb 1250 and Ft 700 psi."
)
_HEM_FIR_SHEAR = (
    "Machine-rated Hem-Fir's Fv is carried as printed, 145 psi; the Supplement's own figure is believed to be 150 psi."
)

#: species, grade, widths, Fb, Ft, Fc, E, Emin, note
_VISUAL = (
    ("SPF", "Select Structural", _ALL, 1250, 700, 1400, 1.5e6, 550_000, _SPF_SELECT),
    ("SPF", "No.1/No.2", _ALL, 875, 450, 1150, 1.4e6, 510_000, ""),
    ("SPF", "No.3", _ALL, 500, 250, 650, 1.2e6, 440_000, ""),
    ("SPF", "Stud", _STUD, 675, 350, 725, 1.2e6, 440_000, ""),
    ("DF-L", "Select Structural", _ALL, 1500, 1000, 1700, 1.9e6, 690_000, ""),
    ("DF-L", "No.1 & Btr", _ALL, 1200, 800, 1550, 1.8e6, 660_000, ""),
    ("DF-L", "No.1", _ALL, 1000, 675, 1500, 1.7e6, 620_000, ""),
    ("DF-L", "No.2", _ALL, 900, 575, 1350, 1.6e6, 580_000, ""),
    ("DF-L", "No.3", _ALL, 525, 325, 775, 1.4e6, 510_000, ""),
    ("Hem-Fir", "Select Structural", _ALL, 1400, 925, 1500, 1.6e6, 580_000, ""),
    ("Hem-Fir", "No.1", _ALL, 975, 625, 1350, 1.5e6, 550_000, ""),
    ("Hem-Fir", "No.2", _ALL, 850, 525, 1300, 1.3e6, 470_000, ""),
    ("Hem-Fir", "Stud", _STUD, 675, 400, 800, 1.2e6, 440_000, ""),
)

#: grade, widths, Fb, Ft, Fc, E, Emin; already adjusted for width
_SOUTHERN_PINE = (
    ("Select Structural", (3, 4), 2350, 1650, 1900, 1.8e6, 660_000),
    ("Select Structural", (6,), 2100, 1450, 1800, 1.8e6, 660_000),
    ("Select Structural", (8,), 1950, 1350, 1700, 1.8e6, 660_000),
    ("No.1", (3, 4), 1500, 1000, 1650, 1.6e6, 580_000),
    ("No.1", (6,), 1350, 875, 1550, 1.6e6, 580_000),
    ("No.1", (8,), 1250, 800, 1500, 1.6e6, 580_000),
    ("No.1", (10,), 1050, 700, 1450, 1.6e6, 580_000),
    ("No.1", (12,), 1000, 650, 1400, 1.6e6, 580_000),
    ("No.2", (3, 4), 1100, 675, 1450, 1.4e6, 510_000),
    ("No.2", (6,), 1000, 600, 1400, 1.4e6, 510_000),
    ("No.2", (8,), 925, 550, 1350, 1.4e6, 510_000),
    ("No.2", (10,), 800, 475, 1300, 1.4e6, 510_000),
    ("No.2", (12,), 750, 450, 1250, 1.4e6, 510_000),
)

#: species, grade, Fb, Ft, Fc, E, Emin, Fv, Fc⊥, G, how it is known, note
_MACHINE_RATED = (
    ("SPF", "1650f-1.5E", 1650, 1020, 1700, 1.5e6, 760_000, 135, 425, 0.42, _PRINTED_4C, ""),
    ("Hem-Fir", "1650f-1.5E", 1650, 1020, 1700, 1.5e6, 760_000, 145, 405, 0.43, _PRINTED_4C, _HEM_FIR_SHEAR),
    ("SPF", "2100f-1.8E", 2100, 1575, 1875, 1.8e6, 910_000, 160, 525, 0.46, _TRANSCRIBED_4C, ""),
    ("SPF", "2400f-2.0E", 2400, 1925, 1975, 2.0e6, 1_020_000, 170, 615, 0.50, _TRANSCRIBED_4C, ""),
    ("SP", "2400f-2.0E", 2400, 1925, 1975, 2.0e6, 1_020_000, 190, 805, 0.57, _TRANSCRIBED_4C, ""),
)


def _rows() -> Iterator[_Row]:
    for species, grade, widths, fb, ft, fc, e, e_min, note in _VISUAL:
        fv, fc_perp, g = _SPECIES[species]
        source = _SOURCE_4A_MEMORY if note else _SOURCE_4A
        yield _Row(species, grade, "visual", widths, fb, ft, fc, e, e_min, fv, fc_perp, g, source, note)
    for grade, widths, fb, ft, fc, e, e_min in _SOUTHERN_PINE:
        yield _Row("SP", grade, "southern pine", widths, fb, ft, fc, e, e_min, 175, 565, 0.55, _SOURCE_4B)
    for species, grade, fb, ft, fc, e, e_min, fv, fc_perp, g, known, note in _MACHINE_RATED:
        yield _Row(species, grade, "msr", _ALL, fb, ft, fc, e, e_min, fv, fc_perp, g, _SOURCE_4C + known, note)


#: Every size of every complete row, by key: "2x4 SPF No.1/No.2".
LUMBER: Mapping[str, Lumber] = MappingProxyType({piece.key: piece for row in _rows() for piece in row.lumber()})


def lookup(key: str) -> Lumber:
    """The lumber that `key` names; LumberError, with the nearest keys, when the table has no such row."""
    try:
        return LUMBER[key]
    except KeyError:
        near = difflib.get_close_matches(key[:80], LUMBER, n=3, cutoff=0.5)
        raise LumberError("lumber-unknown", shown=key if len(key) <= 80 else f"{key[:80]}…", near=near) from None


class ServiceFactors(NamedTuple):
    """CM, Ct and Ci of one reference value (NDS 4.3.3, 4.3.4, 4.3.8)."""

    cm: float
    ct: float
    ci: float

    @property
    def product(self) -> float:
        return self.cm * self.ct * self.ci


def service_factors(
    value: Value, wet: bool, temperature_f: float, incised: bool, sized: float = math.inf
) -> ServiceFactors:
    """The factors of Fb, Ft, Fv, Fc⊥, Fc, or of E and Emin (`e`): for moisture over 19 percent in service, a lasting
    temperature, °F, and incised lumber. `sized`: Fb or Fc times CF, psi, on which their CM depends.

    ValueError over 150 °F, where Table 2.3.3 ends.
    """
    for up_to, for_stiffness, dry, wet_too in _TEMPERATURE:
        if temperature_f <= up_to:
            ct = for_stiffness if value in ("ft", "e") else wet_too if wet else dry
            break
    else:
        raise ValueError("Table 2.3.3 has no temperature factor over 150 °F")
    cm = _WET[value] if wet and sized > _WET_UP_TO.get(value, 0.0) else 1.0
    return ServiceFactors(cm, ct, _INCISED[value] if incised else 1.0)


def section(lumber: Lumber, flat: bool = False, plies: int = 1) -> Section:
    """The section in the truss's plane: on edge, or `flat` on the wide face (a 2x4: 1.5 in. deep, 3.5 in. wide)."""
    if flat:
        return Section(lumber.width_in, lumber.thickness_in, plies)
    return Section(lumber.thickness_in, lumber.width_in, plies)


def board_feet(lumber: Lumber, length_in: float) -> float:
    """Board feet of one piece `length_in` inches long, by nominal size."""
    thickness, width = lumber.nominal
    return thickness * width / 12 * length_in / 12
