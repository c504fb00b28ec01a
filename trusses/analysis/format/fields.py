"""Taking typed values out of one JSON object, with refusals that say where and what was expected."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Sequence
from typing import Any, NoReturn, TypeVar

from trusses.analysis.format.strict import LIMITS, DocumentError, Limits, nearest, quoted, told

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
            self.refuse(f"must be an object in braces, not {told(value)}")
        self._value = value
        known = (*required, *optional)
        for key in value:
            if key not in known and _CUTS.search(key):
                self.refuse(
                    f"{quoted(key)}: lumber is not drilled or notched here, so no check counts what that leaves"
                )
            if key not in known:
                self.refuse(f"unknown key {quoted(key)}{nearest(key, [k for k in known if k not in value])}")
        for key in required:
            if key not in value:
                self.refuse(f"{quoted(key)} is missing")

    def refuse(self, says: str) -> NoReturn:
        raise DocumentError(says, self.place)

    def has(self, key: str) -> bool:
        return key in self._value

    def take(self, key: str, default: Any = _REQUIRED) -> Any:
        if key not in self._value:
            if default is _REQUIRED:
                self.refuse(f"{quoted(key)} is missing")
            return default
        return self._value[key]

    def text(self, key: str, default: str = _REQUIRED, longest: int | None = None) -> str:
        value = self.take(key, default)
        if not isinstance(value, str):
            self.refuse(f"{key} must be text, not {told(value)}")
        longest = self.limits.text if longest is None else longest
        if len(value) > longest:
            self.refuse(f"{key} is longer than {longest} characters")
        return value

    def name(self, key: str) -> str:
        """Text that names something: not empty, short, no space at either end."""
        value = self.text(key, longest=self.limits.name)
        check_name(value, lambda says: self.refuse(f"{key} {says}"), self.limits)
        return value

    def choice(self, key: str, words: Iterable[str], default: str = _REQUIRED) -> Any:
        value = self.take(key, default)
        words = tuple(words)
        if not isinstance(value, str) or value not in words:
            only = ", ".join(words[:-1]) + f" or {words[-1]}" if len(words) > 1 else words[0]
            self.refuse(f"{key} must be {only}, not {quoted(value) if isinstance(value, str) else told(value)}")
        return value

    def flag(self, key: str, default: bool) -> bool:
        value = self.take(key, default)
        if not isinstance(value, bool):
            self.refuse(f"{key} must be true or false, not {told(value)}")
        return value

    def number(self, key: str, unit: str, *, most: float, default: float = _REQUIRED) -> float:
        """A number of magnitude `most` at the largest, as a float."""
        value = self.take(key, default)
        if isinstance(value, bool) or not isinstance(value, (int, float)):
            self.refuse(f"{key} must be a number of {unit}, not {told(value)}")
        if abs(value) > most:
            self.refuse(f"{key} is {told(value)} {unit}; no truss has more than {most:,.0f}")
        return float(value)

    def length(self, key: str, *, zero: bool, default: float = _REQUIRED) -> float:
        """Inches, not negative; 0 only where it means something."""
        value = self.number(key, "inches", most=self.limits.length_in, default=default)
        if value < 0 or (value == 0 and not zero):
            self.refuse(f"{key} must be {'0 or more' if zero else 'more than 0'} inches, not {told(value)}")
        return value

    def whole(self, key: str, least: int, most: int, default: int = _REQUIRED) -> int:
        value = self.take(key, default)
        if isinstance(value, bool) or not isinstance(value, int):
            self.refuse(f"{key} must be a whole number, not {told(value)}")
        if not least <= value <= most:
            wanted = f"{least}" if least == most else f"from {least} to {most}"
            self.refuse(f"{key} must be {wanted}, not {told(value)}")
        return value

    def items(self, key: str, most: int, what: str, default: Any = _REQUIRED) -> list[Any]:
        value = self.take(key, default)
        if not isinstance(value, (list, tuple)):
            self.refuse(f"{key} must be a list of {what}, not {told(value)}")
        if len(value) > most:
            self.refuse(f"{key} holds {len(value):,} {what}; the limit is {most:,}")
        return list(value)


def check_name(value: str, refuse: Callable[[str], NoReturn], limits: Limits) -> None:
    """Refuses names that are empty, too long, padded with spaces or partly invisible."""
    if not value.strip():
        refuse("must not be empty")
    if value != value.strip():
        refuse(f"{quoted(value)} must not begin or end with a space")
    if not value.isprintable():
        # two names that look the same must be the same
        refuse(f"{quoted(value)} holds a character that can't be seen")
    if len(value) > limits.name:
        refuse(f"{quoted(value)} is longer than {limits.name} characters")


def point(value: Any, place: str, limits: Limits) -> tuple[float, float]:
    """`[x, y]` in inches."""
    if not isinstance(value, list) or len(value) != 2:
        raise DocumentError(f"must be two numbers [x, y] in inches, not {told(value)}", place)
    for number in value:
        if isinstance(number, bool) or not isinstance(number, (int, float)):
            raise DocumentError(f"must be two numbers [x, y] in inches, but holds {told(number)}", place)
        if abs(number) > limits.length_in:
            raise DocumentError(f"{told(number)} inches is outside of any building", place)
    return float(value[0]), float(value[1])
