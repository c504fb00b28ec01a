"""A designer's own option: checked against what was asked, then computed by the worker like the others."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from django.http import Http404

from changes.asks.documents import differences
from changes.asks.kinds import HERE, designs, lacking
from changes.asks.wishes import wish_of
from changes.computations import enqueue
from changes.models import Ask, Option, Request
from changes.permissions import require
from changes.refusals import Conflict, Refused
from changes.words import Titled
from changes.workflow.table import acting, move, person
from changes.workflow.typed import words
from trusses.analysis.format.document import DocumentError, read, sha256
from trusses.analysis.words.phrases import coded
from trusses.models import Truss
from trusses.refusals import because
from trusses.revisions import limits

DRAWN_RANK = 1000
"""Drawn options stand after those of the search, in the order in which they were drawn."""


def draw_option(
    user: Any, change: Request, *, ask: Ask | int, document: dict[str, Any], title: str | None = None
) -> Option:
    """Another option for all asks on the same copies as `ask`. Raises NotAllowed, Refused, Conflict, Http404."""
    role = require(user, "draw", change)
    one = _ask(change, ask)
    truss = one.on_truss
    document = read_drawn(document, truss)
    titled = words(title, "title", longest=300) or [coded("drawn-by", person=person(user, change.job))]
    with acting(change):
        move(change, "draw", role, by=user, mark=truss.mark, title=titled)
        rows = change.asks.filter(truss=truss, replaced=False)
        asks = [each for each in rows if each.copies == one.copies and HERE[each.kind].DESIGNS]
        if one.revision_id != truss.current_id:
            raise Conflict("overtaken-while-drawing", mark=truss.mark)
        if missing := lacking(document, map(wish_of, asks)):
            raise Refused("not-written-in", "document", "document", **missing._asdict())
        option = write_drawn(user, asks, document, titled)
        enqueue(change, option)
    return option


def write_drawn(user: Any, asks: Sequence[Ask], document: dict[str, Any], titled: Titled) -> Option:
    """The row of a drawn option for asks on one mark, which departs from its current revision; not computed yet."""
    change, truss = asks[0].request, asks[0].on_truss
    option = Option.objects.create(
        request=change,
        truss=truss,
        copies=asks[0].copies,
        revision=truss.current,
        drawn_by=user,
        titled=titled,
        rank=DRAWN_RANK,
        document=document,
        sha256=sha256(document),
        told=differences(truss.current.document, document),
    )
    option.asks.set(asks)
    return option


def read_drawn(document: Any, truss: Truss) -> dict[str, Any]:
    """What a designer sent as the truss document of a mark. Raises Refused on `document`."""
    try:
        held = read(document, limits()).document
    except DocumentError as refused:
        raise Refused("because", "document", "document", why=because(refused)) from refused
    if held["mark"] != truss.mark:
        raise Refused("drawn-of-another-mark", "document", "document", mark=held["mark"], wanted=truss.mark)
    return held


def _ask(change: Request, ask: Ask | int) -> Ask:
    pk = ask.pk if isinstance(ask, Ask) else ask
    found = change.asks.filter(replaced=False, pk=pk).select_related("truss__job", "truss__current").first()
    if found is None:
        raise Http404("Not found.")
    if not designs([found]):
        raise Refused("nothing-to-draw", "ask", "ask", ask=found.pk, kind=found.kind)
    return found
