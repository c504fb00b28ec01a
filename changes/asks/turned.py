"""What was asked by the drawing of copies that were turned end for end for another design since. The wood that was
meant stays where it is and the ends of its drawing change places, so that the same is asked at mirrored places of
today's.

One rule for every way by which a decision turns copies: `turns_of` has them all.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import replace
from datetime import datetime

from changes.asks.kinds import HERE
from changes.asks.wishes import Document, Over, Wish, wish_of
from changes.models import Ask, Event, Kind
from trusses.analysis.alike import middle_in
from trusses.models import Revision
from trusses.variants.homes import root
from trusses.variants.moving import Turn, turns_of

READ_SO = "asks turned"
"""The verb of the event that what is asked was written anew for today's drawing."""
_ANEW = ("answer", "compute", READ_SO)
DRAWN = ("request", "revision", "truss__current")
"""What `as_drawn_now` reads of asks."""

Turns = Mapping[tuple[int, int], Sequence[Turn]]


def turned_since(
    asks: Collection[Ask], decided: Mapping[int, datetime] | None = None, before: int | None = None
) -> dict[int, Turns]:
    """{ask: {(root, number) of a copy of its family: its turns since the drawing that the ask is said of}}. That is the
    one of its filing, or of the last answer or computation anew, until it was `decided`; `before` leaves out the event
    of that id, which is just being acted on, and what came after it."""
    turns = turns_of({root(ask.on_truss) for ask in asks}) if asks else []
    if not turns:
        return {}
    rows = Event.objects.filter(request__in={ask.request_id for ask in asks}, verb__in=_ANEW)
    rows = rows if before is None else rows.filter(pk__lt=before)
    anew: dict[int, list[datetime]] = {}
    for request, at in rows.values_list("request", "at"):
        anew.setdefault(request, []).append(at)
    found: dict[int, Turns] = {}
    for ask in asks:
        decided_at = (decided or {}).get(ask.pk)
        again = [at for at in anew.get(ask.request_id, ()) if not decided_at or at < decided_at]
        drawn = max([ask.request.filed_at, *again])
        since: dict[tuple[int, int], list[Turn]] = {}
        for turn in turns:
            if turn.at > drawn:
                since.setdefault((turn.root, turn.number), []).append(turn)
        found[ask.pk] = since
    return found


def as_drawn_now(asks: Collection[Ask], before: int | None = None) -> list[tuple[Ask, list[Wish]]]:
    """Each of some open asks with what it asks by today's drawing of its mark: its own wish alone where none of its
    copies was turned since, else one for each way in which these were. The asks come with `DRAWN`."""
    marked = [ask for ask in asks if ask.truss_id and ask.kind not in Kind.as_built()]
    since = turned_since(marked, before=before)
    return [(ask, _wishes(ask, since.get(ask.pk, {}))) for ask in asks]


def as_drawn_then(ask: Ask, opening: Document, copies: Collection[int]) -> list[tuple[Document, tuple[int, ...]]]:
    """An opening of today's drawing of some copies as the drawing that an open ask is said of has it: once for each way
    in which those of them that the ask is about too were turned since."""
    turns, revision = turned_since([ask]).get(ask.pk, {}), ask.revision
    those = sorted(set(ask.copies) & set(copies))
    if revision is None or not any((root(ask.on_truss), number) in turns for number in those):
        return [(opening, tuple(copies))]
    groups: dict[tuple[bool, float], list[int]] = {}
    for number in those:
        groups.setdefault(_way(turns.get((root(ask.on_truss), number), ()), revision), []).append(number)
    x, y = opening["centre_in"]
    # to turn about a place is undone by the same again
    back = {way: way[1] - x if way[0] else x - way[1] for way in groups}
    return [({**opening, "centre_in": [round(back[way], 6), y]}, tuple(of)) for way, of in sorted(groups.items())]


def _wishes(ask: Ask, turns: Turns) -> list[Wish]:
    own, revision = wish_of(ask), ask.revision
    if revision is None or not any((root(ask.on_truss), number) in turns for number in ask.copies):
        return [own]
    groups: dict[tuple[bool, float], list[int]] = {}
    for number in ask.copies:
        way = _way(turns.get((root(ask.on_truss), number), ()), revision)
        groups.setdefault(way, []).append(number)
    after = ask.on_truss.current.document
    ways = [(Over(*way, revision.document, after), tuple(those)) for way, those in sorted(groups.items())]
    return [replace(_over(own, over), copies=those) for over, those in ways]


def _way(turns: Sequence[Turn], revision: Revision) -> tuple[bool, float]:
    """Whether the ends have changed places, and what is to be added to the x that came of it."""
    flips, by = False, 0.0
    for turn in turns:
        about = middle_in(revision.document) if turn.about_in is None else turn.about_in
        flips, by = not flips, 2 * about - by
    return flips, by


def _over(wish: Wish, over: Over) -> Wish:
    if not over.flips and not over.by_in:
        return wish
    opening = wish.opening
    if opening:
        x, y = opening["centre_in"]
        opening = {**opening, "centre_in": [over.x(x), y]}
    wanted = HERE[wish.kind].turned(wish.wish, over) if wish.wish is not None else None
    return replace(wish, opening=opening, wish=wanted)
