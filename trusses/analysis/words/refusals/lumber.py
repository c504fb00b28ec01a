"""Why lumber, or what stiffens it, is refused."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from trusses.analysis.words.phrases import Says


def _unknown(shown: str, near: Sequence[str]) -> str:
    hint = f"the nearest are {', '.join(near)}" if near else "a key reads like 2x4 SPF No.1/No.2"
    return f'lumber "{shown}" is not in the table; {hint}'


LUMBER: Mapping[str, Says] = {
    "lumber-unknown": _unknown,
    "km-unknown": lambda km, known: f"KM is {' or '.join(map(str, known))} (NDS 4.4.2), not {km}",
}
