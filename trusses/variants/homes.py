"""Where copies go that get another design: a revision of their mark, a new variant, or a mark of the family that has
such a design already.

Nothing is written here: the worker asks for each option, the page for what is chosen, the decision for what it issues.
"""

from __future__ import annotations

import hashlib
import itertools
import string
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Literal

from django.db.models import Q
from django.db.models.fields.json import KT

from trusses.analysis.alike import alike, alike_turned, middle_in
from trusses.analysis.format.document import canonical, sha256
from trusses.bearings.links import to_carriers
from trusses.job.surroundings import of_marks, stands_on
from trusses.models import Copy, Submission, Truss

Document = dict[str, Any]
Goes = Literal["revise", "split", "join"]


@dataclass(frozen=True)
class Wanted:
    """Another design for some copies of a mark, with its analysis; None where it can't be analysed."""

    truss: Truss
    copies: tuple[int, ...]
    document: Document
    analysis: Document | None


@dataclass(frozen=True)
class Home:
    """Where these copies go. `revise`: they stay, and their mark gets a revision; `split`: they become the new mark
    `mark`; `join`: they become copies of `to`, whose design they get.

    `wanted` is the design; `also` are others that are alike, which come with it. Of `copies`, those in `turned` are
    turned end for end for it. `stays`: which copies the mark that they leave keeps in the end.
    """

    wanted: Wanted
    goes: Goes
    mark: str
    copies: tuple[int, ...]
    turned: frozenset[int] = frozenset()
    to: Truss | None = None
    stays: tuple[int, ...] = ()
    also: tuple[Wanted, ...] = ()

    @property
    def truss(self) -> Truss:
        """The mark that they were of."""
        return self.wanted.truss

    @property
    def document(self) -> Document:
        """The design that the copies get, by the name that they get."""
        if self.to is not None:
            return self.to.current.document
        return self.wanted.document if self.goes == "revise" else renamed(self.wanted.document, self.mark)

    @property
    def analysis(self) -> Document | None:
        if self.to is not None:
            return self.to.current.analysis
        if self.goes == "revise" or self.wanted.analysis is None:
            return self.wanted.analysis
        return analysis_of(self.wanted.analysis, self.document)

    @property
    def told(self) -> dict[str, Any]:
        """What happens to the copies, as an event of the verb `goes` tells it."""
        told = {"copies": list(self.copies), "stays": list(self.stays), "turned": sorted(self.turned)}
        return {"mark": self.truss.mark, "variant": self.mark, **told}

    @property
    def about_in(self) -> dict[str, float]:
        """About which x of its drawing each copy of `turned` is turned, by its number: the middle between the outer
        bearings of what was wanted for it."""
        own = {number: one.document for one in (self.wanted, *self.also) for number in one.copies}
        return {str(number): middle_in(own[number]) for number in sorted(self.turned)}

    @property
    def same(self) -> tuple[Any, ...]:
        """What makes it the same home another time."""
        return self.goes, self.mark, self.truss.pk, self.copies, self.turned


def as_shown(there: Iterable[Home]) -> str:
    """Where copies go and what each becomes, as whoever decides on it is shown it: SHA-256 of the mark, the design, and
    which are turned."""
    told = [
        [home.goes, home.mark, home.truss.pk, list(home.copies), sorted(home.turned), sha256(home.document)]
        for home in there
    ]
    return hashlib.sha256(canonical({"homes": sorted(told, key=str)})).hexdigest()


def renamed(document: Document, mark: str) -> Document:
    return {**document, "mark": mark}


def analysis_of(analysis: Document, document: Document) -> Document:
    """The analysis of the same truss under another mark."""
    mark = document["mark"]
    checks = [{**check, "id": mark} if check["of"] == "truss" else check for check in analysis["checks"]]
    return {**analysis, "mark": mark, "truss_sha256": sha256(document), "checks": checks}


def root(truss: Truss) -> int:
    return truss.variant_of_id or truss.pk


def family(trusses: Iterable[Truss]) -> dict[int, list[Truss]]:
    """{root: it and its variants, those without copies too}, with their current revisions."""
    roots = {root(truss) for truss in trusses}
    rows = Truss.objects.filter(Q(pk__in=roots) | Q(variant_of__in=roots), current__isnull=False)
    found: dict[int, list[Truss]] = {}
    for one in rows.select_related("current", "job").order_by("pk"):
        found.setdefault(root(one), []).append(one)
    return found


def free_mark(truss: Truss, taken: Collection[str]) -> str:
    """The next free name of a variant: the first mark's with -b, -c … -z, -ba …, cut where it would be too long."""
    first = truss.variant_of.mark if truss.variant_of else truss.mark
    longest = Truss._meta.get_field("mark").max_length or 0
    letters = (
        "".join(word)
        for length in itertools.count(1)
        for word in itertools.product(string.ascii_lowercase, repeat=length)
        if length > 1 or word[0] != "a"
    )
    names = (f"{first[: longest - len(end) - 1]}-{end}" for end in letters)
    return next(name for name in names if name not in taken)


def marks_taken(job: int) -> set[str]:
    """Every name in a job, also of what waits to be computed."""
    waits = Submission.objects.filter(job=job, kind=Submission.Kind.NEW_MARK, truss=None, trouble__isnull=True)
    marks = Truss.objects.filter(job=job).order_by().values_list("mark", flat=True)
    return set(marks.union(waits.order_by().values_list(KT("document__mark"), flat=True)))


@dataclass
class _Group:
    """Designs for copies of one mark that are one: the first serves for all."""

    wanted: Wanted
    copies: dict[int, bool]
    also: list[Wanted]

    @property
    def turned(self) -> frozenset[int]:
        return frozenset(number for number, turned in self.copies.items() if turned)


