"""Lengths as American tapes and drawings write them, read and written.

The core works in inches; this is the one place where feet, inches and fractions come in and go out.
"""

from __future__ import annotations

import math
import re
import unicodedata
from fractions import Fraction

LONGEST_IN = 12_000.0  # 1000 ft: no truss and no building here is that long
LONGEST_TEXT = 40
FINEST = 64  # the finest fraction that a steel rule carries

_FOOT_MARKS = "'′‘’ʹ`´"
_INCH_MARKS = '"″“”ʺ'
_DASHES = "-‐‑‒–—−"
_NUMBER = r"[0-9]+(?:\.[0-9]*)?|\.[0-9]+"
_FRACTION = r"[0-9]+/[0-9]+"
_FEET_AND_INCHES = re.compile(
    rf"(?:(?P<feet>{_NUMBER})\s*'\s*[-,]?\s*)?"
    rf"(?:(?:(?P<inches>{_NUMBER})(?![0-9/]))?(?:(?P<joined>\s*-\s*|\s+)?(?P<fraction>{_FRACTION}))?\s*(?P<mark>\")?)?"
)
_DASHED = re.compile(rf"(?P<feet>[0-9]+)\s*-\s*(?P<inches>{_NUMBER})(?:[\s-]+(?P<fraction>{_FRACTION}))?\s*\"?")
_FRACTION_OF_FEET = re.compile(rf"(?:(?P<feet>[0-9]+)\s+)?(?P<fraction>{_FRACTION})\s*'")
_SIXTEENTHS = re.compile(r"(?P<feet>[0-9]+)-(?P<inches>[0-9]+)-(?P<sixteenths>[0-9]+)")


class UnitsError(ValueError):
    """A length that can't be read; the message is one sentence that quotes what was typed."""


class UnclearError(UnitsError):
    """A number without a mark that could be feet or inches; `readings` are the two ways to write it."""

    def __init__(self, shown: str, number: str) -> None:
        self.readings = (f"{number}'", f'{number}"')
        super().__init__(f"{shown} could be {self.readings[0]} or {self.readings[1]}: write it one of these ways.")


def parse_length(
    text: str | float,
    *,
    negative: bool = False,
    least_in: float | None = None,
    most_in: float = LONGEST_IN,
    feet_to_in: float | None = None,
) -> float:
    """Inches from what a person typed.

    Understood: ``12' 3 1/2"``, ``12'-3 1/2"``, ``12 ft 3 in``, ``12.5'``, ``12 1/2'``, ``12-3`` and ``12-3 1/2`` (feet
    and inches), ``12-3-8`` (feet, inches and sixteenths, as truss drawings abbreviate: 12' 3 8/16"), ``3/8``,
    ``1 1/2``, typographic primes, quotes, dashes and fractions. A number without a mark is inches: ``147.5``.
    A float or an int is taken as inches. Refused as ambiguous: ``12 3``, ``3-1/2`` without a mark, ``147,5``.

    `negative` allows a leading minus; `least_in` and `most_in` bound the answer. With `feet_to_in` a number without a
    mark is asked about wherever it would be possible as feet too: at least `least_in` and at most `feet_to_in` long.
    Raises UnitsError with a sentence for a person.
    """
    if isinstance(text, str) and feet_to_in is not None:
        _ask_which(text, least_in or 0.0, feet_to_in)
    shown, value = (_shown(text), _read(text)) if isinstance(text, str) else (f"{text}", _number(text))
    if value < 0 and not negative:
        raise UnitsError(f"{shown}: a length can't be negative here.")
    if abs(value) > most_in:
        raise UnitsError(f"{shown} is more than {feet_inches(most_in)}, the most that is possible here.")
    if least_in is not None and value < least_in:
        raise UnitsError(f"{shown} is less than {feet_inches(least_in)}, the least that is possible here.")
    return value


def _ask_which(text: str, least_in: float, feet_to_in: float) -> None:
    """Raises UnclearError for a bare number that could be meant as feet; nothing is nothing in any unit."""
    number = _normalised(text).lstrip("+-").strip()
    if re.fullmatch(_NUMBER, number) and float(number) and least_in <= 12 * float(number) <= feet_to_in:
        raise UnclearError(_shown(text), _shown(text).strip())


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
    """Sign, whole inches and the fraction left, rounded to 1/`to` in. (halves away from zero)."""
    if to not in (1, 2, 4, 8, 16, 32, FINEST):
        raise ValueError(f"to must be 1, 2, 4, 8, 16, 32 or 64, not {to}")
    if not math.isfinite(inches):
        raise ValueError(f"{inches} is not a length")
    steps = math.floor(abs(inches) * to + 0.5)
    sign = "" if steps == 0 else "-" if inches < 0 else "+" if signed else ""
    return sign, steps // to, Fraction(steps % to, to)


def _mixed(whole: int, rest: Fraction) -> str:
    if not rest:
        return f"{whole}"
    return f"{whole} {rest}" if whole else f"{rest}"


def _number(value: float) -> float:
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        raise UnitsError("A length is a number of inches, or feet and inches such as 12' 3 1/2\".")
    if not math.isfinite(value):
        raise UnitsError(f"{value} is not a length.")
    return float(value)


