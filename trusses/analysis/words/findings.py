"""What findings say, and what an analysis says of what it doesn't cover."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from types import MappingProxyType
from typing import TYPE_CHECKING, Any

from trusses.analysis.words import checks
from trusses.analysis.words.carrying import stands_in
from trusses.analysis.words.lengths import feet_inches, tape_inches
from trusses.analysis.words.mechanism import moves as moving
from trusses.analysis.words.phrases import Says, listed, named, quoted, say

if TYPE_CHECKING:
    from trusses.analysis.checks.check import Finding, Unchecked

NO_NAMES: Mapping[str, str] = MappingProxyType({})
#: Of the places of a long list so many are told.
_MOST_TOLD = 4


def finding(found: Finding, called: Mapping[str, str] = NO_NAMES) -> str:
    """What a person must look at, one sentence or a few; `called` are the names that members have for people, by id."""
    return say(FINDINGS, found.code, named(found.values, called))


def unchecked(one: Unchecked, called: Mapping[str, str] = NO_NAMES) -> str:
    """What is not covered or taken for granted, a phrase."""
    return say(UNCHECKED, one.code, named(one.values, called))


def along_the_span(windows: Sequence[Sequence[float]]) -> str:
    """Where windows are, inches from the left bearing: “from 2'-0" to 9'-0" along the span”."""
    says = [f"from {feet_inches(a, to=1)} to {feet_inches(b, to=1)}" for a, b in windows[:_MOST_TOLD]]
    more = f" and in {len(windows) - _MOST_TOLD} more places" if len(windows) > _MOST_TOLD else ""
    return f"{', '.join(says)}{more} along the span"


_WHY_PATTERNS = {
    "live": "A live load on part of a floor can raise forces many times over, in a chase panel above all.",
    "snow": "Snow that lies unevenly can reverse the force in webs near the peak.",
    "wind": "Wind presses and lifts, and what it lifts can turn tension into compression.",
}


def _patterns(case: str, lacking: Sequence[str]) -> str:
    what = f"the arrangement{'s' if len(lacking) > 1 else ''} {quoted(lacking)}"
    why = _WHY_PATTERNS.get(case, "A partial load can govern.")
    return f"The {case} load lacks {what}. {why} Write the arrangements into the document and compute again."


def _attic_storage(windows: Sequence[Sequence[float]], psf: float, beside_psf: float) -> str:
    return (
        f"A clear box 42 in. high and 24 in. wide fits between the webs {along_the_span(windows)}. Where the next"
        " truss has that room too and the attic can be reached, the bottom chord there has to carry"
        f" {psf:g} psf of storage, and {beside_psf:g} psf beside it, together with the other loads (IRC"
        " Table R301.5); the document has less."
    )


def _attic_storage_in_part(windows: Sequence[Sequence[float]], psf: float) -> str:
    return (
        f"The bottom chord carries {psf:g} psf of attic storage {along_the_span(windows)} and less elsewhere:"
        " nothing is to be stored beside those parts."
    )


def _heel_eccentricity(
    joint: str,
    off_in: float,
    width_in: float,
    role: str,
    members: Sequence[str],
    moment_inlb: float,
    combination: str,
) -> str:
    chord = role.replace("_", " ")
    return (
        f"The chords' centerlines cross {tape_inches(off_in)} from the middle of the bearing at {joint}, outside its"
        f" {tape_inches(width_in)}. The reaction is taken in the middle of the bearing: that bends the {chord} there"
        f" with up to {moment_inlb:,.0f} in-lb ({combination}), and {listed(members)} are checked with it. All of it is"
        f" in the {chord}, the other chord being pinned to it; the heel's plates are to be designed for it too."
    )


def _ply_fastening(plies: int, stated: str) -> str:
    alone = "each is checked as buckling sideways by itself, and without fastening they don't share the load either."
    if not stated:
        return f"The document doesn't say how the {plies} plies are fastened to each other: {alone}"
    return (
        f"The document says “{stated}” of how the {plies} plies are fastened. What counts is 2 to 5 plies and a text"
        f" that begins with “nailed” or “bolted” (NDS 15.3.3, 15.3.4) and goes on to say how: {alone}"
    )


