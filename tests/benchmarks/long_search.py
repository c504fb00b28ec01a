"""A search with wide limits, for measuring the ordinary one by: minutes rather than a second."""

from __future__ import annotations

from dataclasses import replace

from trusses.analysis.analysis import PASSES, analyse_many
from trusses.analysis.clearance.openings import fits
from trusses.analysis.format.document import DocumentError, read
from trusses.analysis.format.model import Opening, Truss
from trusses.analysis.frame.solve import Mechanism
from trusses.analysis.loads import arrangements, attic
from trusses.analysis.lumber import LUMBER, lookup
from trusses.analysis.redesign.changes import measure
from trusses.analysis.redesign.draft import Draft, Illegal
from trusses.analysis.redesign.moves import Reach, layouts
from trusses.analysis.redesign.search import Limits, search, written

WIDE = Limits(
    states=600,
    layouts=150,
    analyses=500,
    rounds=6,
    follow=40,
    enough=10**6,
    offered=1000,
    reach=Reach(each=40, beside=3, places=30),
)


def long_search(truss: Truss, opening: Opening, seconds: float) -> list[tuple[int, float]]:
    """Members touched and board feet of each redesign that passes; empty where there seems to be none."""
    found = search(truss, [opening], limits=replace(WIDE, seconds=seconds))
    out = [(len(one.change.touched), one.change.board_feet) for one in found if one.passes]
    return out or _as_strong_as_can_be(truss, opening)


def _as_strong_as_can_be(truss: Truss, opening: Opening) -> list[tuple[int, float]]:
    """Each layout with the best lumber of its size, up to three plies, two rows more on each web, the chords held."""
    start = Draft(truss.document)
    start.set_openings([written(opening)])
    room, out = attic.lacking(truss), []
    for layout in layouts(start, [opening], WIDE.layouts, WIDE.states, reach=WIDE.reach):
        for plies in (1, 2, 3):
            draft = layout.draft.copy()
            for name, member in draft.members.items():
                draft.set_lumber(name, _best(member["lumber"]))
            for web in draft.webs() if not any(m.get("flat") for m in draft.members.values()) else ():
                draft.rows[web] = draft.rows.get(web, 0) + 2
            draft.restraint |= {"bottom_chord_in": 24.0}
            draft.set_plies(max(plies, draft.plies))
            try:
                document = draft.document()
                if arrangements.missing(read(document)):
                    document = arrangements.arrange(document)
                changed = read(document)
                if windows := attic.opened(changed, room):
                    changed = read(attic.with_storage(document, windows))
            except (Illegal, DocumentError):
                break
            analysis = analyse_many([changed])[0]
            if not isinstance(analysis, Mechanism) and analysis.worst_ratio <= PASSES:
                if all(one.fits for one in fits(changed)):
                    change = measure(truss.document, changed.document, layout.notes)
                    out.append((len(change.touched), change.board_feet))
                break
    return out


def _best(key: str) -> str:
    now = lookup(key)
    same = [one for one in LUMBER.values() if (one.species, one.size) == (now.species, now.size)]
    return max(same, key=lambda one: (one.fb + one.fc + one.ft, one.e)).key
