"""Rows of restraint across the trusses of a job as they stand in plan: where they run, and whom a change touches."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from trusses.analysis.analysis_document import read_back
from trusses.analysis.format.model import Opening
from trusses.analysis.format.model import Truss as Design
from trusses.analysis.requirements.restraint_rows import Broken, Standing, alone, broken, changed, runs, told
from trusses.analysis.requirements.row_along import along
from trusses.analysis.requirements.web_restraint import RESTRAINT_SHARE, web_rows
from trusses.analysis.words.phrases import as_counted, listed
from trusses.designs import design_of, turned_design
from trusses.models import Job, Revision, Truss
from trusses.plan.beside import stood_on, stood_with


@dataclass(frozen=True)
class Cut:
    """A row that a change cuts off for trusses that keep their design. `row_lb` is what one row there has to hold by
    common practice, a share of the web's largest compression, `compression_lb`; None where it isn't in compression."""

    broken: Broken
    compression_lb: float | None
    row_lb: float | None

    @property
    def web(self) -> str:
        return self.broken.web

    @property
    def trusses(self) -> list[str]:
        return [one.name for one in self.broken.trusses]

    @property
    def says(self) -> str:
        return f"{self.plainly}{_note(self.row_lb)}"

    @property
    def plainly(self) -> str:
        """Without the note on where the share comes from, which is for engineers."""
        return f"{self.broken.says} {_instead(self.web, self.compression_lb, self.row_lb)}"


@dataclass(frozen=True)
class Lonely:
    """A row of the changed design that no neighbour has: it holds nothing."""

    web: str
    standing: tuple[Standing, ...]
    compression_lb: float | None
    row_lb: float | None

    @property
    def trusses(self) -> list[str]:
        return [one.name for one in self.standing]

    @property
    def says(self) -> str:
        return f"{self.plainly}{_note(self.row_lb)}"

    @property
    def plainly(self) -> str:
        what = f"The row on {self.web} of {told(self.standing)} has no like web beside it to run to"
        return f"{what}: reinforce the web singly. {_instead(self.web, self.compression_lb, self.row_lb)}"


@dataclass(frozen=True)
class Touched:
    """What an option does to the rows of restraint: those that it cuts off for others, its own that run nowhere, and
    in words on which edge of the webs rows run on from now."""

    cut: tuple[Cut, ...] = ()
    lonely: tuple[Lonely, ...] = ()
    edges: tuple[str, ...] = ()

    def __bool__(self) -> bool:
        return bool(self.cut or self.lonely or self.edges)

    @property
    def trusses(self) -> list[str]:
        """The trusses that keep their design and are touched all the same, each once."""
        return list(dict.fromkeys(name for cut in self.cut for name in cut.trusses))


def _instead(web: str, compression_lb: float | None, row_lb: float | None) -> str:
    if not compression_lb or not row_lb:
        return (
            f"A web reinforced singly takes the row's place; how is the truss designer's to say. {web} isn't pressed."
        )
    return (
        f"A web reinforced singly takes the row's place; how is the truss designer's to say. {web} is pressed by up to"
        f" {compression_lb:,.0f} lb, and a row there holds {RESTRAINT_SHARE:.0%} of that, {row_lb:,.0f} lb."
    )


def _note(row_lb: float | None) -> str:
    return f" The {RESTRAINT_SHARE:.0%} are common practice, no source seen." if row_lb else ""


def touched(truss: Truss, document: Mapping[str, Any], analysis: Mapping[str, Any] | None) -> Touched:
    """What another document of a mark does to the rows that its copies share with others, once the copies that aren't
    cut yet take it. `analysis` is that document's; without it there are no forces to tell."""
    if not any(_has_rows(one) for one in (truss.current.document, document)):
        return Touched()
    pressed = _pressed(design_of(document), analysis) if analysis else {}
    found: list[tuple[Broken, list[int]]] = []
    lonely: list[Lonely] = []
    edges: dict[str, None] = {}
    for stood in stood_with(truss):
        line = [one.standing for one in stood]
        goes = {i: one.standing for i, one in enumerate(stood) if one.truss == truss.pk and one.changes}
        changes = {i: turned_design(document) if one.turned else design_of(document) for i, one in goes.items()}
        by = {one.standing: one.revision for one in stood}
        found += [(one, [by[it] for it in one.trusses]) for one in broken(line, changes)]
        were = {(web, one.name) for web, those in alone(line, changes).items() for one in those}
        for web, those in alone(changed(line, changes), changes).items():
            if new := tuple(one for one in those if (web, one.name) not in were):
                lonely.append(Lonely(web, new, *pressed.get(web, (None, None))))
        after, were_told = changed(line, changes), {one.says() for one in along(line)}
        mine = {after[i] for i in changes}
        theirs = [row for row in along(after) if mine & row.webs.keys() and row.says() not in were_told]
        edges |= dict.fromkeys(row.says(mine) for row in theirs)
    # their analyses are large, and only here are they needed
    every = {truss.current.pk: truss.current}
    every |= Revision.objects.in_bulk({pk for _, pks in found for pk in pks} - every.keys())
    cut = [Cut(one, *_holds([every[pk] for pk in pks], one.web)) for one, pks in found]
    return Touched(tuple(cut), tuple(lonely), tuple(edges))


