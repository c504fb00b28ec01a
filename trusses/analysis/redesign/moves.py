"""Layouts of webs that keep the openings clear: a search over single steps, the least change first.

A step takes the web that is worst in the way and slides the panel point at one of its ends along its chord, aims one
or both ends elsewhere, takes it out, or frames the opening as a panel with upright webs beside it. Chords keep their
lines, bearings their places. Inches.
"""

from __future__ import annotations

import heapq
import math
import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import count

import numpy as np
from numpy.typing import NDArray

from trusses.analysis.format.model import Opening
from trusses.analysis.redesign.building import USUAL, Building, keeps_off
from trusses.analysis.redesign.draft import Draft
from trusses.analysis.redesign.layouts import Layout, Note, blocked, buildable, crossings
from trusses.analysis.redesign.panels import framed
from trusses.analysis.redesign.places import PLACES
from trusses.analysis.redesign.rewebbed import BESIDE, rewebbed
from trusses.analysis.redesign.single_steps import Overlaps, single_steps
from trusses.analysis.redesign.splices import clear_of_splices, within_stock

Floats = NDArray[np.float64]
_STEPS = 5


@dataclass(frozen=True, slots=True)
class Reach:
    """How widely webs are placed anew: ways followed from each pair of places, webs beside those in the way, places on
    each chord."""

    each: int = 16
    beside: int = BESIDE
    places: int = PLACES


NEAR = Reach()


