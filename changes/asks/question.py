"""A question in free words, with photos and a place: a designer answers it, or it becomes another ask."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from changes.asks.answers import Answer, Answered, Case
from changes.asks.wanted import fields_of, read_photos, refused_here
from changes.asks.wishes import Document, Over, Wish, read_copies, read_truss
from changes.models import Kind
from changes.refusals import Refused
from trusses.analysis.format.strict import place as named
from trusses.analysis.words.phrases import coded
from trusses.models import Job

KEYS = ("truss", "copies", "question", "photos")
ANSWERED_AS = Kind.QUESTION.value
DESIGNS = False

ON = ("drawing", "plan")
LONGEST = 2000


def read(job: Job, ask: Mapping[str, Any], path: tuple[str | int, ...], before: Sequence[Wish]) -> list[Wish]:
    """A question about a mark, some of its copies, or the job. Raises Refused; Http404 for a mark that isn't this
    job's."""
    at = named(path)
    truss = read_truss(job, ask, at) if ask.get("truss") is not None else None
    copies: tuple[int, ...] = ()
    if truss is None and ask.get("copies") is not None:
        raise Refused("not-of-an-ask", "asks", at, key="copies")
    if truss is not None:
        copies = read_copies(truss, ask, at, cut=True)
    with refused_here(f"{at}.question"):
        fields = fields_of(ask.get("question"), (*path, "question"), ("says",), ("place",))
        wanted: Document = {"says": fields.text("says", longest=LONGEST).strip()}
        if fields.take("place", None) is not None:
            spot = fields_of(fields.take("place"), (*path, "question", "place"), ("on", "x_in", "y_in"), ("level",))
            most = spot.limits.length_in
            wanted["place"] = {"on": spot.choice("on", ON)}
            if level := spot.text("level", "", longest=60):
                wanted["place"]["level"] = level
            wanted["place"] |= {key: spot.number(key, "in", most=most) for key in ("x_in", "y_in")}
    wanted["photos"] = read_photos(job, ask.get("photos", []), f"{at}.photos")
    return [Wish(Kind.QUESTION.value, truss, copies, wish=wanted)]


def refuse(wish: Wish, at: str) -> None:
    """Raises Refused for a question without words, or a place on a drawing of no mark."""
    wanted = wish.wish or {}
    if not wanted["says"]:
        raise Refused("asks-nothing", "asks", f"{at}.question.says")
    place = wanted.get("place", {})
    if wish.truss is None and place.get("on") == "drawing":
        raise Refused("place-on-no-drawing", "asks", f"{at}.question.place")
    if place.get("on") == "drawing" and "level" in place:
        raise Refused("drawing-has-no-level", "asks", f"{at}.question.place.level")


def refuse_both(wish: Wish, other: Wish, at: str, at_other: str) -> None:
    """Questions may stand beside whatever else is asked."""


def answer(case: Case) -> Answered:
    """Nothing is computed: it waits for a designer's words."""
    return Answered([Answer(None, [coded("question-waits")]) for _ in case.wishes])


def lacks(document: Document, wishes: Iterable[Wish]) -> str:
    return ""


def turned(wanted: Document, over: Over) -> Document:
    place = wanted.get("place", {})
    return {**wanted, "place": {**place, "x_in": over.x(place["x_in"])}} if place.get("on") == "drawing" else wanted
