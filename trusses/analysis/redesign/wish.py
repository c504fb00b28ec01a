"""What a truss document's own openings ask for: they are the wish, and the document without them is today's truss."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from trusses.analysis.analysis import analyse
from trusses.analysis.checks.surroundings import NOTHING_SAID, Surroundings
from trusses.analysis.clearance.openings import Fit, fit, nearest, space
from trusses.analysis.format.model import Opening, Truss
from trusses.analysis.loads.arrangements import missing
from trusses.analysis.redesign.search import LIMITS, Candidate, Limits, NoOptions, search
from trusses.analysis.words import wish as words
from trusses.analysis.words.phrases import Coded, coded, tell

NEVER, NONE_PASS = "never", "none pass"


@dataclass(frozen=True)
class Nothing:
    """Why a wish has no option that passes: it would cut a chord or leave the truss ("never"), or "none pass". `near`
    is the nearest place where the first opening that stands in the way would fit in today's truss; None: nowhere."""

    verdict: str
    told: tuple[Coded, ...]
    near: dict[str, Any] | None

    @property
    def says(self) -> str:
        return tell(words.NONE, self.told)


@dataclass(frozen=True)
class Granted:
    """The options for a wish, those that pass first, and why there is none that passes."""

    options: tuple[Candidate, ...] = ()
    none: Nothing | None = None

    @property
    def passes(self) -> bool:
        return any(option.passes for option in self.options)


def granted(truss: Truss, limits: Limits = LIMITS, surroundings: Surroundings = NOTHING_SAID) -> Granted:
    """The options for the openings that stand in the truss's document. Where all fit as they are, that is one: today's
    truss, whether or not it passes. Raises Mechanism and LoadError where today's truss can't be analysed."""
    analyse(truss, surroundings)
    room = space(truss)
    met = [(opening, fit(room, opening)) for opening in truss.openings]
    blocked = [(opening, answer) for opening, answer in met if not answer.fits]
    never = [(opening, answer) for opening, answer in blocked if answer.never]
    if never:
        return Granted(none=_nothing(truss, NEVER, never, []))
    if blocked and (lacking := missing(truss)):
        return Granted(none=_nothing(truss, NONE_PASS, blocked, [coded("arrangements-first", lacking=list(lacking))]))
    try:
        offered = tuple(search(truss, (), limits=limits, surroundings=surroundings))
    except NoOptions as refused:
        return Granted(none=_nothing(truss, NONE_PASS, blocked, [coded("not-searched", why=refused.coded)]))
    options = Granted(offered)
    if not blocked or options.passes:
        return options
    return Granted(none=_nothing(truss, NONE_PASS, blocked, [coded("stops", why=list(offered[-1].told))]))


def _nothing(truss: Truss, verdict: str, blocked: list[tuple[Opening, Fit]], why: list[Coded]) -> Nothing:
    opening, _ = blocked[0]
    near = nearest(truss, opening)
    place = coded("fits-nowhere", opening=opening.id)
    if near is not None:
        right_in, up_in = (near.centre_in[i] - opening.centre[i] for i in (0, 1))
        place = coded("fits-moved", opening=opening.id, right_in=right_in, up_in=up_in)
    told = [coded("asked", opening=each.id, fit=found.told) for each, found in blocked]
    beside: dict[str, Any] | None = None
    if near is not None:
        beside = {"opening": opening.id, "centre_in": list(near.centre_in), "moved_in": near.moved_in}
    return Nothing(verdict, (*told, *why, place), beside)
