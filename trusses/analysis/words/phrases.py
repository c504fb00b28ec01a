"""Sentences from templates: `{span:feet}` is a length, `{force:lb}` pounds, `{members:names}` a list of names."""

from __future__ import annotations

import re
import string
from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Any

from trusses.analysis.words.given import quoted as in_quotes
from trusses.analysis.words.given import told
from trusses.analysis.words.lengths import feet_inches, tape_inches

Says = str | Callable[..., str]
"""A template, or what makes the sentence of the values by their names."""


_OF_A_DOCUMENT = re.compile(r"[a-z]+(?:[_\[]|\.\w)")

Coded = Mapping[str, Any]
"""What a sentence is kept as: {"code", "values"}, plain JSON. A value may be such a sentence itself. `called` beside
them is what the drawing calls the members that the values have by id."""


def coded(code: str, /, **values: Any) -> Coded:
    return {"code": code, "values": values}


def pounds(force: float) -> str:
    """1422.4 → 1,422 lb."""
    return f"{force:,.0f} lb".replace("-", "−")


def much(value: float, unit: str) -> str:
    """−20.0, psf → −20 psf, with a minus sign and no hyphen."""
    return f"{value:g} {unit}".replace("-", "−", 1)


def listed(names: Iterable[str], most: int = 0) -> str:
    """A, B and C; of more than `most`, where that is given, the first ones and how many more."""
    names = list(names)
    if most and len(names) > most:
        names = [*names[:most], f"{len(names) - most} more"]
    return " and ".join(filter(None, [", ".join(names[:-1]), *names[-1:]]))


def as_counted(name: str) -> list[tuple[int, str]]:
    """R2 before R10, as a key to sort names by."""
    return [(int(part), "") if part.isdecimal() else (-1, part) for part in re.split(r"(\d+)", name)]


def quoted(names: Sequence[str]) -> str:
    """“A”, “B” and “C”."""
    return listed([f"“{name}”" for name in names])


def stopped(says: str) -> str:
    """With a stop at its end."""
    return says if says.endswith((".", "?", "!")) else f"{says}."


def sentence(says: str) -> str:
    """With a capital and a stop; a path or a key of a document at its head stays as it is written there."""
    return stopped(says if _OF_A_DOCUMENT.match(says) else says[:1].upper() + says[1:])


def counted(count: int, one: str, many: str) -> str:
    """1 row, 2 rows."""
    return f"{count} {one if count == 1 else many}"


def moved(right_in: float, up_in: float) -> str:
    """1'-2" to the right and 3" down; empty for less than a hair."""
    steps = [
        f"{feet_inches(abs(by))} {there if by > 0 else back}"
        for by, there, back in ((right_in, "to the right", "to the left"), (up_in, "up", "down"))
        if abs(by) >= 1 / 32
    ]
    return " and ".join(steps)


def plain(name: str) -> str:
    """bottom_chord → bottom chord: a key of the truss document as a person says it."""
    return name.replace("_", " ")


def numbers(of: Iterable[int]) -> str:
    """1, 2, 3, 5 → 1 to 3 and 5; two that follow each other stay two."""
    runs: list[list[int]] = []
    for number in sorted(of):
        if runs and runs[-1][-1] == number - 1:
            runs[-1].append(number)
        else:
            runs.append([number])
    ends = [[f"{run[0]} to {run[-1]}"] if len(run) > 2 else [str(number) for number in run] for run in runs]
    return listed([end for each in ends for end in each])


def copies(of: Sequence[int]) -> str:
    """copy 2; copies 1 to 3 and 5."""
    return f"{'copy' if len(of) == 1 else 'copies'} {numbers(of)}"


_FORMS: Mapping[str, Callable[[Any], str]] = {
    "tape": tape_inches,
    "feet": feet_inches,
    "lb": pounds,
    "names": ", ".join,
    "listed": listed,
    "quoted": quoted,
    "plain": plain,
    "text": in_quotes,
    "told": told,
    "numbers": numbers,
    "copies": copies,
    "copies-are": lambda of: f"{copies(of)} {'is' if len(of) == 1 else 'are'}",
    "rows": lambda rows: counted(rows, "row", "rows"),
}


class _Template(string.Formatter):
    def format_field(self, value: Any, format_spec: str) -> str:
        form = _FORMS.get(format_spec)
        return form(value) if form else str(super().format_field(value, format_spec))


_TEMPLATE = _Template()


_MEMBERS = ("member", "members", "web", "webs", "pieces")


def _members(values: Mapping[str, Any], call: Callable[[str], str]) -> dict[str, Any]:
    """The values of a code with each member's id, however deep, as `call` has it."""
    keys = (*_MEMBERS, "id") if values.get("of") == "member" else _MEMBERS

    def name(key: str, value: Any) -> Any:
        if isinstance(value, Mapping):
            return _members(value, call)
        if isinstance(value, (list, tuple)):
            return [name(key, one) for one in value]
        return call(value) if key in keys and isinstance(value, str) else value

    return {key: name(key, value) for key, value in values.items()}


def named(values: Mapping[str, Any], called: Mapping[str, str]) -> Mapping[str, Any]:
    """The values of a code with every member under the name that the drawing has, `called` by its id."""
    return _members(values, lambda member: called.get(member, member)) if called else values


def with_names(one: Coded, called: Mapping[str, str]) -> Coded:
    """A sentence to be kept, with what the drawing calls the members in it, by id, where that is another name."""
    names: dict[str, str] = {}

    def note(member: str) -> str:
        if called.get(member, member) != member:
            names[member] = called[member]
        return member

    _members(one["values"], note)
    return {**one, "called": names} if names else one


def say(table: Mapping[str, Says], code: str, values: Mapping[str, Any]) -> str:
    """The sentence of a code. Raises KeyError for a code without words, or a value that its words need and lack."""
    says = table[code]
    return _TEMPLATE.vformat(says, (), values) if isinstance(says, str) else says(**values)


def tell(table: Mapping[str, Says], sentences: Iterable[str | Coded]) -> str:
    """Sentences one after the other; what was kept as a sentence is told as it is. Raises KeyError as `say` does."""
    return " ".join(
        one if isinstance(one, str) else say(table, one["code"], named(one["values"], one.get("called", {})))
        for one in sentences
    )
