"""What to make stronger where a layout fails: better lumber, a larger web, a restraint row, one more web, one more ply.

Lumber goes up within its species. A chord and every flat piece keep their size, so that neither the outside shape nor
the openings change; a web on edge may grow. Which step suffices is only guessed here: each is computed again in full.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache

from trusses.analysis.checks import nds
from trusses.analysis.checks.check import Check
from trusses.analysis.checks.uprights import ON_CHORD
from trusses.analysis.format.model import CHORDS, Opening
from trusses.analysis.format.shared_wood import depth_of
from trusses.analysis.lumber import LUMBER, Lumber, Section, lookup, section
from trusses.analysis.redesign.building import USUAL, Building
from trusses.analysis.redesign.draft import Draft, Illegal
from trusses.analysis.redesign.layouts import Note, blocked, buildable, crossings, draft_clashes, faces

#: Which strengths a rule draws on.
_DRAWS_ON: Mapping[str, tuple[str, ...]] = {
    "tension": ("ft",),
    "bending": ("fb",),
    "bending and tension": ("ft", "fb"),
    "compression": ("fc", "e_min"),
    "compression and bending": ("fc", "fb", "e_min"),
    "shear": ("fv",),
    "slenderness": ("depth",),
    "bearing": ("fc_perp",),
    ON_CHORD: ("fc_perp",),
    # no lumber of the truss helps the plate below it; another ply does
    "bearing of the wall plate": (),
    "live deflection": ("e",),
    "total deflection": ("e",),
}
_ALL = ("ft", "fb", "fc")
#: What moves into a lumber's favour when its neighbours stay is not all of the ratio: aim a little lower than 1.
_AIM = 0.97
_MOST_ROWS = 2
_MOST_PLIES = 3
_LONG_PANEL_IN = 30.0
#: At what spacing a chord may be held instead, inches.
_SPACINGS_IN = (120.0, 96.0, 72.0, 48.0, 24.0)


@dataclass(frozen=True, slots=True)
class Stronger:
    """A draft made stronger; `kind` says which way was taken, `note` a new web where there is one."""

    kind: str
    draft: Draft
    note: Note | None = None


def stronger(
    draft: Draft, failing: Sequence[Check], openings: Sequence[Opening], building: Building = USUAL
) -> Iterator[Stronger]:
    """Ways to answer the failing checks, the usual one first."""
    lumber = draft.copy()
    if raise_lumber(lumber, failing, building, openings):
        yield Stronger("lumber", lumber)
    rows = draft.copy()
    held = add_rows(rows, failing) | hold_chords(rows, failing)
    if held:
        raise_lumber(rows, [check for check in failing if check.id not in held], building, openings)
        yield Stronger("rows", rows)
    yield from _propped(draft, failing, openings)
    if draft.plies < _MOST_PLIES:
        plies = draft.copy()
        plies.set_plies(draft.plies + 1)
        yield Stronger("plies", plies)


def raise_lumber(
    draft: Draft, failing: Iterable[Check], building: Building = USUAL, openings: Sequence[Opening] = ()
) -> bool:
    """Steps the lumber of what fails up, a whole chord piece at a time; whether anything could be stepped up. No web
    grows into an opening or into other wood."""
    pieces: dict[tuple[str, str, bool], set[tuple[str, ...]]] = {}
    needs: dict[tuple[str, str, bool], dict[str, float]] = {}
    runs = _Runs(draft)
    for check in failing:
        for piece in _pieces_of(draft, check, runs):
            first = draft.members[piece[0]]
            # pieces of one kind that fail go up together: a truss of five grades is nobody's option
            kind = (first["role"], first["lumber"], first.get("flat", False))
            pieces.setdefault(kind, set()).add(piece)
            need = needs.setdefault(kind, {})
            for strength in _DRAWS_ON.get(check.rule, _ALL):
                need[strength] = max(need.get(strength, 0.0), check.ratio / _AIM)
    changed = False
    for (role, lumber, flat), need in needs.items():
        members = [name for piece in sorted(pieces[role, lumber, flat]) for name in piece]
        for may_grow in (role == "web", False):
            key = better(lumber, flat, may_grow, tuple(sorted(need.items())), building.lumber)
            for member in members if key else ():
                draft.set_lumber(member, str(key))
            grown = key is not None and depth_of(key, flat) > depth_of(lumber, flat)
            if not grown or not (blocked(draft, openings) or draft_clashes(draft)):
                changed = changed or key is not None
                break
            for member in members:
                draft.set_lumber(member, lumber)
    return changed


def add_rows(draft: Draft, failing: Iterable[Check]) -> set[str]:
    """Adds a restraint row to each failing web that buckles out of the truss's plane first; which webs those are."""
    held: set[str] = set()
    buckling = [check.id for check in failing if check.rule in ("compression", "slenderness")]
    for name in dict.fromkeys(buckling):
        if draft.role(name) != "web" or draft.rows.get(name, 0) >= _MOST_ROWS:
            continue
        shape = _section(draft, name)
        if shape.breadth_in * (draft.rows.get(name, 0) + 1) < shape.depth_in:
            draft.rows[name] = draft.rows.get(name, 0) + 1
            held.add(name)
    return held


