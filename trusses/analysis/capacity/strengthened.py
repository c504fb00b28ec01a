"""A weight on a truss answered: as it is, and made stronger where that isn't enough.

Ways to start from: the truss as it is; a panel point or two under the weight with a web or two; the chord a size
deeper; a cross-beam that hands the weight to more trusses, each of which then takes less.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from trusses.analysis.analysis import Analysis, analyse
from trusses.analysis.capacity.placing import CapacityError, Placement, along, written
from trusses.analysis.capacity.sharing import Rule, shares
from trusses.analysis.capacity.uplift import fails_without, held_down_without
from trusses.analysis.checks.surroundings import NOTHING_SAID, Surroundings
from trusses.analysis.format.document import read
from trusses.analysis.format.model import Truss
from trusses.analysis.lumber import LUMBER, lookup
from trusses.analysis.made_stronger import Start, Strengthened, candidate, made_stronger, upright
from trusses.analysis.redesign.building import USUAL, Building
from trusses.analysis.redesign.draft import Draft
from trusses.analysis.redesign.layouts import Note
from trusses.analysis.redesign.strengthen import run
from trusses.analysis.words.phrases import coded

#: So many trusses in all does a cross-beam hand a weight to, where fewer share it today.
CROSS_BEAM = (3, 5)


@dataclass(frozen=True, slots=True)
class Weight:
    """`pounds` of it in all, dead load unless said otherwise, even from `low_in` to `high_in` across the trusses that
    stand at `places_in` and share it by `rule`. `handed_on`: a cross-beam may hand it to more of them."""

    pounds: float
    placement: Placement
    places_in: tuple[float, ...] = (0.0,)
    low_in: float = 0.0
    high_in: float = 0.0
    rule: Rule = "one"
    case: str = "dead"
    note: str = ""
    handed_on: bool = True

    @property
    def shares_lb(self) -> tuple[float, ...]:
        """What each truss takes. Raises CapacityError."""
        return tuple(self.pounds * each for each in shares(self.rule, self.places_in, self.low_in, self.high_in))

    @property
    def most_lb(self) -> float:
        """The largest share: every truss that carries any of it is drawn for that, so that they stay one design."""
        return max(self.shares_lb)


@dataclass(frozen=True)
class Taken:
    """`as_it_is` is today's truss with its largest share of each weight on it, `shares_lb`; `ways` are empty where that
    passes, with the weights and without."""

    shares_lb: tuple[float, ...]
    as_it_is: Analysis
    ways: tuple[Strengthened, ...]


def taken(
    truss: Truss,
    weights: Sequence[Weight],
    surroundings: Surroundings = NOTHING_SAID,
    building: Building = USUAL,
) -> Taken:
    """What becomes of several weights at once. Raises CapacityError, Mechanism, and DocumentError where the truss can't
    hold the load at all."""
    loaded = bearing_all(truss, weights)
    shares_lb = tuple(weight.most_lb for weight in weights)
    as_it_is = analyse(loaded, surroundings)
    alone = candidate(truss, loaded, as_it_is, building)
    if as_it_is.passes:
        judged = _without_too(alone, truss, surroundings)
        return Taken(shares_lb, as_it_is, () if judged is alone else (judged,))
    found = made_stronger(truss, list(_starts(truss, loaded, weights, building)), surroundings, building) or [alone]
    return Taken(shares_lb, as_it_is, tuple(_without_too(each, truss, surroundings) for each in found))


def _without_too(way: Strengthened, today: Truss, surroundings: Surroundings) -> Strengthened:
    """It passes only where it does so with the weights and without; `bars` says so of its strength too where nothing
    but a deflection fails with them."""
    failing = {check.rule for check in way.analysis.checks if not check.passes}
    fails = fails_without(read(way.document), today, surroundings, failing)
    return way if fails is None else replace(way, passes=False, told=(fails, *way.told), bars=(fails,))


def bearing_all(truss: Truss, weights: Sequence[Weight]) -> Truss:
    """The truss with its largest share of each of some weights on it: for one that carries the most of one and less of
    another that is more than it carries. Raises CapacityError, DocumentError."""
    return _bearing(truss, [(weight, weight.most_lb) for weight in weights])


def _bearing(truss: Truss, shares: Sequence[tuple[Weight, float]]) -> Truss:
    """The truss with so many pounds of each weight on it, none of which is counted on to hold it down."""
    bare = truss
    for weight, pounds in shares:
        truss = read(written(truss, weight.placement, pounds, weight.case, weight.note))
    return held_down_without(bare, truss)


def _starts(truss: Truss, loaded: Truss, weights: Sequence[Weight], building: Building) -> Iterator[Start]:
    draft, today = Draft(loaded.document), Draft(truss.document)
    yield Start(draft)
    for weight in weights:
        for propped, note in _propped([(draft, None)], today, weight.placement):
            yield Start(propped, (note,))
    if len(weights) > 1:
        for propped, note in _propped([(draft, None)], today, *(weight.placement for weight in weights)):
            yield Start(propped, (note,))
    for weight in weights:
        yield from _deeper(draft, truss, weight.placement, building)
    if len(weights) == 1 and weights[0].handed_on:
        yield from _on_a_cross_beam(truss, weights[0])


def _on_a_cross_beam(truss: Truss, weight: Weight) -> Iterator[Start]:
    """With the weight handed to more trusses. Of several weights each would need its own: not looked for."""
    for trusses in CROSS_BEAM:
        if trusses <= len(weight.places_in):
            continue
        try:
            (middle,) = {round(each, 9) for each in shares("stiff", range(trusses), trusses // 2, trusses // 2)}
        except CapacityError:  # pragma: no cover - a weight in the middle lifts none
            continue
        share = weight.pounds * middle
        lighter = _bearing(truss, [(weight, share)]).document
        values = {"trusses": trusses, "share_lb": share}
        yield Start(Draft(lighter), (Note("cross-beam", (), values),), (coded("cross-beam-told", **values),))


def _propped(
    starts: Sequence[tuple[Draft, Note | None]], today: Draft, *placements: Placement
) -> Iterator[tuple[Draft, Note]]:
    """With a panel point under each of the weights' points, or under the middle of a line."""
    made: list[tuple[Draft, Note | None]] = list(starts)
    for placement in placements:
        for x in placement.ends if placement.shape == "pair" and placement.length_in else (placement.at_in,):
            further: list[tuple[Draft, Note | None]] = [
                (propped, _both(before, note))
                for draft, before in made
                for propped, note in upright(draft, today, placement.chord, round(x, 3))
            ]
            made = further[:8]
    yield from ((draft, note) for draft, note in made if note is not None)


def _both(one: Note | None, two: Note) -> Note:
    """One step that says both."""
    if one is None:
        return two
    webs = (*one.webs, *two.webs)
    return Note(two.kind, webs, {**two.values, "webs": webs})


def _deeper(draft: Draft, truss: Truss, placement: Placement, building: Building) -> Iterator[Start]:
    """With the piece under the weight a size deeper about its centerline, of the same grade, of what is stocked."""
    under = next((m for m, low, high in along(truss, placement.chord) if low <= placement.at_in <= high), None)
    if under is None or under.flat or under.id not in draft.members:
        return
    now = lookup(under.lumber)
    wider = [
        each
        for each in LUMBER.values()
        if (each.species, each.grade, each.thickness_in) == (now.species, now.grade, now.thickness_in)
        and each.width_in > now.width_in
        and building.stocks(each.key)
    ]
    if not wider:
        return
    next_size = min(wider, key=lambda each: each.width_in)
    deeper = draft.copy()
    for name in run(deeper, under.id):
        deeper.set_lumber(name, next_size.key)
    by = (next_size.width_in - now.width_in) / 2
    yield Start(deeper, (), (coded("chord-deeper", role=placement.chord, by_in=by),))
