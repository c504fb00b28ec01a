"""A job's own table of plate values, and what it makes of the joints' demands.

Nothing here selects plates. From a table follows how much area of teeth each piece of a joint needs under a plate, and
which plate of the table is the smallest that has so much area at all: a lower bound, before the wood's cuts, end and
edge distances, the heel reduction and the plate's steel. No plate value stands in this project.
"""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from trusses.analysis.requirements.joints import JointDemand, Piece, Splice
from trusses.analysis.words.refusal import Refusal

Array = NDArray[np.float64]

MOST_ROWS = 500
MOST_BYTES = 200_000
LONGEST_NAME = 60
#: The columns of the table; `holding_<angle>_psi` may be there for any whole angle between 0 and 90 besides.
COLUMNS: Mapping[str, str] = {
    "plate": "the plate's name, each once",
    "width_in": "its width in inches",
    "length_in": "its length in inches, along its slots or teeth rows as the report has it",
    "holding_0_psi": "pounds of tooth holding per square inch of one plate's contact area at normal load duration, "
    "force along the grain; where the report has a value for each direction of the plate, the smaller",
    "holding_90_psi": "the same, force across the grain",
    "tension_lb_per_in": "may be left out: pounds of tension per inch of one plate's steel, the weaker direction",
}
_REQUIRED = ("plate", "width_in", "length_in", "holding_0_psi", "holding_90_psi")
#: A value beyond this is a slip of the unit or of the keys.
_LARGEST = 1e5
UNCHECKED = (
    "whether a plate can stand so that each piece gets its area: no truss document has the wood's cuts",
    "the plate's steel in tension and shear, other than what a splice in tension needs",
)


class PlateTableError(Refusal):
    """A table that can't be used; `place` is the row, where it is one."""


@dataclass(frozen=True)
class Plate:
    """One row. `holding` are (angle to the grain in degrees, psi of one plate's contact area), rising from 0 to 90."""

    name: str
    width_in: float
    length_in: float
    holding: tuple[tuple[int, float], ...]
    tension_lb_per_in: float | None = None

    @property
    def area_in2(self) -> float:
        return self.width_in * self.length_in

    def holding_at(self, angle: Array) -> Array:
        """psi at angles in degrees: between two angles of the table the smaller of their values, not a curve."""
        angles = np.array([at for at, _ in self.holding], dtype=float)
        values = np.array([psi for _, psi in self.holding])
        # a hair of rounding beyond a tabulated angle is that angle
        near = np.abs(angle[..., None] - angles).min(axis=-1) < 1e-6
        below = np.clip(np.searchsorted(angles, angle + 1e-6, side="right") - 1, 0, len(angles) - 1)
        above = np.where(near, below, np.minimum(below + 1, len(angles) - 1))
        return np.minimum(values[below], values[above])

    def row(self) -> dict[str, Any]:
        """This plate as the table's columns write it."""
        row: dict[str, Any] = {"plate": self.name, "width_in": self.width_in, "length_in": self.length_in}
        row |= {f"holding_{angle}_psi": psi for angle, psi in self.holding}
        return row if self.tension_lb_per_in is None else row | {"tension_lb_per_in": self.tension_lb_per_in}


@dataclass(frozen=True)
class JointPlate:
    """One joint and the smallest plate of the table that has the area at all; None where none has.

    `areas` are (piece, in² of contact on each of the two faces that its teeth need under that plate); under the
    largest plate where none has enough.
    """

    joint: str
    plate: Plate | None
    areas: tuple[tuple[Piece, float], ...]

    @property
    def needed_in2(self) -> float:
        return sum(area for _, area in self.areas)


def read_table(text: str) -> tuple[Plate, ...]:
    """The plates of a CSV table with the columns of COLUMNS in any order. Raises PlateTableError."""
    if len(text) > MOST_BYTES:
        raise PlateTableError("plates-too-large", count=len(text), most=MOST_BYTES)
    try:
        lines = [line for line in csv.reader(io.StringIO(text.removeprefix("\ufeff")), strict=True) if any(line)]
    except csv.Error as trouble:
        raise PlateTableError("plates-not-csv", problem=str(trouble)) from trouble
    if not lines:
        raise PlateTableError("plates-empty")
    columns = [name.strip().lower() for name in lines[0]]
    _check_columns(columns)
    if not 1 < len(lines) <= MOST_ROWS + 1:
        raise PlateTableError("plates-too-many", count=len(lines) - 1, most=MOST_ROWS)
    return plates_of(_row(number, columns, line) for number, line in enumerate(lines[1:], start=2))


