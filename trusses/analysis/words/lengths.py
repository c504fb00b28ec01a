"""Lengths as American tapes and drawings write them; `format.lengths` reads them."""

from __future__ import annotations

import math
from fractions import Fraction

FINEST = 64  # the finest fraction that a steel rule carries


def feet_inches(inches: float, to: int = 16, *, signed: bool = False) -> str:
    """`inches` as a drawing writes it, to the nearest 1/`to` in.: ``12'-3 1/2"``; under a foot ``3 1/2"``.

    `to` is 1, 2, 4, 8, 16, 32 or 64. `signed` writes a plus before what is more than nothing.
    """
    sign, whole, rest = _split(inches, to, signed)
    feet, whole = divmod(whole, 12)
    written = _mixed(whole, rest)
    if feet:
        written = f"{feet}'-{written}" if whole or not rest else f"{feet}'-0 {written}"
    return f'{sign}{written}"'


def tape_inches(inches: float, to: int = 16, *, signed: bool = False) -> str:
    """`inches` without feet, to the nearest 1/`to` in.: ``147 1/2"``, as bearing widths and duct sizes are written."""
    sign, whole, rest = _split(inches, to, signed)
    return f'{sign}{_mixed(whole, rest)}"'


def feet_inches_sixteenths(inches: float) -> str:
    """The three-number short form that truss drawings use: 147.5 in. is ``12-03-08``."""
    sign, whole, rest = _split(inches, 16, signed=False)
    return f"{sign}{whole // 12}-{whole % 12:02d}-{int(rest * 16):02d}"


def _split(inches: float, to: int, signed: bool) -> tuple[str, int, Fraction]:
    """Sign (a minus and no hyphen, at which a line could break), whole inches and the fraction left, rounded to
    1/`to` in. (halves away from zero)."""
    if to not in (1, 2, 4, 8, 16, 32, FINEST):
        raise ValueError(f"to must be 1, 2, 4, 8, 16, 32 or 64, not {to}")
    if not math.isfinite(inches):
        raise ValueError(f"{inches} is not a length")
    steps = math.floor(abs(inches) * to + 0.5)
    sign = "" if steps == 0 else "−" if inches < 0 else "+" if signed else ""
    return sign, steps // to, Fraction(steps % to, to)


def _mixed(whole: int, rest: Fraction) -> str:
    if not rest:
        return f"{whole}"
    return f"{whole} {rest}" if whole else f"{rest}"