def _restraint_unstated(role: str, column_in: float, inner_edge_in: float) -> str:
    edge = "lower" if role == "top_chord" else "upper"
    return (
        f"The document states no lateral restraint of the {role.replace('_', ' ')}: it is taken as held sideways at its"
        f" ends only. As a column it is checked over up to {feet_inches(column_in)}, and in bending that presses its"
        f" {edge} edge over up to {feet_inches(inner_edge_in)}, between bearings."
    )


def _weights_help(combination: str, ratio: float, with_ratio: float, others: int, **check: Any) -> str:
    rule = checks.rule_of(check)
    says = (
        f"{rule[0].upper()}{rule[1:]} is at {ratio:.0%} of what is allowed under {combination}, and at {with_ratio:.0%}"
        " with all that stands or hangs on it: a weight that may be gone can't be what makes it pass."
    )
    return f"{says} So it is with {others} more." if others else says


def _missed_bearing(joint: str, states: Sequence[Mapping[str, Any]]) -> str:
    return (
        f"The bearing at {joint} stands between the outer ones and could be missed or built off level."
        f" {' '.join(_state(**state) for state in states)} Whoever sets the truss has to know that this bearing counts."
    )


def _state(
    state: str,
    off_in: float,
    moves: Mapping[str, Any] | None = None,
    worst: Mapping[str, Any] | None = None,
    others: int = 0,
    lifted_lb: Mapping[str, float] | None = None,
) -> str:
    start = {
        "missed": "Without it",
        "high": f"With it {tape_inches(off_in)} too high",
        "low": f"With it {tape_inches(off_in)} too low",
    }[state]
    if moves:
        return f"{start}, {moving(**moves)}."
    if worst is None:
        return f"{start}, everything stays within its limits."
    what = {"member": worst["id"], "bearing": f"the bearing at {worst['id']}"}.get(worst["of"], "the whole truss")
    says = (
        f"{start}, {what} exceeds first: {checks.rule(worst)} at {worst['ratio']:.2f} of what is allowed"
        f" ({worst['combination']})"
    )
    says += f", and {others} more exceed{'s' if others == 1 else ''}" if others else ""
    if lifted_lb:
        lifts = [f"{lifted} by {lb:,.0f} lb" for lifted, lb in lifted_lb.items()]
        says += f"; it lifts the truss at {' and '.join(lifts)}, which only a connection would hold down"
    return f"{says}."


