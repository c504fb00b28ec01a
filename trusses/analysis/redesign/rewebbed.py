"""Layouts in which the webs beside an opening stand another way: moved, turned, taken out, braced anew, or framing it.

`ways` finds them; here each becomes a draft whose webs and panel points keep the names of those that they come
from, so that what is moved is told as moved. Inches.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import combinations, pairwise
from typing import Any

from trusses.analysis.format.model import Opening
from trusses.analysis.redesign.building import Building
from trusses.analysis.redesign.draft import Draft, Illegal
from trusses.analysis.redesign.layouts import Layout, Note, blocked
from trusses.analysis.redesign.places import PLACES, Place
from trusses.analysis.redesign.splices import elsewhere, splice
from trusses.analysis.redesign.strip import Strip, strip
from trusses.analysis.redesign.ways import Way, Window

Frame = tuple[tuple[Place, Place], tuple[Place, Place]]
#: So many webs on either side of those in the way may be moved as well.
BESIDE = 2


def rewebbed(
    layout: Layout,
    openings: Sequence[Opening],
    building: Building,
    most: int = 60,
    each: int = 24,
    beside: int = BESIDE,
    places: int = PLACES,
    focus: Opening | None = None,
) -> Iterator[Layout]:
    """Layouts in which every opening is clear of webs, the least change first; webs move beside `focus`, if given."""
    wanted = [focus] if focus else list(openings)
    for start in _without_beams(layout, wanted):
        found = strip(start.draft)
        if found is None:
            continue
        span = _span(found, start, wanted, beside)
        if span is None:
            continue
        window = Window(found, *span, openings, building, places, wanted)
        for way in window.ways(most, each):
            made = _made(start, found, way, building)
            if made is not None:
                yield made


def _without_beams(layout: Layout, openings: Sequence[Opening]) -> Iterator[Layout]:
    """The layout, without those webs in the way that join two panel points of one chord."""
    draft = layout.draft
    beams = [
        name
        for _, name, _ in blocked(draft, openings)
        if draft.role(name) == "web" and len({draft.chord_of(joint) for joint in draft.members[name]["joints"]}) == 1
    ]
    if not beams:
        yield layout
        return
    out = draft.copy()
    try:
        for name in dict.fromkeys(beams):
            out.take_out(name)
    except Illegal:
        return
    for name in dict.fromkeys(beams):
        layout = layout.then(out, Note("out", (name,), {"webs": (name,)}))
    yield layout


def _span(found: Strip, layout: Layout, openings: Sequence[Opening], beside: int) -> tuple[int, int] | None:
    """The numbers of the two webs between which the webs in the way stand, and some beside them."""
    draft = layout.draft
    hit = {name for _, name, _ in blocked(draft, openings)}
    number = {web.name: i for i, web in enumerate(found.whole) if web.name}
    inside = [number[name] for name in hit if name in number]
    if hit - number.keys():
        return None
    if not inside:
        # what stood in the way is out already: the webs on either side
        middle = sum(opening.centre[0] for opening in openings) / len(openings)
        xs = [sum(draft.at(joint)[0] for joint in (web.top, web.bottom)) / 2 for web in found.whole]
        inside = [min(range(len(xs)), key=lambda i: abs(xs[i] - middle))]
    first, last = max(min(inside) - 1 - beside, 0), min(max(inside) + 1 + beside, len(found.whole) - 1)
    return (first, last) if first < last else None


def _made(start: Layout, found: Strip, way: Way, building: Building) -> Layout | None:
    before = start.draft
    if not all(before.movable(name) for name in way.gone):
        return None
    draft = before.copy()
    old = {name: dict(draft.members.pop(name)) for name in way.gone}
    draft.forget()
    try:
        names: dict[Place, str] = {}
        for side, role in enumerate(("top_chord", "bottom_chord")):
            names |= _points(draft, role, [pair[side] for pair in way.webs], found)
        kept = {frozenset(draft.members[name]["joints"]) for name in draft.webs()}
        pairs = [(names[top], names[bottom]) for top, bottom in way.webs]
        wanted = [pair for pair in pairs if frozenset(pair) not in kept]
        used = _reused(old, wanted)
        for pair, name in used:
            if name is None:
                continue
            first, second = old[name]["joints"]
            ends = list(pair) if first == pair[0] or second == pair[1] else [pair[1], pair[0]]
            draft.put_web(old[name] | {"joints": ends})
        added = [draft.add_web(*pair, like=next(iter(draft.members))) for pair, name in used if name is None]
        like = next(iter(old.values()), None) or before.members[before.webs()[0]]
        for name in added:
            draft.members[name] |= {key: value for key, value in like.items() if key in ("lumber", "flat")}
        out = [name for name in old if name not in draft.members]
        for name in out:
            draft.rows.pop(name, None)
        left = {joint for name in old for joint in old[name]["joints"]} & draft.joints.keys()
        spliced = _respliced(draft, sorted(left), building)
        for joint in left:
            draft.tidy(joint)
    except Illegal:
        return None
    notes = _notes(before, draft, [name for _, name in used if name], added, out)
    if way.frame:
        notes = _framed(notes, way.frame)
    notes += spliced
    touched = start.touched | set(old) | set(added)
    return Layout(draft, (*start.notes, *notes), touched, start.settled)


def _respliced(draft: Draft, joints: Sequence[str], building: Building) -> list[Note]:
    """Moves the splices that are left without a web to other panel points. Raises Illegal where one can't be."""
    notes = []
    for joint in joints:
        if joint in draft.hinges and not draft.webs_at(joint) and draft.straight_through(joint):
            places = elsewhere(draft, joint, set(), building.longest_piece_in)
            if not places:
                raise Illegal(f"the splice at joint {joint} has nowhere to go")
            draft.move_splice(joint, places[0])
            notes.append(Note("splice", (), splice(draft, joint, places[0])))
    return notes