def homes(wanted: Sequence[Wanted]) -> list[Home]:
    """Where each goes; asked all together, since two that are alike go to one mark.

    A mark stays with the copies that nothing is wanted for, and with those that are cut. Where none is left, the
    largest group stays and its mark is revised.
    """
    if not wanted:
        return []
    families = family(one.truss for one in wanted)
    members = {each.pk: each for those in families.values() for each in those}
    numbers: dict[int, set[int]] = {pk: set() for pk in members}
    for pk, number in Copy.objects.filter(truss__in=members).values_list("truss", "number"):
        numbers[pk].add(number)
    carriers = _stands_on(members)
    stays_put = _stay_put(members.values(), carriers)
    groups = _groups(wanted, stays_put)
    joins = [_joins(group, families[root(group.wanted.truss)], carriers, stays_put, groups) for group in groups]
    taken = marks_taken(wanted[0].truss.job_id)
    found = []
    for i, (group, join) in enumerate(zip(groups, joins, strict=True)):
        truss = group.wanted.truss
        leave = {n for j, other in enumerate(groups) if other.wanted.truss.pk == truss.pk for n in other.copies}
        told: dict[str, Any] = {"copies": tuple(sorted(group.copies)), "also": tuple(group.also)}
        kept = numbers[truss.pk] - leave
        stays = None if kept else _stays(groups, joins, truss)
        told["stays"] = tuple(sorted(kept | set(groups[stays].copies if stays is not None else ())))
        if join is not None:
            to, over = join
            turned = frozenset(n for n, one in group.copies.items() if one != over)
            found.append(Home(group.wanted, "join", to.mark, turned=turned, to=to, **told))
        elif stays == i:
            found.append(Home(group.wanted, "revise", truss.mark, turned=group.turned, **told))
        else:
            mark = free_mark(truss, taken)
            taken.add(mark)
            found.append(Home(group.wanted, "split", mark, turned=group.turned, **told))
    return found


def joins_alone(wanted: Sequence[Wanted]) -> list[Truss | None]:
    """The mark of the family that each would join if nothing else were wanted; None where it joins none."""
    families = family(one.truss for one in wanted)
    members = {each.pk: each for those in families.values() for each in those}
    carriers = _stands_on(members)
    stays_put = _stay_put(members.values(), carriers)
    found = []
    for one in wanted:
        group = _Group(one, dict.fromkeys(one.copies, False), [])
        join = _joins(group, families[root(one.truss)], carriers, stays_put, [group])
        found.append(join[0] if join else None)
    return found


def _groups(wanted: Sequence[Wanted], stays_put: Collection[int]) -> list[_Group]:
    """What is wanted, with what is alike for copies of one mark put together. What is in `stays_put` isn't turned."""
    found: list[_Group] = []
    for one in wanted:
        for group in found:
            first, turns = group.wanted, one.truss.pk not in stays_put
            if first.truss.pk != one.truss.pk:
                continue
            if alike(first.document, one.document):
                group.copies |= dict.fromkeys(one.copies, False)
            elif turns and alike_turned(first.document, one.document):
                group.copies |= dict.fromkeys(one.copies, True)
            elif alike(one.document, first.document):
                group.copies |= dict.fromkeys(one.copies, False)
                group.wanted, one = one, first
            else:
                continue
            group.also.append(one)
            break
        else:
            found.append(_Group(one, dict.fromkeys(one.copies, False), []))
    return found


def _stays(groups: Sequence[_Group], joins: Sequence[Any], truss: Truss) -> int | None:
    """Which group stays with a mark that all of its copies would leave otherwise: the largest that joins no other."""
    mine = [i for i, group in enumerate(groups) if group.wanted.truss.pk == truss.pk and joins[i] is None]
    return max(mine, key=lambda i: (len(groups[i].copies), -min(groups[i].copies, default=0)), default=None)


def _joins(
    group: _Group,
    kin: Sequence[Truss],
    carriers: Mapping[int, frozenset[tuple[str, int]]],
    stays_put: Collection[int],
    groups: Sequence[_Group],
) -> tuple[Truss, bool] | None:
    """The other mark of the family whose design serves these copies, and whether they are turned for it. Its own
    drawing counts from then on, so it must hold what was wanted; a mark that is changed itself just now is no home."""
    own = group.wanted.truss
    changed = {other.wanted.truss.pk for other in groups}
    for truss in kin:
        if truss.pk in changed or carriers[truss.pk] != carriers[own.pk]:
            continue
        wanted = renamed(group.wanted.document, truss.mark)
        if alike(truss.current.document, wanted):
            return truss, False
        if own.pk not in stays_put and alike_turned(truss.current.document, wanted):
            return truss, True
    return None


def _stay_put(members: Iterable[Truss], carriers: Mapping[int, frozenset[tuple[str, int]]]) -> set[int]:
    """The marks that aren't turned end for end. Which end of what stands on another mark stands there is said of the
    mark, and so is which plate a bearing presses on; and what carries others would carry them at other places."""
    those = list(members)
    carrying = {carrier for _, _, _, carrier, _ in to_carriers({truss.job_id for truss in those})}
    plates = of_marks(those)
    on_two = {one.pk for one in those if len({plates[one.pk].wall_plates.get(j) for j in _bearings(one)}) > 1}
    return {pk for pk, on in carriers.items() if on} | carrying | on_two


def _bearings(truss: Truss) -> list[str]:
    return [bearing["joint"] for bearing in truss.current.document["bearings"]]


def _stands_on(members: Mapping[int, Truss]) -> dict[int, frozenset[tuple[str, int]]]:
    """The carriers under each mark, by joint."""
    return {
        pk: frozenset((link.joint, link.carrier_id) for link in links if link.carrier_id)
        for pk, links in stands_on(members).items()
    }
