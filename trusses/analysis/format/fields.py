"""Taking typed values out of one JSON object, with refusals that say where and what was expected."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from typing import Any, NoReturn, TypeVar

from trusses.analysis.format.strict import LIMITS, DocumentError, Limits
from trusses.analysis.words.given import brief, nearest

T = TypeVar("T")
#: What a key is called that would state a cut into a piece of lumber.
_CUTS = re.compile(r"notch|drill|(?<![a-z])(?:bor(?:e|es|ed|ing)|holes?|cuts?)(?![a-z])", re.IGNORECASE)
_REQUIRED: Any = object()


class Fields:
    """One JSON object at a named place. Unknown and missing keys are refused at once, values as they are taken."""

    def __init__(
        self,
        value: Any,
        place: str,
        required: Sequence[str] = (),
        optional: Sequence[str] = (),
        limits: Limits = LIMITS,
    ) -> None:
        self.place = place
        self.limits = limits
        if not isinstance(value, dict):
            self.refuse("no-object", given=brief(value))
        self._value = value
        known = (*required, *optional)
        for key in value:
            if key not in known and _CUTS.search(key):
                self.refuse("key-of-a-cut", key=brief(key))
            if key not in known:
                self.refuse("key-unknown", key=brief(key), meant=nearest(key, [k for k in known if k not in value]))
        for key in required:
            if key not in value:
                self.refuse("key-missing", key=key)

    def refuse(self, code: str, /, **values: Any) -> NoReturn:
        raise DocumentError(code, self.place, **values)

    def has(self, key: str) -> bool:
        return key in self._value

    def take(self, key: str, default: Any = _REQUIRED) -> Any:
        if key not in self._value:
            if default is _REQUIRED:
                self.refuse("key-missing", key=key)
            return default
        return self._value[key]

    def text(self, key: str, default: str = _REQUIRED, longest: int | None = None) -> str:
        value = self.take(key, default)
        if not isinstance(value, str):
            self.refuse("no-text", key=key, given=brief(value))
        longest = self.limits.text if longest is None else longest
        if len(value) > longest:
            self.refuse("text-too-long", key=key, most=longest)
        return value

    def name(self, key: str) -> str:
        """Text that names something: not empty, short, no space at either end."""
        value = self.text(key, longest=self.limits.name)
        check_name(value, self.place, key, self.limits)
        return value

    def choice(self, key: str, words: Iterable[str], default: str = _REQUIRED) -> Any:
        value = self.take(key, default)
        words = tuple(words)
        if not isinstance(value, str) or value not in words:
            self.refuse("no-choice", key=key, choices=list(words), given=brief(value))
        return value

    def flag(self, key: str, default: bool) -> bool:
        value = self.take(key, default)
        if not isinstance(value, bool):
            self.refuse("no-flag", key=key, given=brief(value))
        return value

    def number(self, key: str, unit: str, *, most: float, default: float = _REQUIRED) -> float:
        """A number of magnitude `most` at the largest, as a float. `unit` is in, psf, plf, lb, F or share."""
        value = self.take(key, default)
        if isinstance(value, bool) or not isinstance(value, (int, float)):
            self.refuse("no-number", key=key, unit=unit, given=brief(value))
        if abs(value) > most:
            self.refuse("number-too-much", key=key, unit=unit, given=brief(value), most=most)
        return float(value)

    def length(self, key: str, *, zero: bool, default: float = _REQUIRED) -> float:
        """Inches, not negative; 0 only where it means something."""
        value = self.number(key, "in", most=self.limits.length_in, default=default)
        if value < 0 or (value == 0 and not zero):
            self.refuse("inches-below-0" if zero else "inches-not-over-0", key=key, given=brief(value))
        return value

    def whole(self, key: str, least: int, most: int, default: int = _REQUIRED) -> int:
        value = self.take(key, default)
        if isinstance(value, bool) or not isinstance(value, int):
            self.refuse("no-whole-number", key=key, given=brief(value))
        if not least <= value <= most:
            self.refuse("whole-number-bounds", key=key, least=least, most=most, given=brief(value))
        return value

    def items(self, key: str, most: int, default: Any = _REQUIRED) -> list[Any]:
        value = self.take(key, default)
        if not isinstance(value, (list, tuple)):
            self.refuse("no-list", key=key, given=brief(value))
        if len(value) > most:
            self.refuse("list-too-long", key=key, count=len(value), most=most)
        return list(value)


def check_name(name: str, place: str, key: str | None, limits: Limits) -> None:
    """Refuses names that are empty, too long, padded with spaces or partly invisible. A joint's name has no key."""
    if not name.strip():
        raise DocumentError("name-empty", place, key=key)
    if name != name.strip():
        raise DocumentError("name-padded", place, key=key, name=brief(name))
    if not name.isprintable():
        # two names that look the same must be the same
        raise DocumentError("name-unseen", place, key=key, name=brief(name))
    if len(name) > limits.name:
        raise DocumentError("name-too-long", place, key=key, name=brief(name), most=limits.name)


def point(value: Any, place: str, limits: Limits) -> tuple[float, float]:
    """`[x, y]` in inches."""
    if not isinstance(value, list) or len(value) != 2:
        raise DocumentError("no-point", place, given=brief(value))
    for number in value:
        if isinstance(number, bool) or not isinstance(number, (int, float)):
            raise DocumentError("no-coordinate", place, given=brief(number))
        if abs(number) > limits.length_in:
            raise DocumentError("coordinate-too-large", place, given=brief(number))
    return float(value[0]), float(value[1])
