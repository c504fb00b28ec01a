"""What is said of weights, bearings, damage, questions and what goes through between trusses.

Of a damaged truss nothing is said that sounds like leave to use it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from trusses.analysis.words import checks, mechanism
from trusses.analysis.words.lengths import feet_inches
from trusses.analysis.words.phrases import Coded, Says, counted, listed, pounds
from trusses.analysis.words.phrases import copies as told_copies

TITLES: Mapping[str, Says] = {
    "load-as-it-is": "As it is, with the weight written in",
    "bearing-as-it-is": "As it is, on the bearings that are asked for",
}
"""What options are called that today's truss is."""


#: Uplift below this is none, lb.
_LIFTS_LB = 0.5

HARM = {
    "cut": "cut or broken through",
    "bow": "bowed",
    "plate torn": "loose, its plate torn",
    "end short": "short at its end",
}
"""What became of a piece, after its name; what isn't here is called as it is kept."""


def harm(called: str, how: str) -> str:
    """“W1 cut or broken through”."""
    return f"{called} {HARM.get(how, how)}"


def _worst(**check: Any) -> str:
    return f"{checks.rule_of(check)} is at {check['ratio']:.0%} of what is allowed ({check['combination']})"


def _in_between(
    state: str,
    passes: bool,
    moving: Coded | None,
    worst: Coded | None,
    lifted_lb: Sequence[Sequence[Any]],
    along_in: float | None = None,
    stands: bool = True,
) -> str:
    """`along_in`: how far the joint that moves is from the left bearing; `stands`: whether any of the copies is set."""
    when = {
        "gone": "Until then, while the old bearing is gone and no other stands",
        "both": "Until then, while both bearings stand",
    }[state]
    first = (
        "Shore it first, by whoever designs the shoring."
        if stands
        else "None is to be set like that; one that is set by then is shored first, by whoever designs the shoring."
    )
    if moving is not None:
        at = f", {feet_inches(along_in)} from the middle of the left bearing," if along_in is not None else ""
        return f"{when}, {mechanism.moves(**{**moving, 'joint': moving['joint'] + at})}. {first}"
    lifts = [f"{joint} by {pounds(up)}" for joint, up in lifted_lb]
    lifted = f" It lifts the truss at {listed(lifts)}." if lifts else ""
    if worst is None:
        return f"{when}, nothing is loaded.{lifted}"
    if passes:
        return f"{when}, today's truss is within every limit of strength: {_worst(**worst)}.{lifted}"
    return f"{when}, today's truss is over a limit: {_worst(**worst)}. {first}{lifted}"


def _shims(shims: Sequence[Sequence[Any]]) -> str:
    return f"Shim {listed([f'{feet_inches(by)} at {joint}' for joint, by in shims])}, to bear fully on what is there."


def _walls_off(off: Sequence[Sequence[Any]]) -> str:
    each = [f"{joint} {feet_inches(abs(by))} to the {'right' if by > 0 else 'left'}" for joint, by in off]
    return f"Off its line stands the wall at {listed(each)}."


def _each_copy(copies: Sequence[Sequence[Any]]) -> str:
    return listed([f"{ratio:.0%} on {told_copies([number])}" for number, ratio in copies])


def _gap(widest_in: float, most_in: float) -> str:
    return (
        f"The trusses would stand {feet_inches(widest_in)} apart there, more than the {feet_inches(most_in)} that was"
        " given as what is nailed across them spans."
    )


def _shores(joints: Sequence[str], along_in: Sequence[float] = (), lies: bool = False) -> str:
    """Where, and by whom: whoever shores goes under it. Where no drawing names a panel point, its distance does; what
    was told before has its name alone."""
    if not joints:
        at = "beside the damage"
    elif along_in:
        points = "the panel point" if len(joints) == 1 else "the panel points"
        far = listed([feet_inches(one) for one in along_in])
        at = f"at {points} of the bottom chord {far} from the middle of the left bearing"
    else:
        at = f"at panel point{'' if len(joints) == 1 else 's'} {listed(joints)} of the bottom chord"
    it = "Where it stands or hangs already, it" if lies else "It"
    return (
        f"{it} is shored only as a registered design professional says, and by whom they say: {at}, down to something"
        " that carries it. Nobody else goes under it, and nobody before they said so."
    )


def _lying(copies: Sequence[int], all: bool) -> str:
    who = "It isn't" if len(copies) == 1 else "They aren't"
    if not all:
        who = f"{told_copies(copies).capitalize()} {'is' if len(copies) == 1 else 'are'} not"
    it = "it" if len(copies) == 1 else "them"
    return f"{who} recorded as set: leave {it} lying, and don't lift, turn or set {it}."


