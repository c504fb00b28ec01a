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


def wish_of(ask: Ask) -> Wish:
    """An ask that was written, as it was read."""
    run = {"name": ask.run.name, "wish": ask.run.wish, "as_cut": ask.run.as_cut} if ask.run else None
    return Wish(ask.kind, ask.truss, tuple(ask.copies), ask.opening, ask.wish, run)


def wishes_of(asks: Iterable[Ask]) -> list[Wish]:
    """Asks that were written, as they were read, to be asked again: what is the same for other copies is one again."""
    found: dict[tuple[int | None, str, bytes], Wish] = {}
    for ask in asks:
        key = ask.truss_id, ask.kind, canonical({"opening": ask.opening, "wish": ask.wish})
        copies = found[key].copies if key in found else ()
        found[key] = replace(found.get(key) or wish_of(ask), copies=tuple(sorted({*copies, *ask.copies})))
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
