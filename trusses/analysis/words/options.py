"""What is said of an option: its title, the steps that lead to it from today's truss, one phrase each; and what
decides about it, a sentence each."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from trusses.analysis.words import checks
from trusses.analysis.words.findings import along_the_span
from trusses.analysis.words.lengths import feet_inches
from trusses.analysis.words.openings import FITS
from trusses.analysis.words.phrases import Coded, Says, coded, counted, listed, named, say, tell
from trusses.analysis.words.verdict import REASONS

#: So many names of a list are told, and of a longer one all but the last of these.
_MOST_NAMES = 6
_CHORD = {"top_chord": "top chord", "bottom_chord": "bottom chord"}
_FROM = " from the left bearing"


def title(steps: Sequence[Coded]) -> str:
    """One heading: "Move the foot of W2 1'-2" toward the left bearing; bottom chord to 2x4 …"."""
    text = "; ".join(
        step(one["code"], named(one["values"], one.get("called", {}))) for one in _webs_taken_out_at_once(steps)
    )
    return text[0].upper() + text[1:] if text else "Today's truss, with the opening drawn in"


def step(code: str, values: Mapping[str, Any]) -> str:
    return say(STEPS, code, values)


def _webs_taken_out_at_once(steps: Sequence[Coded]) -> Iterable[Coded]:
    """Several webs taken out, one after the other, said at once and first, but for which copies it is."""
    out = [web for one in steps if one["code"] == "out" for web in one["values"]["webs"]]
    about = [one for one in steps if one["code"] == "for-all"]
    rest = [one for one in steps if one["code"] not in ("out", "for-all")]
    return [*about, *([coded("out", webs=out)] if out else []), *rest]


def _names(names: Sequence[str]) -> str:
    if len(names) > _MOST_NAMES:
        names = [*names[: _MOST_NAMES - 1], f"{len(names) - _MOST_NAMES + 1} more"]
    return listed(names)


def _toward(shift_in: float, toward: str) -> str:
    return f"{feet_inches(shift_in)} toward {'midspan' if toward == 'middle' else f'the {toward} bearing'}"


def _place(joint: str, at: Sequence[Any] | None) -> str:
    """Where a panel point is that no drawing names: on which chord and how far along, or how far along and up."""
    if at is None:
        return f"joint {joint}"
    role, along_in, up_in = at
    if role:
        return f"the {_CHORD[role]} at {feet_inches(along_in)}"
    return f"the panel point at {feet_inches(along_in)}, {feet_inches(up_in)} up"


def _run(joints: Sequence[str], at: Sequence[Sequence[Any]] | None) -> str:
    one, other = (_place(joint, place) for joint, place in zip(joints, at or (None, None), strict=True))
    return f"from {one} to {other}{_FROM if at else ''}"


def _splice(role: str, joint: str, to: str, at: Sequence[Sequence[Any]] | None = None) -> str:
    if at is None:
        return f"move the {_CHORD[role]}'s splice from joint {joint} to joint {to}"
    old, new = (feet_inches(along_in) for _, along_in, _ in at)
    return f"move the {_CHORD[role]}'s splice from {old} to {new}{_FROM}"


def _aim(end: str, web: str, joint: str, at: Sequence[Sequence[Any]] | None = None) -> str:
    return f"aim the {end} of {web} at {_place(joint, at[0] if at else None)}{_FROM if at else ''}"


def _panel(out: Sequence[str], moved: Sequence[str], width_in: float) -> str:
    says = f"take out {', '.join(out)}, " if out else ""
    says += f"frame a {feet_inches(width_in)} panel with verticals"
    return says + (f", move {', '.join(moved)} to it" if moved else "")


def _lumber(chords: Sequence[str], members: Sequence[str], key: str) -> str:
    said = ["chords"] if len(chords) == 2 else [_CHORD[role] for role in chords]
    return f"{_names([*said, *members])} to {key}"


def _copies(numbers: Sequence[int]) -> str:
    return f"cop{'y' if len(numbers) == 1 else 'ies'} {_in_runs(numbers)}"


def _in_runs(numbers: Sequence[int]) -> str:
    """Three or more that follow each other as a run: 1–13, 15 and 16."""
    runs: list[list[int]] = []
    for number in sorted(numbers):
        if runs and number == runs[-1][-1] + 1:
            runs[-1].append(number)
        else:
            runs.append([number])
    return listed(
        word for run in runs for word in ([f"{run[0]}–{run[-1]}"] if len(run) > 2 else [str(number) for number in run])
    )


def _shifted(moved: Sequence[Sequence[Any]], copies: Sequence[int]) -> str:
    each = [f"copy {number} by {feet_inches(abs(by))} {'up' if by > 0 else 'down'} the row" for number, by in moved]
    return f"shift {listed(each)}, with {_copies(copies)} drawn for the wider spacing"