def _other_revision(current: int, others: Sequence[Sequence[Any]]) -> str:
    """As it was told before each copy was answered from what it was built to."""
    those = [f"revision {number} for {told_copies(numbers)}" for number, numbers in others]
    return (
        f"Worked out from revision {current}, which is current, and not from what was released or built:"
        f" {listed(those)}. Whoever designs the repair works from what stands there."
    )


def _gone(mark: str, copies: Sequence[int]) -> str:
    return (
        f"The set has no {told_copies(copies)} of {mark} any more. Whoever deals with it looks first at what is there."
    )


def _revision(number: int, current: int, unsure: Sequence[int], of: str) -> str:
    if of or number != current:
        says = (
            f"Worked out from {of + ' ' if of else ''}revision {number}, not from revision {current}, which is current."
        )
    else:
        says = f"Worked out from revision {number}, which is current."
    if unsure:
        says += f" Nobody recorded that {told_copies(unsure)} {'was' if len(unsure) == 1 else 'were'} cut to it."
    return f"{says} Whoever designs the repair looks first at what stands there."


_WHEN = {
    "now": "Under what is on it now",
    "drawn-for": "Under all that it was drawn for",
}


def _under(when: str, lies: bool = False, acting: Sequence[str] | None = None) -> str:
    """What it is worked out under. What lies on the ground is told as if it were set; what was told before says no more
    than when."""
    under = _WHEN[when]
    if when == "now" and acting is not None:
        besides = listed(["its dead load", *(case.replace("_", " ") for case in acting)])
        under = f"Under {besides}{', as was said to be on it now' if acting else ' alone'}"
    return f"As if it were set, which it isn't recorded to be: {under[0].lower()}{under[1:]}" if lies else under


def _moves(when: str) -> Says:
    return lambda lies=False, acting=None, **moves: (
        f"{_under(when, lies, acting)}, {mechanism.moves(**moves)}: it doesn't stand by itself."
    )


def _exceeds(when: str, lies: bool = False, acting: Sequence[str] | None = None, **check: Any) -> str:
    return f"{_under(when, lies, acting)}, it is over a limit: {_worst(**check)}."


def _within(when: str, lies: bool = False, acting: Sequence[str] | None = None, **check: Any) -> str:
    return (
        f"{_under(when, lies, acting)}, by these sums alone no limit is exceeded: {_worst(**check)}. That is no leave"
        " to load it or to go under it: what the damaged piece and its plates still do isn't known."
    )


def _carries(member: str, tension_lb: float, compression_lb: float, moment_inlb: float, shear_lb: float) -> str:
    return (
        f"{member} carries up to {pounds(tension_lb)} of tension and"
        f" {pounds(compression_lb)} of compression, and at the damage {moment_inlb:,.0f} in-lb of bending and"
        f" {pounds(shear_lb)} of shear."
    )


def _holds(holding_lb: float, combination: str, nailing: Sequence[Mapping[str, Any]]) -> str:
    says = f"Over its load-duration factor the largest is {pounds(holding_lb)} ({combination})"
    if not nailing:
        return f"{says}; nails are not counted for this piece."
    each = [f"{counted(one['a_face'], one['nail'], one['nail'])} at {one['z_lb']:.0f} lb" for one in nailing]
    return (
        f"{says}: by NDS 12.3 two 2x scabs, one on either face, would need {' or '.join(each)} in each scab, on each"
        " side of the break, for the axial force alone. Spacing, edges, splitting and bending are for the designer."
    )


def _blocked(copies: Sequence[int]) -> str:
    return f"In the way {'stands copy' if len(copies) == 1 else 'stand copies'} {listed(map(str, copies))}."


def _more_below(rows: Sequence[Mapping[str, Any]]) -> str:
    """What each bearing presses down or is lifted by at most, where that is more than today."""
    return " ".join([*(_more_at(**row) for row in rows), "No tie, wall, header or footing is checked here."])


def needs_tie(row: Mapping[str, Any]) -> bool:
    """Whether a bearing is lifted where it wasn't."""
    return bool(row["up"]) and (row["lb"][0] or 0.0) < _LIFTS_LB


def _more_at(along_in: float, end: str, up: bool, lb: Sequence[float | None]) -> str:
    before, after = lb[0], lb[1] or 0.0
    at = f"{end} bearing" if end else f"bearing {feet_inches(along_in)} from the left one"
    if not up:
        today = "nothing bears there today" if before is None else f"{pounds(before)} today"
        return f"What is below the {at} has to carry up to {pounds(after)}; {today}."
    if needs_tie({"up": up, "lb": lb}):
        return f"The {at} needs a tie first: the truss is lifted there by up to {pounds(after)}, by nothing today."
    return f"The tie at the {at} has to hold up to {pounds(after)} of uplift; {pounds(before or 0.0)} today."


