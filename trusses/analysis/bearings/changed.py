"""Other bearings answered: the truss on them as it is, on the way there, and made stronger where that isn't enough.

In between, when a wall comes out before another stands (`gone`) or both stand for a while (`both`), the truss carries
all that it was drawn for in every one of these states or is to be shored: so each is a whole analysis.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from trusses.analysis.analysis import Analysis, analyse
from trusses.analysis.bearings.edits import BearingError, Document, added, moved, taken_away
from trusses.analysis.checks.check import Check
from trusses.analysis.checks.stack import SERVICEABILITY
from trusses.analysis.checks.surroundings import NOTHING_SAID, Surroundings
from trusses.analysis.format.document import read
from trusses.analysis.format.model import Truss
from trusses.analysis.frame.mechanism import Mechanism
from trusses.analysis.made_stronger import Start, Strengthened, candidate, made_stronger, upright
from trusses.analysis.redesign.building import USUAL, Building
from trusses.analysis.redesign.draft import Draft
from trusses.analysis.redesign.layouts import Note

#: Uplift below this is none, lb.
_LIFTS_LB = 0.5


@dataclass(frozen=True)
class State:
    """The truss as it is today on the bearings of one moment: `moves` where it can move freely, else its `worst` check
    of strength, stability or bearing, None where nothing is loaded, and the bearings that it lifts off, pounds."""

    name: str
    moves: Mechanism | None = None
    worst: Check | None = None
    passes: bool = False
    lifted_lb: tuple[tuple[str, float], ...] = ()


@dataclass(frozen=True)
class Changed:
    """`as_it_is` is today's truss on the bearings that are wanted, or why it can't stand there; `between` what it does
    on the way there; `ways` are empty where it passes as it is."""

    as_it_is: Analysis | Mechanism
    between: tuple[State, ...]
    ways: tuple[Strengthened, ...]

    @property
    def fits(self) -> bool:
        return isinstance(self.as_it_is, Analysis) and self.as_it_is.passes


def move(
    truss: Truss, joint: str, to_in: float, surroundings: Surroundings = NOTHING_SAID, building: Building = USUAL
) -> Changed:
    """A bearing moved along its chord. Raises BearingError."""
    wanted = moved(truss, joint, to_in)
    now = next(bearing for bearing in truss.bearings if bearing.joint == joint)
    states = [
        state("gone", _or_none(truss, joint), surroundings),
        state("both", _both(truss, to_in, now.width_in), surroundings),
    ]
    note = Note("bearing-moved", (), {"from_in": truss.joint(joint).x, "to_in": to_in})
    return _changed(truss, wanted, note, [each for each in states if each], surroundings, building)


def add(
    truss: Truss, at_in: float, width_in: float, surroundings: Surroundings = NOTHING_SAID, building: Building = USUAL
) -> Changed:
    """One more bearing under the bottom chord. Raises BearingError."""
    note = Note("bearing-added", (), {"at_in": at_in})
    return _changed(truss, added(truss, at_in, width_in), note, [], surroundings, building)


def take_away(
    truss: Truss, joint: str, surroundings: Surroundings = NOTHING_SAID, building: Building = USUAL
) -> Changed:
    """A bearing less: what today's truss does without it is what happens when the wall goes first. Raises
    BearingError."""
    wanted = taken_away(truss, joint)
    gone = state("gone", wanted, surroundings)
    note = Note("bearing-gone", (), {"at_in": truss.joint(joint).x})
    return _changed(truss, wanted, note, [gone] if gone else [], surroundings, building)


def on(
    truss: Truss, document: Document, note: Note, surroundings: Surroundings = NOTHING_SAID, building: Building = USUAL
) -> Changed:
    """The truss on the bearings of a document that `edits` made of it, such as its as-measured walls."""
    return _changed(truss, document, note, [], surroundings, building)


def state(name: str, document: Document | None, surroundings: Surroundings = NOTHING_SAID) -> State | None:
    """Today's truss on the bearings of `document`; None where there is none."""
    if document is None:
        return None
    truss = read(document)
    try:
        analysis = analyse(truss, surroundings)
    except Mechanism as moves:
        return State(name, moves=moves)
    checks = [check for check in analysis.checks if check.rule not in SERVICEABILITY]
    least = analysis.results.combined.reactions[:, :, 1].min(axis=0).tolist()
    lifted = tuple((each.joint, -up) for each, up in zip(truss.bearings, least, strict=True) if up < -_LIFTS_LB)
    return State(
        name,
        worst=max(checks, key=lambda check: check.ratio, default=None),
        passes=all(check.passes for check in checks),
        lifted_lb=lifted,
    )


def _changed(
    truss: Truss,
    wanted: Document,
    note: Note,
    between: Sequence[State],
    surroundings: Surroundings,
    building: Building,
) -> Changed:
    now: Analysis | Mechanism
    on_it = read(wanted)
    try:
        now = analyse(on_it, surroundings)
    except Mechanism as moves:
        now = moves
    else:
        if now.passes:
            return Changed(now, tuple(between), ())
    found = made_stronger(truss, list(_starts(truss, wanted, note)), surroundings, building)
    if not found and isinstance(now, Analysis):
        found = [candidate(truss, on_it, now, building, [note])]
    return Changed(now, tuple(between), tuple(found))


def _starts(truss: Truss, wanted: Document, note: Note) -> Iterator[Start]:
    """The truss on its bearings, and with a web or two from each that stands between panel points."""
    draft, today = Draft(wanted), Draft(truss.document)
    yield Start(draft, (note,))
    for joint in sorted(draft.bearings - today.bearings):
        role = draft.chord_of(joint)
        if role is not None and not draft.webs_at(joint):
            for propped, post in upright(draft, today, role, draft.at(joint)[0]):
                yield Start(propped, (note, post))


def _or_none(truss: Truss, joint: str) -> Document | None:
    return taken_away(truss, joint) if len(truss.bearings) > 1 else None


def _both(truss: Truss, at_in: float, width_in: float) -> Document | None:
    """With the old bearing and the new one; None where both are one wall."""
    try:
        return added(truss, at_in, width_in)
    except BearingError:
        return None
