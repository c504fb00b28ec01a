"""What the kinds of ask beside an opening have alike: reading what is wanted, and answering with trusses that carry
it."""

from __future__ import annotations

import contextlib
from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Any

from changes import words
from changes.asks.answers import (
    DESIGNER_FIRST,
    Answer,
    Answered,
    Case,
    Found,
    described,
    redesigns_pass,
    stops,
)
from changes.asks.wishes import Document, Wish
from changes.models import Photo, Verdict
from changes.refusals import Refused
from trusses.analysis.format.fields import Fields
from trusses.analysis.format.model import Truss as Design
from trusses.analysis.format.strict import DocumentError, plain
from trusses.analysis.format.strict import place as named
from trusses.analysis.made_stronger import Strengthened
from trusses.analysis.words.phrases import Coded, coded
from trusses.analysis.words.refusal import Refusal
from trusses.models import Job
from trusses.pictures import MOST_AT_ONCE
from trusses.refusals import because

Path = tuple[str | int, ...]
MOST_PHOTOS = MOST_AT_ONCE


@contextlib.contextmanager
def refused_here(at: str) -> Iterator[None]:
    """What the core refuses within is refused as a part of the ask, at its own place or at `at`. Raises Refused."""
    try:
        yield
    except Refused:
        raise
    except Refusal as refused:
        where = refused.place if isinstance(refused, DocumentError) else at
        raise Refused("wish", "asks", where, why=because(refused, placed=False)) from refused


def fields_of(value: Any, path: Path, required: Sequence[str], optional: Sequence[str] = ()) -> Fields:
    """The object of an ask, as far as its keys go. Raises Refusal; to be called within `refused_here`."""
    return Fields(plain(value, path), named(path), required, optional)


def read_photos(job: Job, ids: Any, at: str, field: str = "asks") -> list[int]:
    """The photos that an ask shows, by number. Raises Refused for what is none of this job's."""
    if not isinstance(ids, Sequence) or isinstance(ids, (str, bytes)) or len(ids) > MOST_PHOTOS:
        raise Refused("photos-no-list", field, at, most=MOST_PHOTOS)
    if not all(isinstance(one, int) and not isinstance(one, bool) and 0 < one < 2**63 for one in ids):
        raise Refused("photos-no-list", field, at, most=MOST_PHOTOS)
    known = set(Photo.objects.filter(job=job, pk__in=ids).values_list("pk", flat=True))
    if set(ids) - known:
        raise Refused("no-such-photo", field, at)
    return list(dict.fromkeys(ids))


def refuse_second(wish: Wish, other: Wish, at: str, at_other: str) -> None:
    """Raises Refused where two asks of one kind are about some of the same copies: each is answered by itself, and the
    trusses that answer the one would not carry the other."""
    if wish.kind == other.kind and wish.meets(other):
        mark = wish.truss.mark if wish.truss else ""
        raise Refused("one-at-a-time", "asks", at, mark=mark, kind=wish.kind, other=at_other)


def found(case: Case, one: Strengthened, steps: Sequence[Coded] | None = None) -> Found:
    """An option of a truss that the core made, judged by what the set knows of it."""
    titled = list(one.steps if steps is None else steps)
    option = described(case.document, case.before, one.analysis, titled, list(one.told))
    return case.judge(replace(option, passes=option.passes and one.passes, bars=[*option.bars, *one.bars]))


def answered(told: list[Coded], options: Sequence[Found], figures: dict[str, Any]) -> Answered:
    """An ask that takes a redesign: what passes first, and in words how many do, or what stops the best."""
    options = sorted(options, key=lambda option: not option.passes)
    passing = [option for option in options if option.passes]
    if passing:
        told, verdict = [*told, redesigns_pass(passing)], Verdict.OPTIONS
    else:
        against = coded("none-passes", stops=stops(options[-1])) if options else coded("none-found")
        told, verdict = [*told, against], Verdict.NONE_PASS
    return Answered([Answer(verdict, told, figures=figures)], list(options))


def fits(told: list[Coded], option: Found, figures: dict[str, Any]) -> Answered:
    """An ask that today's truss meets as it is. What the set has against it comes first, then what more it puts on what
    is below."""
    below = [one for one in option.told if one["code"] == "more-below"]
    if not option.passes:
        return Answered([Answer(Verdict.UNSURE, [*stops(option), *below, *told], figures=figures)], [option])
    verdict = {"tie": Verdict.TIE, "more": Verdict.MORE}.get(words.below(option.told), Verdict.FITS)
    return Answered([Answer(verdict, [*below, *told], figures=figures)], [option])


def no_answer(why: Coded) -> Answered:
    return Answered([Answer(Verdict.NONE_PASS, [why, DESIGNER_FIRST])])


def xs_of(design: Design) -> tuple[float, float]:
    """Between which x the truss stands."""
    xs = [joint.x for joint in design.joints]
    return min(xs), max(xs)


def only(case: Case) -> Document:
    """What the one wish of a case wants."""
    (wish,) = case.wishes
    return wish.wish or {}
