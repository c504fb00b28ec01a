"""Something hung or set on trusses: how it is read, what of it is refused, what they take of it.

`weight_lb` is all of it; the named copies share it by the rule that is stated. Every one of them is drawn for the
largest share, so that they stay one design.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from changes.asks.answers import Answered, Case, described, moves
from changes.asks.wanted import answered, fields_of, fits, found, no_answer, only, refuse_second, refused_here
from changes.asks.wishes import Document, Wish, read_copies, read_truss, refuse_what_is_over
from changes.models import Kind
from changes.refusals import Refused
from trusses.analysis.capacity.most import curve, most_lb
from trusses.analysis.capacity.placing import Placement, Shape, loaded
from trusses.analysis.capacity.sharing import RULES
from trusses.analysis.capacity.strengthened import CROSS_BEAM, Weight, taken
from trusses.analysis.format.document import DocumentError, read_stored
from trusses.analysis.format.document import read as read_document
from trusses.analysis.format.model import CHORDS
from trusses.analysis.format.model import Truss as Design
from trusses.analysis.format.strict import place as named
from trusses.analysis.frame.mechanism import Mechanism
from trusses.analysis.loads.arrangements import missing
from trusses.analysis.loads.windows import total_lb
from trusses.analysis.words.phrases import coded
from trusses.models import Job
from trusses.refusals import because

KEYS = ("truss", "copies", "load")
ANSWERED_AS = Kind.LOAD.value
DESIGNS = True

WHAT = ("air handler", "water heater, full", "tub, full", "stone", "panels", "hoist", "other")
SHAPES = ("point", "pair", "line", "area")
MOST_LB = 20_000.0
_REQUIRED = ("what", "weight_lb", "at_in")
_OPTIONAL = ("note", "chord", "shape", "length_in", "how", "shared", "off_in", "case")
#: So much of a weight may be missing from a drawn option, lb: what whole pounds leave.
_WITHIN_LB = 1.0


def read(job: Job, ask: Mapping[str, Any], path: tuple[str | int, ...], before: Sequence[Wish]) -> list[Wish]:
    """A weight on some copies of a mark. Raises Refused; Http404 for a mark that isn't this job's."""
    at = named(path)
    truss = read_truss(job, ask, at)
    refuse_what_is_over(truss, f"{at} ({truss.mark})")
    copies = read_copies(truss, ask, at)
    with refused_here(f"{at}.load"):
        fields = fields_of(ask.get("load"), (*path, "load"), _REQUIRED, _OPTIONAL)
        wanted = {
            "what": fields.choice("what", WHAT),
            "weight_lb": fields.number("weight_lb", "lb", most=MOST_LB),
            "at_in": fields.number("at_in", "in", most=fields.limits.length_in),
            "note": fields.text("note", "", longest=120),
            "chord": fields.choice("chord", CHORDS, "bottom_chord"),
            "shape": fields.choice("shape", SHAPES, "point"),
            "length_in": fields.length("length_in", zero=True, default=0.0),
            "how": fields.choice("how", ("hung", "set"), "hung"),
            "shared": fields.choice("shared", RULES, "one"),
            "off_in": fields.number("off_in", "in", most=fields.limits.length_in, default=0.0),
            "case": fields.choice("case", ("dead", "live"), "dead"),
        }
    return [Wish(Kind.LOAD.value, truss, copies, wish=wanted)]


def refuse(wish: Wish, at: str) -> None:
    """Raises Refused for a weight of nothing, one that has no place on the truss, or that no rule shares."""
    wanted = wish.wish or {}
    at = f"{at}.load"
    if wanted["weight_lb"] <= 0:
        raise Refused("weighs-nothing", "asks", at)
    if wanted["shape"] != "point" and not wanted["length_in"]:
        raise Refused("needs-a-length", "asks", at, shape=wanted["shape"])
    if wish.truss:
        design = read_stored(wish.truss.current.document)
        with refused_here(at):
            weight = weight_of(wanted, design, len(wish.copies))
            loaded(design, weight.placement, weight.most_lb, weight.case)


def refuse_both(wish: Wish, other: Wish, at: str, at_other: str) -> None:
    refuse_second(wish, other, at, at_other)


def weight_of(wanted: Document, design: Design, copies: int) -> Weight:
    """The weight on so many copies side by side, `off_in` from the middle of them across the row; an area lies on all
    of them evenly."""
    shape: Shape = "line" if wanted["shape"] == "area" else wanted["shape"]
    places = tuple(design.spacing_in * i for i in range(copies))
    middle = places[-1] / 2 + wanted["off_in"]
    low, high = (0.0, places[-1]) if wanted["shape"] == "area" else (middle, middle)
    placement = Placement(wanted["chord"], shape, wanted["at_in"], wanted["length_in"])
    note = " ".join(filter(None, [wanted["what"], wanted["note"]]))
    return Weight(wanted["weight_lb"], placement, places, low, high, wanted["shared"], wanted["case"], note)


def answer(case: Case) -> Answered:
    """Whether the trusses take it as they are, the largest weight along the chord, and which redesigns carry it."""
    wanted = only(case)
    case.tell(0.05, coded("looking-for-what-it-takes"))
    try:
        truss = read_document(case.document)
        if lacking := missing(truss):
            return no_answer(coded("loads-lack-first", names=list(lacking)))
        weight = weight_of(wanted, truss, len(case.wishes[0].copies))
        along = curve(truss, weight.placement.chord, weight.case, case.surroundings)
        (most,) = most_lb(truss, [weight.placement], weight.case, case.surroundings)
        case.tell(0.4, coded("looking-for-carrying"))
        outcome = taken(truss, weight, case.surroundings)
    except DocumentError as refused:
        return no_answer(coded("today-unread", trouble=because(refused)))
    except Mechanism as loose:
        return no_answer(moves("today-moves", loose))
    figures = {
        "shares_lb": [round(share, 1) for share in weight.shares_lb],
        "most_lb": float(int(most)),
        "curve": {"chord": along.chord, "case": along.case, "xs_in": along.xs, "pounds": along.pounds},
    }
    here = {"share_lb": outcome.share_lb, "most_lb": float(int(most))}
    if outcome.as_it_is.passes:
        told = [coded("load-written")]
        option = described(case.document, case.before, outcome.as_it_is, [coded("load-as-it-is")], told)
        return fits([coded("load-taken", **here)], case.judge(option), figures)
    return answered([coded("load-over", **here)], [found(case, way) for way in outcome.ways], figures)


def lacks(document: Document, wishes: Iterable[Wish]) -> str:
    """What it weighs, where a document has less there than the least share that is offered."""
    for wish in wishes:
        wanted, truss = wish.wish or {}, wish.truss
        if truss is None:
            continue
        before, after = read_stored(truss.current.document), read_stored(document)
        weight = weight_of(wanted, before, len(wish.copies))
        least = min(weight.most_lb, weight.pounds / max(CROSS_BEAM))
        low, high = weight.placement.ends
        window = (low - _WITHIN_LB, high + _WITHIN_LB)
        if _there(after, weight.case, window) - _there(before, weight.case, window) < least - _WITHIN_LB:
            return str(wanted["what"])
    return ""


def _there(design: Design, case: str, window: tuple[float, float]) -> float:
    """The point and line loads of a case within a window of the span, lb."""
    held = design.document.get("loads", {})
    loads = [(sort, load) for sort in ("point", "line") for load in held.get(sort, ()) if load["case"] == case]
    return total_lb(design, loads, window)