FINDINGS: Mapping[str, Says] = {
    # loads
    "live-patterns": _patterns,
    "snow-patterns": _patterns,
    "wind-patterns": _patterns,
    "roof_live-patterns": _patterns,
    "attic_storage-patterns": _patterns,
    "rain-patterns": _patterns,
    "no-dead-load": "No dead load is in the document. Self-weight isn't added: the dead loads must contain it.",
    "no-wind": "No wind is in the document, so neither uplift nor forces that wind reverses are looked at.",
    "snow-drift": (
        "The snow of this roof has no drift beside the ridge: on a slope of 1/2 in 12 to 7 in 12 the wind carries snow"
        " over it, and ASCE 7 §7.6.1 has more on the lee side there than even snow. As it is typed, the chords and webs"
        " near the ridge may be shown to carry what they don't. Have the snow written from the ground snow, or type"
        " the uneven arrangements."
    ),
    "no-live-load": (
        "No live load is in the document, and this is a floor's truss: nobody and nothing stands on it yet."
    ),
    "no-roof-load": (
        "Neither roof live load nor snow is in the document, and this is a roof's truss: the codes ask for a roof live"
        " load where there is no snow."
    ),
    "load-lifts": (
        "A {case:plain} load of the document acts upward, since its sign is minus: such a load presses down, and what"
        " lifts here takes load off."
    ),
    "dead-not-whole": (
        "Dead load has patterns or acts alone in this document, so that part of it is left out of combinations: dead"
        " load is always there as a whole. The document was stored before such loads were refused."
    ),
    "loads-alone-mixed": (
        "Some loads of the case {case} act alone and others together with the rest: those that act alone are"
        " a case of their own, {case}/alone, and stand in no other combination than dead load with it."
    ),
    "uplift-dead-share": (
        "Wind lifts this truss, and the document doesn't say what share of the dead load is sure to be there"
        " (uplift_dead_share): all of it is counted on to hold the roof down, which may be too much."
    ),
    "uplift-dead-share-weights": lambda share, over: (
        f"Wind lifts this truss, and the share of the dead load that is counted on to hold it down"
        f" (uplift_dead_share, {share:g}) is "
        + (
            "more than all of it but the weights that stand or hang on it, which may be gone."
            if over
            else "all of it but the weights that stand or hang on it: whether all of that is sure to be there, the"
            " document doesn't say."
        )
    ),
    "weights-hold-down": (
        "Without the weights that stand or hang on it, which may be gone, {joint} is lifted by {force_lb:lb}"
        " ({combination}), with them by {told_lb:lb}: what holds it down there has to be for the larger."
    ),
    "weights-help": _weights_help,
    "attic-storage": _attic_storage,
    "attic-storage-in-part": _attic_storage_in_part,
    # shape and supports
    "shared-wood": (
        "The wood of {pieces:listed} would have to be in the same place: it can't be built as it is drawn. The document"
        " was stored before such trusses were refused."
    ),
    "web-along-wood": (
        "{web} leaves joint {joint} at so small an angle to {other} that the wood of both overlaps over {share:.0%} of"
        " its length: little of it is left beyond the cut, and its plates have to reach past that."
    ),
    "x-couple": (
        "The bearings at {joints[0]} and {joints[1]} both hold the same end sideways, one above the other:"
        " together they fix that end against turning as no wall does, and the rest looks stronger than it is."
    ),
    "thrust": (
        "The bearings at {joints[0]} and {joints[1]} both hold sideways: the truss then leans on its walls like"
        " an arch, and the numbers are true only if both walls can take that push."
    ),
    "chord-bend": (
        "The {role:plain} changes direction at {joint}, which isn't a hinge: no piece of wood runs around a"
        " bend, so that the moment it carries there is not to be counted on."
    ),
    "rigid-joint": (
        "{members:listed} of the {role:plain} are taken as one rigid piece at {joint}, which isn't a hinge: no plate"
        " holds a corner of several pieces like that, so that the moment they carry there is not to be counted on."
    ),
    "splice-not-hinged": (
        "The {role:plain} changes from {lumber[0]} to {lumber[1]} at {joint}, which isn't a hinge: the two"
        " pieces are taken to carry moment into each other, and a plated splice isn't checked for that."
    ),
    "chase-splice": (
        "The {role:plain} has a hinge or splice at {joint}, in the chase panel or the panel beside it:"
        " there the chords carry the shear by bending and must run through in one piece."
    ),
    "long-span": (
        "The span is {span_in:feet}, 60 ft or more: a registered design professional has to design"
        " its temporary and permanent bracing (IBC 2303.4.1.3), and no option is called passing."
    ),
    "carries-trusses": (
        "Other trusses stand or hang on it: a girder with hangers is never called passing here. Its numbers are shown,"
        " and it waits for its sealed drawing."
    ),
    "wet-lumber": "Its lumber stays wet: its numbers are shown, and it waits for its sealed drawing.",
    "incised-lumber": "Its lumber is incised: its numbers are shown, and it waits for its sealed drawing.",
    "heel-eccentricity": _heel_eccentricity,
    "missed-bearing": _missed_bearing,
    # what one truss puts on another
    "stands-in": stands_in,
    "pushes-sideways": (
        "{mark} pushes {force_lb:lb} along its span at bearing {joint} ({case}): across the carrier, where nothing here"
        " checks it."
    ),
    # wood and restraint
    "ply-fastening": _ply_fastening,
    "lumber-values": "{note} Check it against the grading rules before use: {members:names}.",
    "restraint-unstated": _restraint_unstated,
    "joint-unheld": (
        "Nothing that the document states holds {joint} sideways, and {members:listed} can buckle there: each is"
        " checked as running on through it, over up to {length_in:feet}. It needs lateral restraint, or rows on these"
        " webs."
    ),
    "web-restraint": (
        "{web} relies on {rows:rows} of lateral restraint: that works only where like webs of the neighboring"
        " trusses carry the row on and it is braced diagonally, and a change that takes this web out of its"
        " row touches the neighbors too."
    ),
    # forces
    "uplift": (
        "The bearing at {joint} is lifted by up to {force_lb:lb} ({combination}): a connection has to hold it"
        " down, and connections aren't checked here."
    ),
    "force-reversal": (
        "The force in {members:names} is tension under some combinations and compression under others: plates"
        " and restraint have to serve both."
    ),
    "web-too-slender": (
        "{web} doesn't pass in compression with up to {most_rows} rows of lateral restraint either: it needs a"
        " larger or stiffer piece."
    ),
    "web-rows": "{web} needs {rows:rows} of lateral restraint to pass in compression; the document has {stated}.",
}