def _shown(text: str) -> str:
    """What was typed, safe to quote in a sentence: printable, and no longer than a line."""
    kept = " ".join("".join(c if c.isprintable() else " " for c in text[: LONGEST_TEXT + 1]).split())
    return kept if len(text) <= LONGEST_TEXT else f"{kept[:20]}…"


def _read(text: str) -> float:
    plain = _normalised(text)
    shown = _shown(text)
    sign = -1.0 if plain.startswith("-") else 1.0
    plain = plain.removeprefix("-").removeprefix("+").strip()
    if not plain:
        raise UnitsError("Type a length, such as 12' 3 1/2\" or 147.5 (inches).")
    if found := _SIXTEENTHS.fullmatch(plain):
        feet, whole, sixteenths = (int(found[group]) for group in ("feet", "inches", "sixteenths"))
        if sixteenths > 15:
            raise UnitsError(f"{shown}: the third number is sixteenths of an inch, 0 to 15.")
        return sign * _together(shown, feet, whole + sixteenths / 16)
    if found := _DASHED.fullmatch(plain):
        inches = float(found["inches"]) + _fraction(shown, found["fraction"], found["inches"])
        return sign * _together(shown, float(found["feet"]), inches)
    if found := _FRACTION_OF_FEET.fullmatch(plain):
        return sign * 12 * (float(found["feet"] or 0) + _fraction(shown, found["fraction"], found["feet"]))
    found = _FEET_AND_INCHES.fullmatch(plain)
    if not found or not any(found[group] for group in ("feet", "inches", "fraction")):
        raise UnitsError(_what_is_wrong(plain, shown))
    return sign * _marked(found, shown)


def _marked(found: re.Match[str], shown: str) -> float:
    """Inches from feet, inches and fraction told apart by their marks."""
    feet, whole, fraction = found["feet"], found["inches"], found["fraction"]
    dashed = "-" in (found["joined"] or "")
    if dashed and feet is None and not found["mark"]:
        raise UnitsError(f'{shown} could be {whole} {fraction}" or {whole}\' {fraction}": write it one of these ways.')
    if feet is not None and "." in feet and (whole or fraction):
        raise UnitsError(f"{shown}: write either decimal feet, or feet and inches, not both.")
    inches = float(whole or 0) + _fraction(shown, fraction, whole)
    return inches if feet is None else _together(shown, float(feet), inches)


def _together(shown: str, feet: float, inches: float) -> float:
    if inches >= 12:
        raise UnitsError(f"{shown}: {inches:g} inches after the feet make another foot; write 0 to 11 and a fraction.")
    return feet * 12 + inches


def _fraction(shown: str, fraction: str | None, whole: str | None) -> float:
    if not fraction:
        return 0.0
    over, under = (int(part) for part in fraction.split("/"))
    if under == 0:
        raise UnitsError(f"{shown}: a fraction can't have 0 below the line.")
    if under > FINEST:
        raise UnitsError(f"{shown}: 1/{FINEST} is the finest fraction of an inch here.")
    if over >= under:
        raise UnitsError(f"{shown}: the fraction {fraction} is 1 or more; write a whole number and a fraction.")
    if whole and "." in whole:
        raise UnitsError(f"{shown}: write either decimals or a fraction, not both.")
    return over / under


def _normalised(text: str) -> str:
    """`text` in plain marks: ' for feet, " for inches, - for any dash, a/b for any fraction."""
    if len(text) > LONGEST_TEXT:
        raise UnitsError(f"{_shown(text)} is too long to be a length.")
    spread = "".join(f" {c}" if "VULGAR FRACTION" in unicodedata.name(c, "") else c for c in text)
    plain = unicodedata.normalize("NFKC", _plain_marks(spread)).replace("⁄", "/").casefold()
    plain = re.sub(r"(?<=[0-9.\s])(?:feet|foot|ft)\b\.?", "'", plain)
    plain = re.sub(r"(?<=[0-9.\s])(?:inches|inch|in)\b\.?", '"', plain)
    plain = re.sub(r"(?<![0-9.,])([0-9]{1,3})((?:,[0-9]{3})+)(?![0-9,])", _ungrouped, plain)
    return re.sub(r"\s+", " ", re.sub(r"\s*/\s*", "/", plain)).strip()


def _plain_marks(text: str) -> str:
    """Before NFKC, which would take a lone acute accent apart."""
    table = {ord(c): "'" for c in _FOOT_MARKS} | {ord(c): '"' for c in _INCH_MARKS} | {ord(c): "-" for c in _DASHES}
    return text.translate(table).replace("''", '"')


def _ungrouped(found: re.Match[str]) -> str:
    return found[0].replace(",", "")


def _what_is_wrong(plain: str, shown: str) -> str:
    if letters := re.search(r"[^\W\d_]+", plain):
        return f"{shown}: {letters[0]} is not a unit here; write feet and inches, such as 12' 3 1/2\"."
    if re.fullmatch(r"[0-9]+,[0-9]+", plain):
        return f"{shown}: write the decimal with a point, not a comma."
    if pair := re.fullmatch(rf"({_NUMBER}) ({_NUMBER})(?: {_FRACTION})?", plain):
        return f"{shown}: say which is feet, such as {pair[1]}' {pair[2]}\"."
    return f"{shown} can't be read as a length; write it like 12' 3 1/2\" or 147.5 (inches)."
