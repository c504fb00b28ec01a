"""Why one truss can't stand or hang on another: they don't meet, or would carry each other."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from trusses.analysis.words import mechanism
from trusses.analysis.words.phrases import Says, counted, sentence


def _places(mark: str, copies: int, places: int, carrier: str, carriers: int) -> str:
    each = f"each of the {carriers} copies of {carrier}" if carriers > 1 else carrier
    return (
        f"{mark} has {counted(copies, 'copy', 'copies')}, and {counted(places, 'place', 'places')} on {each}"
        f" {'is' if places == 1 else 'are'} named: name one place for each copy that hangs there."
    )


def _circle(marks: Sequence[str]) -> str:
    told = ", which stands on ".join(marks[1:])
    return f"{marks[0]} would stand on {told}: each would carry the other, and nothing carries them."


LOAD_PATH: Mapping[str, Says] = {
    "no-bearing-at-joint": "{mark} has no bearing at joint {joint}.",
    "lands-differently": (
        "{mark} lands differently on the {carriers} copies of {carrier}: one drawing can't serve them all, so give"
        " those that carry differently a mark of their own."
    ),
    "places-and-copies": _places,
    "places-of-which-copy": (
        "{carrier} has copies of {mark} at places that were named, and not one for each copy: which copy hangs where"
        " can't be told, so ask for all of them, or place both marks in plan."
    ),
    "carrier-without-member": "{carrier} has no member {member}.",
    "no-bottom-chord-member": "{member} is no bottom-chord member of {carrier}; hang {mark} to one that is.",
    "beyond-carrier-member": "{at_in:feet} is not on {member} of {carrier}, a member of {length_in:feet}.",
    "not-in-plan": (
        "{unplaced} has no place in plan, so where {mark} lands on {carrier} can't be seen: place it, or name the"
        " bottom-chord members of {carrier} and the distances."
    ),
    "not-all-in-plan": (
        "{unplaced} has {copies} copies and {places} places in plan, so it can't be seen which copy of {mark} stands on"
        " which copy of {carrier}. Give each copy its place in plan."
    ),
    "runs-alongside": "{mark} runs the same way as {carrier} in plan, so it can't stand on it.",
    "other-level": lambda mark, level, carrier, levels: (
        f"{mark} stands on the level {level} and {carrier} on {' and '.join(levels)}: they don't meet."
    ),
    "carrier-without-bottom-chord": "{carrier} has no bottom chord for {mark} to hang to.",
    "beside-carrier": "Bearing {joint} of {mark}, copy {copy}, is {off_in:feet} beside {carrier} in plan, not on it.",
    "beyond-carrier-end": (
        "Bearing {joint} of {mark}, copy {copy}, comes {by_in:feet} beyond the {end} end of the bottom chord of"
        " {carrier}, not on it."
    ),
    "stands-on-itself": "{mark} can't stand on itself.",
    "carries-in-a-circle": _circle,
    "carried-unknown": "What {mark} would put on {carrier} can't be worked out.",
    "carrier-loose": lambda joint, direction, almost, code, values: sentence(
        mechanism.moves(joint, direction, almost, code, values)
    ),
}