STEPS: Mapping[str, Says] = {
    "for-all": lambda copies: f"one design for {_copies(copies)}",
    "out": lambda webs: f"take out {_names(webs)}",
    "splice": _splice,
    "slide": lambda end, webs, shift_in, toward: f"move the {end} of {listed(webs)} {_toward(shift_in, toward)}",
    "point": lambda end, web, shift_in, toward: (
        f"move the {end} of {web} {_toward(shift_in, toward)}, to a panel point of its own"
    ),
    "aim": _aim,
    "swap": lambda web, joints, at=None: f"turn {web} to run {_run(joints, at)}",
    "brace": lambda web, joints, at=None: f"add a web ({web}) {_run(joints, at)}",
    "twin": lambda webs: f"the same on the other side ({_names(webs)}), so that both ends stay alike",
    "panel": _panel,
    "open": "leave a {width_in:feet} panel open",
    "add": "add a web ({web}) that breaks up the {panel_in:feet} panel of the {role:plain}",
    "upright": "add {webs:listed} to a new panel point of the {role:plain}",
    "shifted": _shifted,
    "left-out": lambda out, copies: f"leave out {_copies(out)}, with {_copies(copies)} drawn for the wider spacing",
    "headers": lambda out, copies: (
        f"leave out {_copies(out)}, with headers and tails between {_copies(copies)}, which are doubled"
    ),
    "bearing-moved": "with the bearing at {from_in:feet} moved to {to_in:feet}",
    "bearing-added": "with a bearing at {at_in:feet}",
    "bearing-gone": "without the bearing at {at_in:feet}",
    "bearings-measured": "on the walls as they were measured",
    "cross-beam": "hand the weight to {trusses} trusses by a stiff cross-beam",
    "lumber": _lumber,
    "rows": lambda webs: f"one more restraint row on {_names(webs)}",
    "held": "{role:plain} held every {spacing_in:feet}",
    "plies": lambda plies: "one more ply" if plies == 1 else f"{plies} more plies",
}


def _highest(of: str, id: str, ratio: float, combination: str, **check: Any) -> str:
    where = {"member": id, "bearing": f"the bearing at {id}"}.get(of, "the whole truss")
    rule = checks.rule(check)
    return f"{where}, {rule}, at {ratio:.0%} of what is allowed, under {combination}"


def _fails(others: int, **worst: Any) -> str:
    more = f" {others} more fail{'s' if others == 1 else ''} as well." if others else ""
    return f"It fails: {_highest(**worst)}.{more}"


def _rows_in_line(webs: Sequence[str]) -> str:
    rows = "row works" if len(webs) == 1 else "rows work"
    return (
        f"The restraint {rows} only in line with like webs of the neighboring trusses, and with diagonal bracing:"
        f" {', '.join(webs)}."
    )


def _raised(windows: Sequence[Sequence[float]], psf: float, beside_psf: float) -> str:
    return (
        f"It opens room for storage (a box 42 in. high and 24 in. wide) {along_the_span(windows)}: the bottom chord is"
        f" computed with {psf:g} psf there, and {beside_psf:g} psf beside it, together with the other loads."
    )


def _left_out(windows: Sequence[Sequence[float]], psf: float) -> str:
    return (
        f"It opens room for storage (a box 42 in. high and 24 in. wide) {along_the_span(windows)}, and was computed"
        f" with less than {psf:g} psf on the bottom chord there."
    )


def _building(
    tolerance_in: float,
    from_joints_in: float,
    longest_piece_in: float,
    stock: int | None = None,
    openings: bool = True,
) -> str:
    """`openings`: whether there are any to keep clear of."""
    says = f"no chord piece is longer than {feet_inches(longest_piece_in)} unless it is so today"
    if openings:
        clear = f"Every web that moves keeps {feet_inches(tolerance_in)} more than the clearance"
        says = f"{clear}, the opening {feet_inches(from_joints_in)} from panel points; {says}"
    says = says[:1].upper() + says[1:]
    if stock is not None:
        says += f"; what is new is one of the {counted(stock, 'size and grade', 'sizes and grades')} on this job's list"
    return f"{says}."


TOLD: Mapping[str, Says] = {
    "unloaded": "Nothing carries a load in this truss.",
    "fails": _fails,
    "numbers-only": lambda **worst: f"No check is over its limit. The highest is {_highest(**worst)}.",
    "lumber-passes": lambda **worst: (
        f"Every lumber check passes. The highest is {_highest(**worst)}. Plates are not checked."
    ),
    "no-layout": "No layout of webs was found that keeps the opening clear and can be built.",
    "opening": lambda opening, fit: f"Opening {opening}: {tell(FITS, [fit])}",
    "rows-in-line": _rows_in_line,
    "cross-beam-told": (
        "A beam across {trusses} trusses that doesn't bend gives each {share_lb:lb}; the beam and its fastening are to"
        " be designed, and the trusses beside are changed like this one."
    ),
    "chord-deeper": (
        "The {role:plain} is deeper by {by_in:tape} on either side of its centerline: what it bears on or is sheathed"
        " with moves by as much."
    ),
    "fails-without-weight": (
        "With the weight gone it is at {ratio:.0%} of what is allowed: a weight that may be taken away can't be what"
        " makes it pass."
    ),
    "building": _building,
    "storage-raised": _raised,
    "storage-left-out": _left_out,
    **REASONS,
}
"""What decides about an option, in words for a builder and a designer alike. Why its kind is never called passing is a
reason of its verdict."""


def _computing(trusses: int, turn: int) -> str:
    how = "made stronger where they failed" if turn else "with today's lumber"
    return f"computing {counted(trusses, 'truss', 'trusses')}, {how}"


PROGRESS: Mapping[str, Says] = {
    "looking-for-ways": "looking for ways to clear the opening",
    "computing-trusses": _computing,
    "sorted": "sorted by how little changes",
}
"""What the search is doing, for who waits."""
