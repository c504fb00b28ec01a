"""The parameters of the shapes: what each is called, its unit, its bounds and what it starts from.

One table serves the command line, a web form and the reading of what was typed, so that all three agree. Lengths are
read as people write them (`units`). The loads' parameters stand in `load_fields`.
"""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any, Literal

from trusses.analysis.format.lengths import parse_length
from trusses.analysis.lumber import lookup
from trusses.analysis.shapes.skeleton import ShapeError
from trusses.analysis.words.lengths import feet_inches, tape_inches
from trusses.analysis.words.refusal import Refusal

Sort = Literal["length", "pitch", "load", "share", "factor", "whole", "lumber", "choice", "text"]


@dataclass(frozen=True, slots=True)
class Field:
    """One parameter. `unit` is shown beside it; lengths are typed in feet and inches and held in inches.

    A length of the unit `in.` is a size, as lumber and ducts are called: a bare number is inches. One of `ft-in` is a
    distance: a bare number that could be feet is asked about. `start` None: may stay empty. `least` and `most` bound
    numbers, in inches where it is a length.
    """

    name: str
    label: str
    sort: Sort
    start: Any = None
    unit: str = ""
    says: str = ""
    least: float = 0
    most: float = 0
    required: bool = False
    choices: tuple[tuple[str, str], ...] = ()
    group: str = "shape"

    @property
    def shown_start(self) -> str:
        """The starting value as it would be typed."""
        if self.start is None:
            return ""
        if self.sort == "length":
            return self.written(self.start)
        return f"{self.start:g}" if self.sort in _NUMBERS else self.start

    def written(self, inches: float) -> str:
        """A length as this parameter is said: 24" of a size, 2'-0" of a distance."""
        return tape_inches(inches) if self.unit == SIZE else feet_inches(inches)


SIZE = "in."
_NUMBERS = ("pitch", "load", "share", "factor", "whole")


def _length(
    name: str, label: str, start: float | None, least: float, most: float, says: str = "", **more: Any
) -> Field:
    return Field(name, label, "length", start, "ft-in", says, least, most, **more)


def _size(name: str, label: str, start: float | None, least: float, most: float, says: str = "", **more: Any) -> Field:
    return Field(name, label, "length", start, SIZE, says, least, most, **more)


def _lumber(name: str, label: str) -> Field:
    return Field(name, label, "lumber", "2x4 SPF No.1/No.2", "", "", group="lumber")


_MEASURED = (
    ("joints", "between the bearing joints"),
    ("outside", "out to out of the bearings"),
)
_CEILINGS = (("none", "none"), ("gypsum", "gypsum board"), ("plaster", "plaster"))

NAMING = (
    Field("mark", "Mark", "text", None, says="As on the plan, such as R2.", most=20, group="name"),
    Field(
        "title", "Title", "text", None, says="Left empty, it says the shape, span and pitch.", most=200, group="name"
    ),
)
SPAN = (
    _length("span", "Span", None, 48, 960, required=True),
    Field(
        "measured",
        "Span measured",
        "choice",
        "joints",
        says="The document's x runs between the bearing joints, in the middle of each bearing.",
        choices=_MEASURED,
    ),
)
PITCH = Field("pitch", "Pitch", "pitch", 6, "in 12", "Rise of the top chord in 12 in. of run.", 0.25, 24)
PANELS = Field("panels", "Panels", "whole", None, "", "Of the top chord; left empty, about 7 ft each.", 1, 40)
_FASTENING = (
    "How the plies are fastened, from a design. Text that begins with “nailed” or “bolted” counts in the checks."
)
TAIL_LEFT = _length("overhang_left", "Left overhang", 0, 0, 72, "Level, from the bearing joint to the tail's end.")
TAIL_RIGHT = _length("overhang_right", "Right overhang", 0, 0, 72, "Level, from the bearing joint to the tail's end.")
HEEL = _size(
    "heel_height",
    "Heel height",
    None,
    0,
    60,
    "Underside of the bottom chord to top of the top chord, over the bearing. Left empty, a plain heel: the chords'"
    " centerlines cross there.",
)
BOTTOM_PITCH = Field("bottom_pitch", "Bottom pitch", "pitch", 2, "in 12", "Rise of the bottom chord.", 0.25, 23)
LEVEL = _length("level", "Level part", 96, 24, 720, "Length of the bottom chord's level middle part.")
SETBACK = _length("setback", "Setback", 96, 24, 420, "Level, from the bearing joint to where the slope ends.")
DEPTH = _size("depth", "Depth", 16, 9, 96, "Overall, out to out of the chords.")
PANEL = _size("panel", "Longest panel", 30, 12, 48, "Between panel points along a chord.")
CHASE = (
    _size("chase_width", "Chase width", None, 0, 60, "Clear width of a panel without webs; left empty, none."),
    _length("chase_center", "Chase center", None, 0, 960, "From the left bearing joint; left empty, midspan."),
)
MAKE = (
    _size("spacing", "Spacing", 24, 6, 120, "Center to center of trusses."),
    Field("plies", "Plies", "whole", 1, "", "Identical trusses side by side.", 1, 6),
    Field("ply_fastening", "Ply fastening", "text", None, says=_FASTENING, most=200),
    Field("ceiling", "Ceiling", "choice", "gypsum", says="Chooses the deflection limits.", choices=_CEILINGS),
    _size("bearing_left", "Left bearing", 3.5, 1.5, 48, "Its length along the span."),
    _size("bearing_right", "Right bearing", 3.5, 1.5, 48, "Its length along the span."),
    _length("stock", "Longest stock", 240, 96, 960, "Chords are spliced at panel points where they would be longer."),
)
LUMBER = (
    _lumber("top_lumber", "Top chord"),
    _lumber("bottom_lumber", "Bottom chord"),
    _lumber("web_lumber", "Webs"),
)
RESTRAINT = (
    _size("top_restraint", "Top chord held every", 24, 0, 240, "Out of plane; 0 is continuous.", group="restraint"),
    _size(
        "bottom_restraint",
        "Bottom chord held every",
        72,
        0,
        240,
        "Out of plane: wind uplift puts it in compression.",
        group="restraint",
    ),
)