def plates_of(rows: Iterable[Mapping[str, Any]]) -> tuple[Plate, ...]:
    """Plates from rows as `Plate.row` writes them, texts or numbers. Raises PlateTableError."""
    plates = tuple(_plate(number, row) for number, row in enumerate(rows, start=2))
    seen: set[str] = set()
    for number, plate in enumerate(plates, start=2):
        if plate.name in seen:
            raise PlateTableError("plate-twice", f"row {number}", plate=plate.name)
        seen.add(plate.name)
    return plates


def joint_plates(demand: JointDemand, plates: Sequence[Plate]) -> tuple[JointPlate, ...]:
    """For each joint the smallest plate whose area is not less than what its pieces' teeth need together."""
    by_size = sorted(plates, key=lambda plate: plate.area_in2)
    needs = [(plate, areas_needed(demand, plate)) for plate in by_size]
    found = []
    for joint in dict.fromkeys(piece.joint for piece in demand.pieces):
        here = [i for i, piece in enumerate(demand.pieces) if piece.joint == joint]
        fitting = next((need for need in needs if need[1][here].sum() <= need[0].area_in2), None)
        _, areas = fitting or needs[-1]
        told = tuple((demand.pieces[i], float(areas[i])) for i in here)
        found.append(JointPlate(joint, fitting[0] if fitting else None, told))
    return tuple(found)


def areas_needed(demand: JointDemand, plate: Plate) -> Array:
    """in² of contact on each of two faces that every piece needs under that plate, (p,), over all combinations."""
    return (demand.holding / (2 * plate.holding_at(demand.angle))).max(axis=0, initial=0.0)


def steel_needed(splice: Splice, plate: Plate) -> float | None:
    """Inches of steel of each of two plates that must cross a splice in tension; None where the table has no value."""
    return None if plate.tension_lb_per_in is None else splice.tension_lb / (2 * plate.tension_lb_per_in)


def _check_columns(columns: list[str]) -> None:
    for name in columns:
        if name not in COLUMNS and _angle(name) is None:
            raise PlateTableError("plates-column-unknown", column=name[:40])
        if columns.count(name) > 1:
            raise PlateTableError("plates-column-twice", column=name)
    missing = [name for name in _REQUIRED if name not in columns]
    if missing:
        raise PlateTableError("plates-columns-missing", columns=missing)


def _angle(column: str) -> int | None:
    digits = column.removeprefix("holding_").removesuffix("_psi")
    if column != f"holding_{digits}_psi" or not (digits.isascii() and digits.isdigit()) or str(int(digits)) != digits:
        return None
    return int(digits) if int(digits) <= 90 else None


def _row(number: int, columns: list[str], line: list[str]) -> dict[str, str]:
    if len(line) != len(columns):
        raise PlateTableError("plate-row-length", f"row {number}", count=len(line), columns=len(columns))
    return dict(zip(columns, line, strict=True))


def _plate(number: int, row: Mapping[str, Any]) -> Plate:
    name = str(row["plate"]).strip()
    if not name or len(name) > LONGEST_NAME or not name.isprintable():
        raise PlateTableError("plate-name", f"row {number}", most=LONGEST_NAME)
    columns = sorted((angle, key) for key in row if (angle := _angle(key)) is not None)
    tension = row.get("tension_lb_per_in", "")
    return Plate(
        name=name,
        width_in=_number(number, "width_in", row["width_in"]),
        length_in=_number(number, "length_in", row["length_in"]),
        holding=tuple((angle, _number(number, column, row[column])) for angle, column in columns),
        tension_lb_per_in=_number(number, "tension_lb_per_in", tension) if str(tension).strip() else None,
    )


def _number(number: int, column: str, value: Any) -> float:
    try:
        read = float(str(value).strip())
    except ValueError:
        read = math.nan
    if not 0 < read <= _LARGEST:
        raise PlateTableError("plate-number", f"row {number}", column=column, shown=str(value)[:20])
    return read
