"""Something hung or set on trusses: how it is read, what of it is refused, what they take of it.

`weight_lb` is all of it; the named copies share it by the rule that is stated. Every one of them is drawn for the
largest share, so that they stay one design.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from typing import Any

from changes.asks.answers import Answered, Case, described, moves
from changes.asks.wanted import answered, fields_of, fits, found, no_answer, refused_here
from changes.asks.wishes import Document, Over, Wish, read_copies, read_truss, refuse_what_is_over
from changes.models import Kind
from changes.refusals import Refused
from trusses.analysis.analysis import analyse
from trusses.analysis.capacity.most import curve, most_lb
from trusses.analysis.capacity.placing import Placement, Shape, loaded
from trusses.analysis.capacity.sharing import RULES
from trusses.analysis.capacity.strengthened import CROSS_BEAM, Weight, bearing_all, taken
from trusses.analysis.capacity.uplift import fails_without, held_down_without
from trusses.analysis.checks.surroundings import Surroundings
from trusses.analysis.checks.weights_gone import share_counted_on
from trusses.analysis.format.document import DocumentError, read_stored
from trusses.analysis.format.document import read as read_document
from trusses.analysis.format.model import CHORDS
from trusses.analysis.format.model import Truss as Design
from trusses.analysis.format.strict import place as named
from trusses.analysis.frame.mechanism import Mechanism
from trusses.analysis.loads.arrangements import missing
from trusses.analysis.loads.windows import total_lb
from trusses.analysis.words.phrases import Coded, coded
from trusses.job.building import of_job
from trusses.models import Job, Truss
from trusses.refusals import because

KEYS = ("truss", "copies", "load")
ANSWERED_AS = Kind.LOAD.value
DESIGNS = True

WHAT = ("air handler", "water heater, full", "tub, full", "stone", "panels", "hoist", "other")
SHAPES = ("point", "pair", "line", "area")
MOST_LB = 20_000.0
_REQUIRED = ("what", "weight_lb", "at_in")
_OPTIONAL = ("note", "chord", "shape", "length_in", "how", "shared", "off_in", "case")
#: So much of a weight may be missing from a drawn option, lb, and so far off may it lie, in.: what rounding leaves.
_WITHIN_LB = 1.0
_WITHIN_SHARE = 0.002


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
            "over": list(copies),
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
        _refuse_both_ways(wish.truss, wish.copies, at)
        design = read_stored(wish.truss.current.document)
        with refused_here(at):
            weight = weight_of(wish, design)
            loaded(design, weight.placement, weight.most_lb, weight.case)


def _refuse_both_ways(truss: Truss, copies: Sequence[int], at: str) -> None:
    """Raises Refused where the plan has some of the copies end for end to the others: one place of their drawing is two
    in the building, and a weight lies at one."""
    ways: dict[bool, list[int]] = {}
    rows = truss.copies.filter(number__in=copies, placement__isnull=False).order_by("number")
    for number, is_turned in rows.values_list("number", "placement__turned"):
        ways.setdefault(is_turned, []).append(number)
    if len(ways) > 1:
        raise Refused("weight-both-ways", "asks", at, mark=truss.mark, copies=ways[True], others=ways[False])


def refuse_both(wish: Wish, other: Wish, at: str, at_other: str) -> None:
    """Several weights on some of the same copies are answered together there: each copy carries the largest share of
    every weight that lies on it."""


def weight_of(wish: Wish, design: Design) -> Weight:
    """The weight on the copies that share it, side by side, `off_in` from the middle of them across the row; an area
    lies on all of them evenly. `wish` may be about some of these copies alone (`over` has all of them): those on which
    the same weights lie."""
    wanted = wish.wish or {}
    copies = len(wanted.get("over", wish.copies))
    shape: Shape = "line" if wanted["shape"] == "area" else wanted["shape"]
    places = tuple(design.spacing_in * i for i in range(copies))
    middle = places[-1] / 2 + wanted["off_in"]
    low, high = (0.0, places[-1]) if wanted["shape"] == "area" else (middle, middle)
    placement = Placement(wanted["chord"], shape, wanted["at_in"], wanted["length_in"])
    note = " ".join(filter(None, [wanted["what"], wanted["note"]]))
    shared, handed_on = wanted["shared"], copies == len(wish.copies)
    return Weight(wanted["weight_lb"], placement, places, low, high, shared, wanted["case"], note, handed_on)


def answer(case: Case) -> Answered:
    """Whether the trusses take them as they are, the largest weight along the chord of each beside the others, and
    which redesigns carry all of them."""
    case.tell(0.05, coded("looking-for-what-it-takes"))
    try:
        truss = read_document(case.document)
        if lacking := missing(truss):
            return _no_answer(case, coded("loads-lack-first", names=list(lacking)))
        weights = [weight_of(wish, truss) for wish in case.wishes]
        each = [_alone(truss, weights, i, case) for i in range(len(weights))]
        case.tell(0.4, coded("looking-for-carrying"))
        outcome = taken(truss, weights, case.surroundings, of_job(case.job))
    except DocumentError as refused:
        return _no_answer(case, coded("today-unread", trouble=because(refused)))
    except Mechanism as loose:
        return _no_answer(case, moves("today-moves", loose))
    several = len(weights) > 1
    both = [(share, most) for share, (most, _) in zip(outcome.shares_lb, each, strict=True)]
    if not outcome.ways:
        told = [coded("load-taken-beside" if several else "load-taken", share_lb=s, most_lb=m) for s, m in both]
        written = [coded("load-written")]
        option = described(case.document, case.before, outcome.as_it_is, [coded("load-as-it-is")], written)
        one = fits([], case.judge(option), {})
    else:
        told = [coded("load-over-beside" if several else "load-over", share_lb=s, most_lb=m) for s, m in both]
        one = answered([], [found(case, way) for way in outcome.ways], {})
    (shared,) = one.answers
    # what has to be done first, or stands against it, before how much the wood takes
    first = [] if outcome.ways else shared.told
    rest = shared.told[len(first) :]
    answers = [
        replace(shared, told=[*first, own, *rest], figures=figures)
        for own, (_, figures) in zip(told, each, strict=True)
    ]
    return Answered(answers, one.options)


def _no_answer(case: Case, why: Coded) -> Answered:
    """The same for each weight."""
    return Answered(no_answer(why).answers * len(case.wishes))


def _alone(truss: Design, weights: Sequence[Weight], which: int, case: Case) -> tuple[float, dict[str, Any]]:
    """The most that the truss takes where one of some weights is asked for, with the others on it, and the figures of
    that one. Raises CapacityError, Mechanism, DocumentError."""
    weight = weights[which]
    beside = bearing_all(truss, [one for i, one in enumerate(weights) if i != which])
    along = curve(beside, weight.placement.chord, weight.case, case.surroundings)
    (most,) = most_lb(beside, [weight.placement], weight.case, case.surroundings)
    most = _taken_at_most(beside, weight, float(int(most)), case)
    return most, {
        "shares_lb": [round(share, 1) for share in weight.shares_lb],
        "most_lb": most,
        "curve": {"chord": along.chord, "case": along.case, "xs_in": along.xs, "pounds": along.pounds},
    }


def _taken_at_most(truss: Design, weight: Weight, most: float, case: Case) -> float:
    """No more than `most`, lb, that passes as it is hung, which several things round. Whole pounds; 0 where even the
    truss by itself is over a limit."""

    def passes(pounds: float) -> bool:
        hung = replace(weight, pounds=pounds, places_in=(0.0,), low_in=0.0, high_in=0.0, rule="one")
        return analyse(bearing_all(truss, [hung]), case.surroundings).passes

    if most <= 0 or passes(most):
        return most
    low, high = 0.0, most
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (middle, high) if passes(middle) else (low, middle)
    return low


def lacks(document: Document, wishes: Iterable[Wish]) -> str:
    """What weighs something that a document has less of than the least share that is offered, all weights of one place
    together."""
    those = [(wish, wish.wish or {}, wish.truss) for wish in wishes]
    for _, wanted, truss in those:
        if truss is None:
            continue
        before, after = read_stored(truss.current.document), read_stored(document)
        window = _window(wanted)
        least = 0.0
        for other, beside, _ in those:
            if (beside["case"], beside["chord"]) == (wanted["case"], wanted["chord"]):
                weight = weight_of(other, before)
                handed_on = weight.handed_on and len(those) == 1
                most = min(weight.most_lb, weight.pounds / max(CROSS_BEAM)) if handed_on else weight.most_lb
                least += most * _part_within(weight.placement, window)
        if _there(after, wanted, window) - _there(before, wanted, window) < least - _WITHIN_LB:
            return str(wanted["what"])
    return ""


def counted_on(before: Document, after: Document, analysis: Document, said: Surroundings) -> list[Coded]:
    """Why a designer's own drawing of a truss with a weight on it is none: it would be held down by the weight, or by
    its `analysis`, told of the surroundings `said`, it is strong enough with it alone."""
    bare, loaded = read_stored(before), read_stored(after)
    sure = share_counted_on(held_down_without(bare, loaded))
    if share_counted_on(loaded) > sure + _WITHIN_SHARE:
        return [coded("weight-counted-on", share=sure)]
    failing = {check["rule"] for check in analysis["checks"] if not check["passes"]}
    fails = fails_without(loaded, bare, said, failing)
    return [fails] if fails else []


def _window(wanted: Document) -> tuple[float, float]:
    """Between which places along the span a weight lies."""
    half = wanted["length_in"] / 2 if wanted["shape"] != "point" else 0.0
    return wanted["at_in"] - half - _WITHIN_LB, wanted["at_in"] + half + _WITHIN_LB


def _part_within(placement: Placement, window: tuple[float, float]) -> float:
    """What part of a weight lies within a window of the span."""
    low, high = placement.ends
    if placement.shape == "line":
        return max(min(high, window[1]) - max(low, window[0]), 0.0) / (high - low)
    places = (low, high) if placement.shape == "pair" else (placement.at_in,)
    return sum(window[0] <= x <= window[1] for x in places) / len(places)


def _there(design: Design, wanted: Document, window: tuple[float, float]) -> float:
    """The point and line loads of the case and on the chord of a weight within a window of the span, lb."""
    chord = [member for member in design.members if member.role == wanted["chord"]]
    on = {member.id for member in chord} | {joint for member in chord for joint in member.joints}
    held = design.document.get("loads", {})
    loads = [
        (sort, load) for sort in ("point", "line") for load in held.get(sort, ()) if load["case"] == wanted["case"]
    ]
    those = [(sort, load) for sort, load in loads if load.get("member", load.get("joint")) in on]
    return total_lb(design, those, window)


def turned(wanted: Document, over: Over) -> Document:
    return {**wanted, "at_in": over.x(wanted["at_in"])}
