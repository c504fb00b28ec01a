"""Sentences from templates: `{span:feet}` is a length, `{force:lb}` pounds, `{members:names}` a list of names."""

from __future__ import annotations

import string
from collections.abc import Callable, Mapping, Sequence
from typing import Any

from trusses.analysis.words.lengths import feet_inches, tape_inches

Says = str | Callable[..., str]
"""A template, or what makes the sentence of the values by their names."""


def listed(names: Sequence[str], most: int = 0) -> str:
    """A, B and C; of more than `most`, where that is given, the first ones and how many more."""
    if most and len(names) > most:
        names = [*names[:most], f"{len(names) - most} more"]
    return " and ".join(filter(None, [", ".join(names[:-1]), *names[-1:]]))


def quoted(names: Sequence[str]) -> str:
    """“A”, “B” and “C”."""
    return listed([f"“{name}”" for name in names])


def stopped(says: str) -> str:
    """With a stop at its end."""
    return says if says.endswith((".", "?", "!")) else f"{says}."


def sentence(says: str) -> str:
    """With a capital and a stop."""
    return says[:1].upper() + stopped(says)[1:]


def counted(count: int, one: str, many: str) -> str:
    """1 row, 2 rows."""
    return f"{count} {one if count == 1 else many}"


def plain(name: str) -> str:
    """bottom_chord → bottom chord: a key of the truss document as a person says it."""
    return name.replace("_", " ")


_FORMS: Mapping[str, Callable[[Any], str]] = {
    "tape": tape_inches,
    "feet": feet_inches,
    "lb": lambda pounds: f"{pounds:,.0f} lb",
    "names": ", ".join,
    "listed": listed,
    "quoted": quoted,
    "plain": plain,
    "rows": lambda rows: counted(rows, "row", "rows"),
}


class _Template(string.Formatter):
    def format_field(self, value: Any, format_spec: str) -> str:
        form = _FORMS.get(format_spec)
        return form(value) if form else str(super().format_field(value, format_spec))


_TEMPLATE = _Template()


_MEMBERS = ("member", "members", "web", "webs", "pieces")


def named(values: Mapping[str, Any], called: Mapping[str, str]) -> dict[str, Any]:
    """The values of a code with every member under the name that the drawing has, `called` by its id."""

    def name(key: str, value: Any) -> Any:
        if isinstance(value, Mapping):
            inner = named(value, called)
            return inner | {"id": called.get(value["id"], value["id"])} if value.get("of") == "member" else inner
        if isinstance(value, (list, tuple)):
            return [name(key, one) for one in value]
        return called.get(value, value) if key in _MEMBERS and isinstance(value, str) else value

    return {key: name(key, value) for key, value in values.items()}


def say(table: Mapping[str, Says], code: str, values: Mapping[str, Any]) -> str:
    """The sentence of a code. Raises KeyError for a code without words, or a value that its words need and lack."""
    says = table[code]
    return _TEMPLATE.vformat(says, (), values) if isinstance(says, str) else says(**values)
