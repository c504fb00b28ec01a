"""The kinds of ask: each is a module of this room named after it, with what `OneKind` lists. Nothing else asks which
kind an ask is of."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from importlib import import_module
from importlib.util import find_spec
from typing import Any, NamedTuple, Protocol, cast

from changes.asks.answers import Answered, Case
from changes.asks.wishes import Document, Over, Wish
from changes.models import Ask, Kind
from changes.refusals import Refused
from trusses.models import Job


class OneKind(Protocol):
    """What the file of a kind has. Its form stands in `pages`, its words in `words`."""

    KEYS: tuple[str, ...]
    """What its ask has beside `kind`: usually `truss`, `copies` and one of its own."""

    ANSWERED_AS: str
    """The kind whose `answer` answers it: asks for the same copies that are answered alike share their options."""

    DESIGNS: bool
    """Whether its answer is a truss document, which approving issues."""

    def read(self, job: Job, ask: Mapping[str, Any], path: tuple[str | int, ...], before: Sequence[Wish]) -> list[Wish]:
        """What it asks, a wish for each mark and group of copies; `path` leads to it in what was sent and `before` was
        read already in this request. Raises Refused; Http404 for what isn't this job's."""

    def refuse(self, wish: Wish, at: str) -> None:
        """Raises Refused for what asks nothing of its truss, or can only be a slip."""

    def refuse_both(self, wish: Wish, other: Wish, at: str, at_other: str) -> None:
        """Raises Refused where it can't be wanted beside another wish, of whichever kind, for some of the same
        copies."""

    def answer(self, case: Case) -> Answered:
        """The case's wishes, answered in their order, and the options that they share. No exception for a truss that
        can't be analysed: a sentence."""

    def lacks(self, document: Document, wishes: Iterable[Wish]) -> str:
        """What people call the first of its wishes that a truss document doesn't hold; empty if none."""

    def turned(self, wanted: Document, over: Over) -> Document:
        """`Wish.wish` of copies that were turned end for end since, by the drawing as it is now: the same places on
        their wood."""


BUILDERS = tuple(kind for kind in Kind.values if kind != Kind.REVISION)
"""What a builder may ask; a revision is started by a designer."""

_ROOM = __name__.rpartition(".")[0]
HERE: Mapping[str, OneKind] = {
    kind: cast(OneKind, import_module(f"{_ROOM}.{kind}"))
    for kind in Kind.values
    if find_spec(f"{_ROOM}.{kind}") is not None
}
"""The kinds that can be asked."""


def designs(asks: Iterable[Ask]) -> bool:
    """Whether approving them issues a revision: what is asked of no mark issues none, whatever its kind."""
    return any(ask.truss_id is not None and HERE[ask.kind].DESIGNS for ask in asks)


class Lacking(NamedTuple):
    kind: str
    name: str


def lacking(document: Document, wishes: Iterable[Wish]) -> Lacking | None:
    """The first of some wishes that a truss document doesn't hold."""
    by_kind: dict[str, list[Wish]] = {}
    for wish in wishes:
        by_kind.setdefault(wish.kind, []).append(wish)
    for kind, those in by_kind.items():
        if name := HERE[kind].lacks(document, those):
            return Lacking(kind, name)
    return None


def refuse_both(wish: Wish, other: Wish, at: str, at_other: str) -> None:
    """Raises Refused where two wishes for some of the same copies can't stand in one request."""
    one, two = HERE[wish.kind], HERE[other.kind]
    if one.DESIGNS and two.DESIGNS and one.ANSWERED_AS != two.ANSWERED_AS:
        mark = wish.truss.mark if wish.truss else ""
        raise Refused("answered-apart", "asks", at, mark=mark, kind=wish.kind, other=at_other)
    one.refuse_both(wish, other, at, at_other)
    if two is not one:
        two.refuse_both(other, wish, at_other, at)