def read_values(fields: Iterable[Field], given: Mapping[str, Any], shape: str) -> dict[str, Any]:
    """Checked values by name (inches, psf), from what was typed or passed. Raises ShapeError, naming the field."""
    table = {field.name: field for field in fields}
    for name in given:
        if name not in table:
            meant = next(iter(difflib.get_close_matches(name, table, n=1, cutoff=0.75)), None)
            raise ShapeError("shape-no-field", name, shape=shape, name=name[:40], meant=meant)
    return {name: _value(field, given.get(name)) for name, field in table.items()}


def _value(field: Field, given: Any) -> Any:
    if given is None or (isinstance(given, str) and not given.strip()):
        if field.required:
            raise ShapeError("shape-field-empty", field.name, label=field.label)
        return field.start
    try:
        return _READERS[field.sort](field, given)
    except ShapeError:
        raise
    except Refusal as error:
        raise ShapeError("shape-field-refused", field.name, label=field.label, why=error.coded) from error
    except ValueError:
        # a whole number of more digits than Python writes
        raise ShapeError("shape-field-unreadable", field.name, label=field.label) from None


def _read_length(field: Field, given: Any) -> float:
    feet_to = None if field.unit == SIZE else field.most
    return parse_length(given, least_in=field.least, most_in=field.most, feet_to_in=feet_to)


def _read_number(field: Field, given: Any) -> float:
    text = str(given).strip().casefold()
    if field.sort == "pitch":
        for ending in ("in 12", "/12", ":12"):
            text = text.removesuffix(ending).strip()
    if field.sort == "load":
        text = text.removesuffix("psf").strip()
    shown = str(given)[:40]
    try:
        number = float(text) if not isinstance(given, bool) and "_" not in text else float("nan")
    except ValueError:
        number = float("nan")
    if not field.least <= number <= field.most:
        raise ShapeError(
            "shape-number",
            field.name,
            label=field.label,
            shown=shown,
            least=field.least,
            most=field.most,
            unit=field.unit,
        )
    return number


def _read_whole(field: Field, given: Any) -> int:
    number = _read_number(field, given)
    if number != int(number):
        raise ShapeError("shape-whole-number", field.name, label=field.label, shown=str(given))
    return int(number)


def _read_lumber(field: Field, given: Any) -> str:
    return lookup(str(given).strip()).key


def _read_choice(field: Field, given: Any) -> str:
    keys = [key for key, _ in field.choices]
    if given not in keys:
        raise ShapeError("shape-choice", field.name, label=field.label, shown=str(given)[:40], choices=keys)
    return str(given)


def _read_text(field: Field, given: Any) -> str:
    text = str(given).strip()
    if len(text) > field.most:
        raise ShapeError("shape-text-too-long", field.name, label=field.label, most=field.most)
    return text


_READERS = {
    "length": _read_length,
    "pitch": _read_number,
    "load": _read_number,
    "share": _read_number,
    "factor": _read_number,
    "whole": _read_whole,
    "lumber": _read_lumber,
    "choice": _read_choice,
    "text": _read_text,
}
