"""Ducts, pipes and drains that go through a revision's openings, as its sheet tells them: how high each is where a tape
is held against it. A truss document knows of them only the openings."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

from trusses.models import Revision

told_by: list[Callable[[Revision], Mapping[str, Sequence[str]]]] = []
"""What tells, for each opening by its name, what goes through it: whoever keeps requests adds its own."""


def through(revision: Revision) -> dict[str, list[str]]:
    found: dict[str, list[str]] = {}
    for tell in told_by:
        for opening, says in tell(revision).items():
            found.setdefault(opening, []).extend(says)
    return found