def edges_with(job: Job, level: str, placed: Mapping[str, Opening]) -> list[str]:
    """On which edge the rows of a level run on once some trusses, by name, have an opening more, where they don't run
    so today; of rows that run through several trusses alone."""
    found: dict[str, None] = {}
    for stood in stood_on(job, level):
        line = [one.standing for one in stood]
        mine = {one: [placed[one.name]] for one in line if one.name in placed}
        if not mine or not any(one.truss.lateral_restraint.webs for one in mine):
            continue
        today = {one.says() for one in along(line)}
        then = [one for one in along(line, mine) if mine.keys() & one.webs.keys() and one.says() not in today]
        found |= dict.fromkeys(one.says(mine.keys()) for one in then)
    return list(found)


def notes(truss: Truss, revision: Revision) -> list[str]:
    """Where the rows of a revision run through the trusses as they stand today, a sentence for each run, of all webs
    that go the same way, and on which edge where the trusses differ in that; only of copies that are or will be built
    to it."""
    if not _has_rows(revision.document):
        return []
    through: dict[str, list[str]] = {}
    alone_at: dict[str, None] = {}
    edges: dict[str, None] = {}
    for stood in stood_with(truss):
        mine = {one.standing for one in stood if one.truss == truss.pk and one.revision == revision.pk}
        line = [one.standing for one in stood]
        edges |= dict.fromkeys(one.says(mine) for one in along(line) if mine & one.webs.keys())
        for run in runs(line):
            crossed = tuple(dict.fromkeys(standing for standing, _ in run))
            for web in {place.web: None for standing, place in run if standing in mine}:
                if len(crossed) > 1:
                    webs = through.setdefault(f"through {told(crossed)}, {len(crossed)} trusses", [])
                    webs += [] if web in webs else [web]
                else:
                    alone_says = "no truss beside it has a like web, so that a row there holds nothing"
                    alone_at[f"{web} of {told(crossed)}: {alone_says}; the designer has to say what holds it."] = None
    run_on = [
        f"{listed(sorted(webs, key=as_counted))}: {'the row runs' if len(webs) == 1 else 'each row runs'} {where}."
        for where, webs in through.items()
    ]
    return [*run_on, *edges, *alone_at]


def _has_rows(document: Mapping[str, Any]) -> bool:
    return any(document.get("lateral_restraint", {}).get("webs", {}).values())


def _pressed(design: Design, analysis: Mapping[str, Any]) -> dict[str, tuple[float, float]]:
    """For each web in compression how hard, and what a row there holds, pounds."""
    return {row.web: (row.compression_lb, row.row_lb) for row in web_rows(read_back(design, analysis))}


def _holds(revisions: Iterable[Revision], web: str) -> tuple[float | None, float | None]:
    """The most of these revisions."""
    each = {one.pk: one for one in revisions}.values()
    found = [_pressed(design_of(one.document), one.analysis).get(web) for one in each]
    return max((pair for pair in found if pair), default=(None, None))
