"""Lengths as American tapes and drawings write them, read: the core works in inches. `words.lengths` writes them."""

from __future__ import annotations

import math
import re
import unicodedata

from trusses.analysis.words.given import TURNING, seen
from trusses.analysis.words.lengths import FINEST
from trusses.analysis.words.refusal import Refusal

LONGEST_IN = 12_000.0  # 1000 ft: no truss and no building here is that long
LONGEST_TEXT = 40

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


class UnitsError(Refusal):
    """A length that can't be read. Its values quote what was typed (`shown`)."""


class UnclearError(UnitsError):
    """A number without a mark that could be feet or inches; the value `readings` has the two ways to write it."""


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
    Raises UnitsError.
    """
    if isinstance(text, str) and feet_to_in is not None:
        _ask_which(text, negative, least_in or 0.0, feet_to_in)
    shown, value = (_shown(text), _read(text)) if isinstance(text, str) else (f"{text}", _number(text))
    if value < 0 and not negative:
        raise UnitsError("length-negative", shown=shown)
    if abs(value) > most_in:
        raise UnitsError("length-too-long", shown=shown, most_in=most_in)
    if least_in is not None and value < least_in:
        raise UnitsError("length-too-short", shown=shown, least_in=least_in)
    return value


def _ask_which(text: str, negative: bool, least_in: float, feet_to_in: float) -> None:
    """Raises UnclearError for a bare number that could be meant as feet; nothing is nothing in any unit."""
    number = _normalised(text).lstrip("+-" if negative else "+").strip()
    if re.fullmatch(_NUMBER, number) and float(number) and least_in <= 12 * float(number) <= feet_to_in:
        shown = _shown(text)
        raise UnclearError("length-feet-or-inches", shown=shown, readings=[f"{shown}'", f'{shown}"'])


def _number(value: float) -> float:
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        raise UnitsError("length-no-number")
    if not math.isfinite(value):
        raise UnitsError("length-not-finite", shown=f"{value}")
    return float(value)


def _shown(text: str) -> str:
    """What was typed, safe to quote in a sentence: printable, and no longer than a line."""
    text = seen(text)
    kept = " ".join("".join(c if c.isprintable() else " " for c in text[: LONGEST_TEXT + 1]).split())
    return kept if len(text) <= LONGEST_TEXT else f"{kept[:20]}…"


def _read(text: str) -> float:
    plain = _normalised(text)
    shown = _shown(text)
    sign = -1.0 if plain.startswith("-") else 1.0
    plain = plain.removeprefix("-").removeprefix("+").strip()
    if not plain:
        raise UnitsError("length-empty")
    if found := _SIXTEENTHS.fullmatch(plain):
        feet, whole, sixteenths = (int(found[group]) for group in ("feet", "inches", "sixteenths"))
        if sixteenths > 15:
            raise UnitsError("length-sixteenths", shown=shown)
        return sign * _together(shown, feet, whole + sixteenths / 16)
    if found := _DASHED.fullmatch(plain):
        inches = float(found["inches"]) + _fraction(shown, found["fraction"], found["inches"])
        return sign * _together(shown, float(found["feet"]), inches)
    if found := _FRACTION_OF_FEET.fullmatch(plain):
        return sign * 12 * (float(found["feet"] or 0) + _fraction(shown, found["fraction"], found["feet"]))
    found = _FEET_AND_INCHES.fullmatch(plain)
    if not found or not any(found[group] for group in ("feet", "inches", "fraction")):
        raise _unreadable(plain, shown)
    return sign * _marked(found, shown)


def _marked(found: re.Match[str], shown: str) -> float:
    """Inches from feet, inches and fraction told apart by their marks."""
    feet, whole, fraction = found["feet"], found["inches"], found["fraction"]
    dashed = "-" in (found["joined"] or "")
    if dashed and feet is None and not found["mark"]:
        raise UnitsError("length-mixed-dash", shown=shown, whole=whole, fraction=fraction)
    if feet is not None and "." in feet and (whole or fraction):
        raise UnitsError("length-decimal-feet-and-inches", shown=shown)
    inches = float(whole or 0) + _fraction(shown, fraction, whole)
    return inches if feet is None else _together(shown, float(feet), inches)


def _together(shown: str, feet: float, inches: float) -> float:
    if inches >= 12:
        raise UnitsError("length-a-foot-of-inches", shown=shown, inches=inches)
    return feet * 12 + inches


def _fraction(shown: str, fraction: str | None, whole: str | None) -> float:
    if not fraction:
        return 0.0
    over, under = (int(part) for part in fraction.split("/"))
    if under == 0:
        raise UnitsError("length-over-nothing", shown=shown)
    if under > FINEST:
        raise UnitsError("length-too-fine", shown=shown, finest=FINEST)
    if over >= under:
        raise UnitsError("length-improper-fraction", shown=shown, fraction=fraction)
    if whole and "." in whole:
        raise UnitsError("length-decimals-and-fraction", shown=shown)
    return over / under


def _normalised(text: str) -> str:
    """`text` in plain marks: ' for feet, " for inches, - for any dash, a/b for any fraction."""
    text = seen(text)
    if len(text) > LONGEST_TEXT:
        raise UnitsError("length-text-too-long", shown=_shown(text))
    if not TURNING.isdisjoint(text):
        raise UnitsError("length-turned", shown=_shown(text))
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


def _unreadable(plain: str, shown: str) -> UnitsError:
    if letters := re.search(r"[^\W\d_]+", plain):
        return UnitsError("length-unit", shown=shown, unit=letters[0])
    if re.fullmatch(r"[0-9]+,[0-9]+", plain):
        return UnitsError("length-comma", shown=shown)
    if pair := re.fullmatch(rf"({_NUMBER}) ({_NUMBER})(?: {_FRACTION})?", plain):
        return UnitsError("length-which-is-feet", shown=shown, pair=[pair[1], pair[2]])
    return UnitsError("length-unreadable", shown=shown)
