"""A revision that its designer started: nothing is searched for, the drawn option is its answer."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any, NoReturn

from changes.asks.answers import Answer, Answered, Case
from changes.asks.wishes import Document, Over, Wish
from changes.models import Kind
from trusses.models import Job

KEYS: tuple[str, ...] = ()
ANSWERED_AS = Kind.REVISION.value
DESIGNS = True


def read(job: Job, ask: Mapping[str, Any], path: tuple[str | int, ...], before: Sequence[Wish]) -> NoReturn:
    raise TypeError("a revision is started, not asked for")


def refuse(wish: Wish, at: str) -> None:
    """It asks for nothing of its own."""


def refuse_both(wish: Wish, other: Wish, at: str, at_other: str) -> None:
    """It stands alone in its request."""


def answer(case: Case) -> Answered:
    return Answered([Answer(told=[], verdict=None) for _ in case.wishes])


def lacks(document: Document, wishes: Iterable[Wish]) -> str:
    return ""


def turned(wanted: Document, over: Over) -> Document:
    """It names no place."""
    return wanted