def hold_chords(draft: Draft, failing: Iterable[Check]) -> set[str]:
    """Holds a chord at a closer spacing where a member of it fails by buckling sideways; which members those are."""
    held: set[str] = set()
    wanted: dict[str, float] = {}
    for check in failing:
        lengths = [check.terms.get(f"le {way} plane") for way in ("in", "out of")]
        if check.of != "member" or draft.role(check.id) == "web" or not all(isinstance(le, float) for le in lengths):
            continue
        shape = _section(draft, check.id)
        in_plane, sideways = (float(le) for le in lengths if le is not None)
        if sideways / shape.breadth_in > in_plane / shape.depth_in:
            key = f"{draft.role(check.id)}_in"
            closer = [spacing for spacing in _SPACINGS_IN if spacing <= sideways / check.ratio]
            if closer and closer[0] < draft.restraint.get(key, math.inf):
                wanted[key] = min(wanted.get(key, math.inf), closer[0])
                held.add(check.id)
    draft.restraint |= wanted
    return held


def run(draft: Draft, member: str) -> tuple[str, ...]:
    """The members that are one piece of lumber with a chord member: straight on, no hinge, the same lumber."""
    found, waiting = {member}, [member]
    while waiting:
        name = waiting.pop()
        for joint in draft.members[name]["joints"]:
            through = draft.straight_through(joint)
            if through is None or joint in draft.hinges:
                continue
            other = through[1] if through[0] == name else through[0]
            same = all(draft.members[other].get(k) == draft.members[name].get(k) for k in ("lumber", "flat"))
            if same and other not in found:
                found.add(other)
                waiting.append(other)
    return tuple(name for name in draft.members if name in found)


@lru_cache(maxsize=4096)
def better(
    key: str, flat: bool, may_grow: bool, needs: tuple[tuple[str, float], ...], stock: frozenset[str] | None = None
) -> str | None:
    """The least lumber of the same species in `stock` with so many times the strengths of `key`; else the closest.

    None where the species has nothing better.
    """
    now = strengths(lookup(key), flat)
    choices = []
    for other in LUMBER.values():
        if stock is not None and other.key not in stock:
            continue
        if other.key == key or not replaces(lookup(key), other, flat, may_grow):
            continue
        then = strengths(other, flat)
        no_weaker = all(then[name] >= 0.999 * now[name] for name in now)
        if no_weaker and any(then[name] > 1.001 * now[name] for name, _ in needs):
            choices.append((other.width_in, sum(then[name] / now[name] for name in now), other.key, then))
    choices.sort(key=lambda choice: choice[:3])
    for _, _, name, then in choices:
        if all(then[strength] >= need * now[strength] for strength, need in needs):
            return name
    if not choices:
        return None
    # none is enough alone: the one that comes closest, and the next round may add something else
    return max(choices, key=lambda choice: min(choice[3][s] / now[s] / need for s, need in needs))[2]