TOLD: Mapping[str, Says] = {
    "more-below": _more_below,
    "load-taken": (
        "Each truss takes its {share_lb:lb} there as it is. {most_lb:lb} is the most that it takes there, if nothing"
        " else is added."
    ),
    "load-over": "Each truss would carry {share_lb:lb} there, and takes {most_lb:lb} at most as it is.",
    "load-taken-beside": (
        "Each truss takes its {share_lb:lb} there as it is, with the other weights that are asked for on it;"
        " {most_lb:lb} would be the most beside them."
    ),
    "load-over-beside": (
        "Each truss would carry {share_lb:lb} there, and as it is takes {most_lb:lb} at most beside the other weights"
        " that are asked for."
    ),
    "load-written": (
        "Nothing on the truss changes but the load that its drawing states, which isn't counted on against uplift."
    ),
    "bearing-fits": "Once it bears as is asked, today's truss is within its limits.",
    "bearing-strains": "Once it bears as is asked, and there alone, today's truss is over a limit.",
    "bearing-lets-move": lambda **moves: f"Once it bears as is asked, {mechanism.moves(**moves)}.",
    "bearing-written": "Nothing on the truss changes but where it bears.",
    "in-between": _in_between,
    "shims": _shims,
    "walls-off": _walls_off,
    "walls-as-drawn": "The walls stand where they were drawn, within a quarter of an inch.",
    "passage-fits": "It fits between the trusses as they stand.",
    "passage-blocked": _blocked,
    "passage-moved": lambda by_in: (
        f"Moved {feet_inches(abs(by_in))} {'up' if by_in > 0 else 'down'} the row, it fits between the trusses as they"
        " stand."
    ),
    "gap-too-wide": _gap,
    "one-design": lambda copies: (
        f"One design for all of them, analysed under what each then carries: {_each_copy(copies)} of what is allowed."
    ),
    "one-design-spares": (
        "With today's wood {copies:copies} would pass too; drawn like the others, they stay one design with them."
    ),
    "one-design-fails": lambda copies: (
        f"No one design was found that holds on all of them: this one, the closest, is at {_each_copy(copies)} of what"
        " is allowed."
    ),
    "moves-on-carrier": (
        "{mark} stands on {carriers:listed}: with copies moved or left out, what it puts there comes elsewhere, which"
        " these sums don't follow. A designer works that out first."
    ),
    "moves-carrier": (
        "{mark} carries {standing:listed}: with copies moved or left out, what stands there lands elsewhere, which"
        " these sums don't follow. A designer works that out first."
    ),
    "header": lambda x_in, lumber, reaction_lb: (
        f"The doubled header at {feet_inches(x_in)}, {lumber}, brings {pounds(reaction_lb)} at most to the truss on"
        " either side; its hangers and those of the tails are to be designed."
    ),
    "weight-counted-on": (
        "It counts on the weight to hold the truss down against wind, which may not be there: of its dead load it may"
        " count on {share:g} at most (uplift_dead_share)."
    ),
    "header-not-stocked": (
        "The doubled header at {x_in:feet} would be of {lumber}: the job's stock has nothing of that species and grade."
    ),
    "header-fails": lambda x_in, ratio: (
        f"The doubled header at {feet_inches(x_in)}, the largest of the chord's lumber, is at {ratio:.0%} of what is"
        " allowed: another one is to be designed first."
    ),
    "keep-off": "Keep off and out from under it, and take off whatever is stacked on it, without stepping on it.",
    "leave-lying": _lying,
    "shore-at": _shores,
    "whom-to-call": (
        "Call the truss designer and a registered design professional now. Nobody cuts, pulls or nails anything before"
        " their repair drawing is there."
    ),
    "damaged-other-revision": _other_revision,
    "damaged-revision": _revision,
    "damaged-copies-gone": _gone,
    "damaged-moves-now": _moves("now"),
    "damaged-moves-drawn-for": _moves("drawn-for"),
    "damaged-unloaded": "Nothing carries a load in what is left of this truss.",
    "damaged-exceeds": _exceeds,
    "damaged-within": _within,
    "repair-carries": _carries,
    "repair-holds": _holds,
    "run-as-built": lambda trusses: (
        "All that it goes through is cut already and has room for it as built"
        f" ({counted(trusses, 'crossing', 'crossings')}). Nothing is asked of anybody, nothing changes in those"
        " trusses, and nobody cuts for it. It is on record, and another run that would lie in it there is refused."
    ),
    "run-as-built-no-more": ("It doesn't go through all of that any more as it is built and stands: ask for it anew."),
    "question-waits": "It waits for a designer's answer.",
}
"""What is said of an ask of these kinds, or of an option that answers it."""