def _wall_plates(unsaid: Sequence[str], every: bool) -> str:
    if every:
        return "wall plates, headers and walls below the bearings"
    plates = f", and the wall plate at {', '.join(unsaid)}, whose lumber isn't said" if unsaid else ""
    return f"headers and walls below the bearings{plates}"


def _sheathed(members: Sequence[str], km: int, dry: bool) -> str:
    moisture = "19% or less" if dry else "over 19%"
    return (
        f"sheathed chords: CT in the column stability of {', '.join(members)}, where bent too, takes for granted"
        " wood structural panels of 3/8 in. or more nailed to the top chord's narrow face, and lumber that had"
        f" {moisture} moisture when it was sheathed (KM {km}, NDS 4.4.2)"
    )


def _repetitive(roles: Sequence[str]) -> str:
    return (
        f"repetitive use: Cr 1.15 on the {' and '.join(role.replace('_', ' ') for role in roles)} takes for granted"
        " three or more like trusses, not over 24 in. apart, joined by sheathing or boards (NDS 4.3.9)"
    )


def _heel_not_checked(drawn: bool) -> str:
    return "heel eccentricity in the plates; the chord is checked with its moment" if drawn else "heel eccentricity"


def _service(stated: bool) -> str:
    if stated:
        return (
            "what treatment does to lumber besides incising, and moisture or heat other than the service that is stated"
        )
    return (
        "treated or wet lumber, and temperatures over 100 °F that last: dry service without incising is taken for"
        " granted (CM, Ct and Ci 1, NDS 4.3)"
    )


UNCHECKED: Mapping[str, Says] = {
    "plates": "plates",
    "heel-eccentricity": _heel_not_checked,
    "joint-eccentricity": "eccentricity at the other joints: members are taken to meet on their centerlines",
    "connections": "connections",
    "fire": "fire",
    "joint-slip": "slip and stiffness of plated joints, so that deflections are a lower bound",
    "splices": "splices, and tension across the grain at plates",
    "below": _wall_plates,
    "bracing": "bracing, temporary and permanent, and what anchors the lateral restraint",
    "leaning-webs": (
        "bearing of webs that lean more than 45 degrees from square to a chord, or are cut against each other: their"
        " plates are to carry it"
    ),
    "treated-wet-hot": _service,
    "snow-drifts": "snow drifts from other roofs and in valleys, sliding snow, rain on snow",
    "ice-at-eaves": (
        "ice at eaves: twice the flat roof's snow on overhangs of roofs that are heated below and little insulated"
        " (ASCE 7 7.4.5) is not taken; write it into the document as a snow load that acts alone"
    ),
    "snow-drift": "the drift of snow beside the ridge (ASCE 7 §7.6.1), which the document doesn't have",
    "snow-on-spans": "snow on some of several spans",
    "seismic": "earthquake, drag loads and construction loads",
    "self-weight": "self-weight: the dead loads are taken to contain it",
    "cuts": "cuts, holes, notches and damage: every member is taken as whole",
    "ply-fastening": "ply fastening",
    "vibration": "vibration of the floor",
    "repetitive-use": _repetitive,
    "sheathed-chords": _sheathed,
}


def without_weights(combination: str) -> str:
    """By what a bearing is lifted that weights, which may be gone, hold down."""
    return f"{combination}, without the weights on it"
