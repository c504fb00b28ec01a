"""Every way to let something through between the trusses of a row, each analysed: as they stand, it moved, a truss or
two shifted, one left out, or one left out with headers between doubled trusses.

Every truss whose width changes is analysed with the loads of the width that it then carries, and made stronger where it
doesn't pass; one design of these is shown to hold on all (`one_design`). How far apart trusses may stand for what is
nailed across them is told by whoever knows its sheathing: nothing here knows.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import pairwise

from trusses.analysis.analysis import Analysis, analyse
from trusses.analysis.checks.surroundings import NOTHING_SAID, Surroundings
from trusses.analysis.format.document import read
from trusses.analysis.format.model import Truss
from trusses.analysis.made_stronger import Start, Strengthened, made_stronger
from trusses.analysis.passages.headers import Header, handed_on, headers
from trusses.analysis.passages.one_design import CopyUnder, OneDesign, one_design
from trusses.analysis.passages.row import Document, Passage, Row, check_between, for_width
from trusses.analysis.redesign.building import USUAL, Building
from trusses.analysis.redesign.draft import Draft

#: Trusses stand at least this far apart, centerline to centerline, so that somebody can get between them, inches.
LEAST_APART_IN = 6.0
_SAME_IN = 1e-6
_FASTENED = "nailed, to be designed"


@dataclass(frozen=True)
class Way:
    """`kind` is "as-it-is", "moved", "shifted", "left-out" or "headers". `row` is how the trusses stand then;
    `moved_in` by how much each copy that is shifted goes, up the row positive; `passage_in` how far the passage itself
    moves. `one` is the design that all copies which it changes then have."""

    kind: str
    row: Row
    copies: tuple[CopyUnder, ...] = ()
    one: OneDesign | None = None
    moved_in: Mapping[int, float] = field(default_factory=dict)
    left_out: tuple[int, ...] = ()
    headers: tuple[Header, ...] = ()
    passage_in: float = 0.0
    most_gap_in: float = 0.0

    @property
    def widest_in(self) -> float:
        return max(self.row.gaps_in)

    @property
    def sheathing_spans(self) -> bool:
        """Whether what is nailed across spans the widest gap; across one with tails and headers it needn't."""
        return self.kind == "headers" or self.widest_in <= self.most_gap_in + _SAME_IN

    @property
    def passes(self) -> bool:
        whole = self.one is None or self.one.passes
        return whole and all(each.passes for each in self.headers) and self.sheathing_spans


def ways(
    truss: Truss,
    row: Row,
    passage: Passage,
    most_gap_in: float,
    surroundings: Surroundings = NOTHING_SAID,
    building: Building = USUAL,
) -> list[Way]:
    """Every way, each kind once or a few times: what passes first, then what changes least. `truss` is the
    design of every copy of the row. Raises PassageError, Mechanism."""
    check_between(truss, row, passage)
    met = row.in_the_way(passage)
    if not met:
        return [Way("as-it-is", row, most_gap_in=most_gap_in)]
    work = _Work(truss, row, most_gap_in, surroundings, building)
    found = [*_moved(row, passage, most_gap_in)]
    found += [work.way("shifted", shifted) for shifted in _shifted(row, passage, met)]
    if len(met) == 1 and 0 < met[0] < len(row.numbers) - 1 and _clear_without(row, met[0], passage):
        found += [work.way("left-out", row.without(met[0])), work.with_headers(met[0], passage)]
    return sorted(found, key=_change)


_ORDER = ("as-it-is", "moved", "shifted", "left-out", "headers")


def _change(way: Way) -> tuple[object, ...]:
    """For sorting: what passes first, then the fewest trusses made stronger, drawn anew or moved."""
    stronger = sum(each.candidate is not None for each in way.copies)
    return not way.passes, stronger, len(way.copies) + len(way.moved_in), _ORDER.index(way.kind)


