"""What the four answers and their reasons say."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import TYPE_CHECKING, Any

from trusses.analysis.words import checks
from trusses.analysis.words.phrases import Says, say

if TYPE_CHECKING:
    from trusses.analysis.verdict import Answer, Reason

ABOUT = {"lumber": "Lumber", "plates": "Plates", "restraint": "Restraint", "seal": "Seal"}

#: What the set can say of a mark, as it is offered.
KINDS = {
    "drag": "Drag truss",
    "gable-end": "Gable-end truss",
    "fire-rated": "Part of a fire-rated assembly",
    "treated": "Treated lumber",
    "repair": "Repair",
    "damaged": "Damaged",
}

_NEVER = "is never called passing here, and waits for its sealed drawing."


_NOT_YET = {"seal-not-reviewed": "not reviewed", "seal-not-accepted": "not accepted"}


def state(answer: Answer) -> str:
    """An answer's state, in the words of a sheet: what stands under it changes what it may be called."""
    codes = {reason.code for reason in answer.reasons}
    if answer.about == "lumber" and answer.state == "not checked":
        return "numbers only"
    if answer.about == "seal" and answer.state == "passes":
        return "attached"
    # it is attached: "missing" would say that it isn't
    if yet := [says for code, says in _NOT_YET.items() if code in codes]:
        return f"{' and '.join(yet)} yet"
    if answer.state == "passes" and "deflection-accepted" in codes:
        return "passes, with an exception"
    return answer.state


def why(reasons: Iterable[Reason]) -> str:
    """The sentences of some reasons, one after the other."""
    return " ".join(reason(one) for one in reasons)


def reason(one: Reason) -> str:
    """One sentence."""
    return say(REASONS, one.code, one.values)


def _check_fails(ratio: float, **check: Any) -> str:
    place = checks.rule_of(check)
    return f"{place[0].upper()}{place[1:]} stands at {ratio:.0%} of what is allowed."


def _carries(marks: Sequence[str]) -> str:
    what = f"It carries {', '.join(marks)}" if marks else "Other trusses stand or hang on it"
    return f"{what}: a girder with hangers {_NEVER}"


REASONS: Mapping[str, Says] = {
    # lumber
    "worst": "No check is over its limit; the worst stands at {ratio:.0%} of what is allowed.",
    "no-check": "No check applies.",
    "check-fails": _check_fails,
    "deflection-accepted": (
        "Every check of strength, stability and bearing passes; a deflection limit is exceeded and was accepted."
    ),
    "behind": "What {marks:names} put on it today is not what this drawing has; its numbers leave that out.",
    "opening-blocked": "Not clear of wood: opening {openings:listed}.",
    # kinds that nothing automatic answers for
    "shared-wood": "The wood of {pieces:listed} would have to be in the same place: such a truss can't be built.",
    "long-span": "Its span is {span_in:feet}: a truss of 60 ft and more " + _NEVER,
    "carries-trusses": _carries,
    "wet-lumber": "Its lumber stays wet: such a truss " + _NEVER,
    "incised-lumber": "Its lumber is incised: such a truss " + _NEVER,
    "drag": "It is a drag truss: such a truss " + _NEVER,
    "gable-end": "It is a gable-end truss: such a truss " + _NEVER,
    "fire-rated": "It is part of a fire-rated assembly: such a truss " + _NEVER,
    "treated": "Its lumber is treated: such a truss " + _NEVER,
    "repair": "It is a repair: such a truss " + _NEVER,
    "damaged": "It is damaged: such a truss " + _NEVER,
    # plates
    "no-plate-table": "No plate is chosen or checked here; this job has no table of plate values.",
    "plate-table": "No plate is chosen or checked here; the areas of teeth follow this job's table, {report}.",
    # restraint
    "no-restraint": "The truss document names no lateral restraint.",
    "restraint-counted-on": (
        "The checks count on the lateral restraint that the document states; the diagonal bracing that makes it work is"
        " not designed here."
    ),
    # seal
    "no-seal": "No drawing sealed by a registered design professional is attached.",
    "sealed": "A drawing sealed by a registered design professional is attached.",
    "seal-not-reviewed": "The sealed drawing is attached; that the building designer reviewed it isn't recorded.",
    "seal-not-accepted": "The sealed drawing is attached; that the building department accepted it isn't recorded.",
    "numbers-by-seal": "Such a truss is never called passing here; its sealed drawing answers for it.",
    "covered-by-seal": "No plate is checked here; the sealed drawing shows them.",
    "restraint-by-seal": "The sealed drawing shows it; how trusses are braced while they are set it may not.",
}