def layouts(
    start: Draft,
    openings: Sequence[Opening],
    most: int,
    most_states: int,
    until: float = math.inf,
    building: Building = USUAL,
    reach: Reach = NEAR,
    promising: Callable[[Sequence[Layout]], list[Layout]] = list,
) -> list[Layout]:
    """Up to `most` layouts in which every opening is clear and that can be built, the least change first.

    Of several openings each is cleared after the other, going on from a few layouts: those that `promising` puts first.
    `until` is when to stop looking, on the clock of time.monotonic.
    """
    found, clear = [Layout(start)], [opening for opening in openings if not blocked(start, [opening])]
    waiting = [opening for opening in openings if opening not in clear]
    search = Looking(start, crossings(start), building, reach, most_states, until)
    # one opening after the other: each has its own few layouts, and trying all of them together would have to try all
    for i, opening in enumerate(waiting, 1):
        clear.append(opening)
        last = i == len(waiting)
        wanted = most if last else _LOOKED_AT
        each = max(most // len(found), _ON_THE_WAY)
        if len(waiting) > 1:
            search = replace(search, reach=Reach(min(reach.each, 8), reach.beside, min(reach.places, 18)))
        unlike: dict[object, Layout] = {}
        for family, share in FAMILIES:
            looking = search
            if family is stepped and len(unlike) >= wanted // 4:
                # a single step is what anybody tries first, and not always a way through the strip
                looking, share = replace(search, states=min(search.states, _SINGLE)), _SINGLE_SHARE
            those = {one.key: one for before in found for one in family(before, clear, opening, looking, each)}
            best = sorted(those.values(), key=lambda one: one.cost)[: math.ceil(share * wanted)]
            unlike |= {one.key: one for one in best if one.key not in unlike}
        found = sorted(unlike.values(), key=lambda one: one.cost)[:wanted]
        if not last:
            found = _few(found, promising(found))
    return found if waiting else []


def _few(cheapest: Sequence[Layout], promising: Sequence[Layout]) -> list[Layout]:
    """The layouts to go on from: that which changes least, and those that promise most."""
    return list({one.key: one for one in (*cheapest[:1], *promising)}.values())[:_ON_THE_WAY]


@dataclass(frozen=True)
class Looking:
    """What every family of moves looks by: today's draft and which of its webs cross, limits of building, how widely
    and how long to look."""

    start: Draft
    crossed: frozenset[frozenset[str]]
    building: Building
    reach: Reach
    states: int
    until: float

    def good(self, layout: Layout, openings: Sequence[Opening]) -> list[Layout]:
        """The layout, where it is clear and can be built; with no splice in a panel that it leaves open."""
        draft = layout.draft
        if blocked(draft, openings) or not buildable(draft, self.start, self.crossed):
            return []
        if not keeps_off(draft, self.start, openings, self.building):
            return []
        whole = _whole(layout, self.start) if layout.has_panel else [layout]
        return [one for one in whole if within_stock(one.draft, self.start, self.building.longest_piece_in)]


def anew(layout: Layout, openings: Sequence[Opening], opening: Opening, search: Looking, most: int) -> Iterator[Layout]:
    """Webs placed anew beside the opening."""
    reach = search.reach
    for found in rewebbed(
        layout, openings, search.building, most, reach.each, reach.beside, reach.places, focus=opening
    ):
        if time.monotonic() > search.until:
            return
        yield from search.good(found, openings)


def panelled(
    layout: Layout, openings: Sequence[Opening], opening: Opening, search: Looking, most: int
) -> Iterator[Layout]:
    """The opening framed by two verticals."""
    for _, web, _ in blocked(layout.draft, [opening])[:1]:
        if layout.draft.movable(web) and time.monotonic() <= search.until:
            for found in framed(layout, web, opening, search.building):
                yield from search.good(found, openings)


def stepped(
    layout: Layout, openings: Sequence[Opening], opening: Opening, search: Looking, most: int
) -> Iterator[Layout]:
    """Single steps one after the other: for trusses that are no strip, and where little was found."""
    found = _cleared([layout], search, openings, most)
    for one in found:
        yield from search.good(one, openings)


#: The families of moves: (a layout, the openings to be clear, the one in question, ...) -> layouts.
#: each with its share of what is wanted.
FAMILIES = ((anew, 0.85), (panelled, 0.15), (stepped, 0.5))
#: So many states are looked at for single steps where webs could be placed anew, and how many of these are kept.
_SINGLE, _SINGLE_SHARE = 24, 0.2
#: So many layouts that clear some of several openings are gone on from, and so many of each at least; of so many.
_ON_THE_WAY, _LOOKED_AT = 4, 24


def _cleared(starts: Sequence[Layout], search: Looking, openings: Sequence[Opening], most: int) -> list[Layout]:
    """Layouts with all of `openings` clear, found by steps from `starts`."""
    start, crossed = search.start, search.crossed
    order = count()
    seen = {layout.key for layout in starts}
    waiting: list[tuple[tuple[float, ...], int, Layout, Overlaps]] = []

    def wait(layout: Layout) -> None:
        overlaps = blocked(layout.draft, openings)
        # each web still in the way will be touched as well: what is nearly done comes before what has hardly begun
        left = {web for _, web, _ in overlaps} - layout.touched
        changes, inches = layout.cost
        heapq.heappush(waiting, ((changes + len(left), len(overlaps), inches), next(order), layout, overlaps))

    for layout in starts:
        wait(layout)
    most_steps = _STEPS + max((len(layout.notes) for layout in starts), default=0)
    plain: list[Layout] = []
    panelled: list[Layout] = []
    for _ in range(search.states):
        if not waiting or len(plain) + len(panelled) >= most or time.monotonic() > search.until:
            break
        _, _, layout, overlaps = heapq.heappop(waiting)
        if not overlaps:
            into = panelled if layout.has_panel else plain
            if len(into) < most // 2 and buildable(layout.draft, start, crossed):
                into += _whole(layout, start)
            continue
        if len(layout.notes) >= most_steps:
            continue
        for following in single_steps(layout, overlaps, openings, search.building):
            if following.key not in seen:
                seen.add(following.key)
                wait(following)
    return [*sorted(plain, key=lambda one: one.cost), *panelled]


def _whole(layout: Layout, start: Draft) -> list[Layout]:
    """The layout with no splice in a panel that it leaves open: none where a splice has nowhere else to go."""
    found = clear_of_splices(layout.draft, start)
    if found is None:
        return []
    draft, splices = found
    notes = tuple(Note("splice", (), moved) for moved in splices)
    return [Layout(draft, (*layout.notes, *notes), layout.touched, layout.settled)]
