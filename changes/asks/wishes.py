"""What every kind of ask is read into, and what all kinds read alike: the mark, and which of its copies."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from django.http import Http404

from changes.models import Ask
from changes.refusals import Refused
from trusses.analysis.format.document import canonical
from trusses.analysis.words.given import brief
from trusses.bearings.apart import carried_marks, why_whole
from trusses.models import Copy, Job, Revision, Truss
from trusses.refusals import because

Document = dict[str, Any]


@dataclass(frozen=True)
class Wish:
    """One wanted thing for some copies of one mark, as it was read. What concerns no mark has no truss and no copies.

    `opening` is as in the truss document, with an id that is free in this truss; `wish` holds what else is wanted.
    Wishes of one run share `run`, {"name", "wish", "as_cut"}, which is written down once. `revision` is what it is
    about where that isn't the mark's current one: copies as they were built.
    """

    kind: str
    truss: Truss | None = None
    copies: tuple[int, ...] = ()
    opening: Document | None = None
    wish: Document | None = None
    run: Document | None = None
    revision: Revision | None = None

    @property
    def what(self) -> tuple[int, str, bytes]:
        """What is asked, whatever it is called and for whichever copies."""
        geometry = {key: value for key, value in (self.opening or {}).items() if key not in ("id", "note")}
        rest = {} if self.wish is None else {"wish": self.wish}
        return self.truss.pk if self.truss else 0, self.kind, canonical({**geometry, **rest})

    def meets(self, other: Wish) -> bool:
        """Whether both are about some copy."""
        if self.truss is None or other.truss is None or self.truss.pk != other.truss.pk:
            return False
        return bool(set(self.copies) & set(other.copies))


_THERE_IN = 1.0
"""A bearing is the one that was meant within this of its place, inches: twice what makes two designs one."""


@dataclass(frozen=True)
class Over:
    """Where the places of a drawing are on the one that came for its copies when they were turned end for end."""

    flips: bool
    by_in: float
    before: Document
    after: Document

    def x(self, x_in: float) -> float:
        """Where on today's drawing is what was at an x of the one before."""
        return round(self.by_in + (-x_in if self.flips else x_in), 6)

    def bearing(self, joint: str) -> str:
        """What today's drawing calls the joint of a bearing; a name that it has for none where none is there any
        more."""
        xs = {one["joint"]: float(self.after["joints"][one["joint"]][0]) for one in self.after["bearings"]}
        was = self.before["joints"].get(joint)
        off = {now: abs(x - self.x(float(was[0]))) for now, x in xs.items()} if was else {}
        nearest = min(off, key=off.__getitem__, default="")
        return nearest if nearest and off[nearest] <= _THERE_IN else f"{joint} as it was before"


def wish_of(ask: Ask) -> Wish:
    """An ask that was written, as it was read."""
    run = {"name": ask.run.name, "wish": ask.run.wish, "as_cut": ask.run.as_cut} if ask.run else None
    return Wish(ask.kind, ask.truss, tuple(ask.copies), ask.opening, ask.wish, run)


def merged(wishes: Iterable[Wish]) -> list[Wish]:
    """Wishes that are asked again: what is the same for other copies is one again."""
    found: dict[tuple[int | None, str, bytes], Wish] = {}
    for wish in wishes:
        truss = wish.truss.pk if wish.truss else None
        key = truss, wish.kind, canonical({"opening": wish.opening, "wish": wish.wish})
        copies = found[key].copies if key in found else ()
        found[key] = replace(found.get(key, wish), copies=tuple(sorted({*copies, *wish.copies})))
    return list(found.values())


def read_truss(job: Job, ask: Mapping[str, Any], at: str) -> Truss:
    """The mark that an ask names. Raises Refused; Http404 for one that isn't this job's."""
    which = ask.get("truss")
    if isinstance(which, bool) or not isinstance(which, (int, Truss)):
        raise Refused("no-number-of-a-truss", "asks", f"{at}.truss", given=brief(which))
    pk = which.pk if isinstance(which, Truss) else which
    try:
        found = Truss.objects.filter(job=job, pk=pk).select_related("job", "current").defer("current__analysis").first()
    except OverflowError:
        found = None
    if found is None:
        raise Http404("Not found.")
    if found.current is None:
        raise Refused("without-a-revision", "asks", f"{at} ({found.mark})")
    return found


def read_copies(truss: Truss, ask: Mapping[str, Any], at: str, *, cut: bool = False) -> tuple[int, ...]:
    """The copies that an ask names, in order; left out: all that can still change. Raises Refused, by name for those
    that are cut or further, unless the kind may be asked of them too (`cut`)."""
    copies = {copy.number: copy for copy in Copy.objects.filter(truss=truss)}
    changeable = tuple(sorted(number for number, copy in copies.items() if cut or copy.can_change))
    named = ask.get("copies")
    if named is None:
        return changeable
    if isinstance(named, (str, bytes)) or not isinstance(named, Sequence) or not named:
        raise Refused("copies-no-list", "asks", f"{at}.copies", mark=truss.mark, given=brief(named))
    for number in named:
        if isinstance(number, bool) or not isinstance(number, int) or number not in copies:
            told = {"mark": truss.mark, "given": brief(number), "copies": sorted(copies)}
            raise Refused("no-such-copy", "asks", f"{at}.copies", **told)
    if over := sorted(set(named) - set(changeable)):
        raise Refused("copies-cut", "asks", f"{at} ({truss.mark})", mark=truss.mark, copies=over)
    if set(named) != set(copies):
        refuse_apart(truss, f"{at}.copies")
    return tuple(sorted(set(named)))


def refuse_apart(truss: Truss, place: str = "", field: str = "asks") -> None:
    """Raises Refused where some copies of a mark that carries others can't go from their fellows."""
    if trouble := why_whole(truss):
        told = {"mark": truss.mark, "standing": carried_marks(truss), "why": because(trouble)}
        raise Refused("carrier-apart", field, place or field, **told)


def refuse_what_is_over(truss: Truss, at: str) -> None:
    """Raises Refused where no copy can take an ordinary change any more."""
    if closed := truss.past_change:
        raise Refused("past-change", "asks", at, closed=closed)