def strengths(lumber: Lumber, flat: bool) -> dict[str, float]:
    """What one piece can take, each in the unit of its kind, with the factors that depend on its size alone."""
    shape = section(lumber, flat)
    size = nds.size_factor(lumber.rule, lumber.nominal[1], stud=lumber.grade == "Stud")
    return {
        "ft": lumber.ft * size.ft * shape.area,
        "fb": lumber.fb * size.fb * shape.modulus,
        "fc": lumber.fc * size.fc * shape.area,
        "fv": lumber.fv * shape.area,
        "fc_perp": lumber.fc_perp * shape.breadth_in,
        "e_min": lumber.e_min * min(shape.depth_in, shape.breadth_in) ** 2 * shape.area,
        "e": lumber.e * shape.area,
        "depth": shape.depth_in,
    }


def _section(draft: Draft, member: str) -> Section:
    piece = draft.members[member]
    return section(lookup(piece["lumber"]), piece.get("flat", False))


def replaces(now: Lumber, other: Lumber, flat: bool, may_grow: bool) -> bool:
    """Whether a piece may become the other lumber as far as species and sizes go."""
    if other.species != now.species or other.thickness_in != now.thickness_in:
        return False
    if flat or not may_grow:
        return other.width_in == now.width_in
    return now.width_in <= other.width_in <= 5.5


class _Runs:
    """The pieces of a draft's chords, each followed once however many checks ask for it."""

    def __init__(self, draft: Draft) -> None:
        self.draft = draft
        self._known: dict[str, tuple[str, ...]] = {}

    def of(self, member: str) -> tuple[str, ...]:
        if member not in self._known:
            piece = run(self.draft, member)
            self._known |= dict.fromkeys(piece, piece)
        return self._known[member]


def _pieces_of(draft: Draft, check: Check, runs: _Runs) -> Iterator[tuple[str, ...]]:
    """The pieces of lumber that a failing check asks more of, a chord's whole length each."""
    if check.rule == ON_CHORD:
        # what is pressed is the chord that the web stands on
        yield runs.of(str(check.terms["chord"]))
    elif check.of == "member":
        yield (check.id,) if draft.role(check.id) == "web" else runs.of(check.id)
    elif check.of == "bearing":
        chords = [name for name in draft.meeting(check.id) if draft.role(name) != "web"]
        low = [name for name in chords if draft.role(name) == "bottom_chord"] or chords
        yield from sorted({runs.of(name) for name in low})
    else:
        yield from sorted({runs.of(name) for name in draft.members if draft.role(name) in CHORDS})


def _propped(draft: Draft, failing: Sequence[Check], openings: Sequence[Opening]) -> Iterator[Stronger]:
    """One more web to the middle of the chord panel that fails worst, from a corner across the space that it closes."""
    chords = [check for check in failing if check.of == "member" and draft.role(check.id) != "web"]
    long = [check for check in chords if draft.length(check.id) >= _LONG_PANEL_IN]
    if not long:
        return
    name = max(long, key=lambda check: (check.ratio, check.id)).id
    like = next((web for web in draft.webs()), None)
    ends = set(draft.members[name]["joints"])
    face = next((corners for corners in faces(draft) if ends <= set(corners)), None)
    if like is None or face is None:
        return
    (ax, _), (bx, _) = draft.ends(name)
    for corner in face:
        if corner in ends or draft.chord_of(corner) == draft.role(name):
            continue
        for share in (0.5, 0.4, 0.6):
            found = _prop(draft, name, ax + share * (bx - ax), corner, like, openings)
            if found:
                yield found
                break


def _prop(draft: Draft, chord: str, x: float, corner: str, like: str, openings: Sequence[Opening]) -> Stronger | None:
    propped = draft.copy()
    try:
        web = propped.add_web(propped.split(draft.role(chord), round(x * 4) / 4), corner, like)
    except Illegal:
        return None
    if blocked(propped, openings) or not buildable(propped, draft, crossings(draft)):
        return None
    (lx, _), (rx, _) = sorted(draft.ends(chord))
    values = {"web": web, "panel_in": rx - lx, "role": draft.role(chord)}
    return Stronger("web", propped, Note("add", (web,), values))