def _framed(notes: list[Note], frame: Frame) -> list[Note]:
    """The steps where a panel is left open."""
    left, right = frame
    width = (right[0].x + right[1].x - left[0].x - left[1].x) / 2
    return [*notes, Note("open", (), {"width_in": width})]


def _points(draft: Draft, role: str, places: Sequence[Place], found: Strip) -> dict[Place, str]:
    """The joint of each place: one that is there, one that slides to it, or a new one."""
    names = {place: place.joint for place in places if place.joint}
    new = sorted({place for place in places if not place.joint}, key=lambda place: place.x)
    stays = set(names.values())
    chain = found.top if role == "top_chord" else found.bottom
    free = [j for j in chain if j not in stays and not draft.webs_at(j) and draft.straight_through(j)]
    held = [draft.at(joint)[0] for joint in chain if joint not in free]
    for left, right in pairwise(held):
        there = [place for place in new if left < place.x < right]
        loose = [joint for joint in free if left < draft.at(joint)[0] < right]
        for joint, place in _paired(draft, loose, there):
            draft.joints[joint] = [place.x, round(place.y, 6)]
            names[place] = joint
    for place in new:
        if place not in names:
            names[place] = draft.split(role, place.x)
    return {place: str(name) for place, name in names.items()}


def _paired(draft: Draft, joints: Sequence[str], places: Sequence[Place]) -> list[tuple[str, Place]]:
    """Panel points that are free with new places between the same neighbours, so that the least is moved."""
    count = min(len(joints), len(places))
    ways = (
        list(zip(some, those, strict=True))
        for some in combinations(joints, count)
        for those in combinations(places, count)
    )
    spliced = {joint for joint in joints if joint in draft.hinges}

    def worth(pairs: list[tuple[str, Place]]) -> tuple[int, float]:
        return len(spliced - {joint for joint, _ in pairs}), sum(abs(draft.at(j)[0] - place.x) for j, place in pairs)

    return min(ways, key=worth, default=[])


def _reused(old: dict[str, Any], wanted: Sequence[tuple[str, str]]) -> list[tuple[tuple[str, str], str | None]]:
    """Each wanted web with the one of the old that it comes from: that of the same ends, of one of them, any other."""
    left, out = dict(old), {}
    for alike in (2, 1, 0):
        for pair in wanted:
            if pair in out:
                continue
            name = next((n for n, member in left.items() if len(set(pair) & set(member["joints"])) == alike), None)
            if name is not None:
                del left[name]
                out[pair] = name
    return [(pair, out.get(pair)) for pair in wanted]


def _notes(before: Draft, after: Draft, reused: Sequence[str], added: Sequence[str], out: Sequence[str]) -> list[Note]:
    """The steps from one draft to the other, webs that go first."""
    notes = [Note("out", tuple(out), {"webs": tuple(out)})] if out else []
    slid: dict[str, list[str]] = {}
    for name in reused:
        old, new = before.members[name]["joints"], after.members[name]["joints"]
        for joint in set(old) & set(new):
            if before.at(joint) != after.at(joint):
                slid.setdefault(joint, []).append(name)
        gone = [joint for joint in old if joint not in new]
        came = [joint for joint in new if joint not in old]
        if len(came) == 2:
            notes.append(Note("swap", (name,), {"web": name, "joints": tuple(sorted(new, key=after.at))}))
        elif came:
            notes.append(_one_end(before, after, name, gone[0], came[0]))
    for joint, webs in slid.items():
        values = {
            "end": end(after, joint),
            "webs": tuple(webs),
            **shift(before, before.at(joint)[0], after.at(joint)[0]),
        }
        notes.append(Note("slide", tuple(webs), values))
    for name in added:
        joints = tuple(sorted(after.members[name]["joints"], key=after.at))
        notes.append(Note("brace", (name,), {"web": name, "joints": joints}))
    return notes


def _one_end(before: Draft, after: Draft, web: str, old: str, new: str) -> Note:
    if new in before.joints and before.at(new) == after.at(new):
        return Note("aim", (web,), {"end": end(after, new), "web": web, "joint": new})
    return Note(
        "point", (web,), {"end": end(after, new), "web": web, **shift(before, before.at(old)[0], after.at(new)[0])}
    )


def end(draft: Draft, joint: str) -> str:
    return "head" if draft.chord_of(joint) == "top_chord" else "foot"


def shift(draft: Draft, x: float, to: float) -> dict[str, Any]:
    """How far, and which way: toward the nearer bearing, or toward the middle of the span."""
    bearings = [draft.at(joint)[0] for joint in draft.bearings]
    middle = (min(bearings) + max(bearings)) / 2
    away = (to > x) == (x > middle) if abs(x - middle) > 1e-6 else True
    side = "left" if to < middle else "right"
    return {"shift_in": abs(to - x), "toward": side if away else "middle"}