@dataclass
class _Work:
    truss: Truss
    row: Row
    most_gap_in: float
    surroundings: Surroundings
    building: Building
    known: dict[tuple[float, float], tuple[Analysis, Strengthened | None]] = field(default_factory=dict)

    def way(self, kind: str, then: Row) -> Way:
        """The trusses of the row standing as in `then`: each that carries another width is analysed."""
        copies = []
        for i, number in enumerate(then.numbers):
            tributary, widest = then.tributary_in(i, self.row), then.widest_in(i)
            was = self.row.numbers.index(number)
            same = abs(tributary - self.row.tributary_in(was)) <= _SAME_IN
            if not (same and abs(widest - self.row.widest_in(was)) <= _SAME_IN):
                copies.append(CopyUnder(number, tributary, *self._for(tributary, widest)))
        moved = self._moved_in(then)
        gone = tuple(number for number in self.row.numbers if number not in then.numbers)
        one = one_design(copies, self._stronger, self.surroundings)
        return Way(kind, then, tuple(copies), one, moved, gone, most_gap_in=self.most_gap_in)

    def with_headers(self, i: int, passage: Passage) -> Way:
        """One truss left out, tails and headers in its line, the trusses beside it doubled."""
        then = self.row.without(i)
        length = self.row.places_in[i + 1] - self.row.places_in[i - 1] - self.row.thick_in
        made = [
            header
            for chord in passage.chords
            for header in headers(self.truss, chord, passage.along, length, building=self.building)
        ]
        copies = []
        for side, k in ((0, i - 1), (1, i)):
            doubled = for_width(self.truss.document, self.row.tributary_in(k + side), self.row.widest_in(k + side))
            doubled["plies"] = 2 * self.truss.plies
            doubled.setdefault("ply_fastening", _FASTENED)
            document = handed_on(doubled, made, side)
            copies.append(CopyUnder(then.numbers[k], self.row.tributary_in(k + side), *self._strong(document)))
        one, gone = one_design(copies, self._stronger, self.surroundings), (self.row.numbers[i],)
        return Way("headers", then, tuple(copies), one, {}, gone, tuple(made), most_gap_in=self.most_gap_in)

    def _for(self, tributary: float, widest: float) -> tuple[Analysis, Strengthened | None]:
        key = round(tributary, 6), round(widest, 6)
        if key not in self.known:
            self.known[key] = self._strong(for_width(self.truss.document, tributary, widest))
        return self.known[key]

    def _strong(self, document: Document) -> tuple[Analysis, Strengthened | None]:
        analysis = analyse(read(document), self.surroundings)
        if analysis.passes:
            return analysis, None
        return analysis, self._stronger(analysis.truss)

    def _stronger(self, truss: Truss) -> Strengthened | None:
        found = made_stronger(self.truss, [Start(Draft(truss.document))], self.surroundings, self.building)
        return next((one for one in found if one.passes), None)

    def _moved_in(self, then: Row) -> dict[int, float]:
        were = dict(zip(self.row.numbers, self.row.places_in, strict=True))
        steps = {number: place - were[number] for number, place in zip(then.numbers, then.places_in, strict=True)}
        return {number: by for number, by in steps.items() if abs(by) > _SAME_IN}


def _moved(row: Row, passage: Passage, most_gap_in: float) -> Iterator[Way]:
    """The passage moved into the bay nearest to where it was wanted, where one is wide enough."""
    low, high = passage.across
    half, size = row.thick_in / 2, high - low
    steps = []
    for a, b in pairwise(row.places_in):
        if b - a - row.thick_in >= size - _SAME_IN:
            least, most = a + half + size / 2, b - half - size / 2
            steps.append(min(max(passage.across_in, least), most) - passage.across_in)
    if steps:
        yield Way("moved", row, passage_in=min(steps, key=abs), most_gap_in=most_gap_in)


def _shifted(row: Row, passage: Passage, met: Sequence[int]) -> Iterator[Row]:
    """The trusses in the way shifted to either side of it; at most one goes each way, past no other truss."""
    low, high = (edge + by for edge, by in zip(passage.across, (-row.thick_in / 2, row.thick_in / 2), strict=True))
    for down in range(len(met) + 1):
        if down > 1 or len(met) - down > 1:
            continue
        places = list(row.places_in)
        for k, i in enumerate(met):
            places[i] = low if k < down else high
        # an end truss is a gable on a wall of its own, and stays
        fixed = places[0] == row.places_in[0] and places[-1] == row.places_in[-1]
        if fixed and all(b - a >= LEAST_APART_IN - _SAME_IN for a, b in pairwise(places)):
            yield row.with_places(places)


def _clear_without(row: Row, i: int, passage: Passage) -> bool:
    return not row.without(i).in_the_way(passage)
