"""What an option's title says: the steps that lead from today's truss to it, one phrase each."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from trusses.analysis.words.lengths import feet_inches
from trusses.analysis.words.phrases import Says, listed, say

#: So many names of a list are told, and of a longer one all but the last of these.
_MOST_NAMES = 6
_CHORD = {"top_chord": "top chord", "bottom_chord": "bottom chord"}


def title(steps: Sequence[tuple[str, Mapping[str, Any]]]) -> str:
    """One heading: "Move the foot of W2 1'-2" toward the left bearing; bottom chord to 2x4 …"."""
    text = "; ".join(step(code, values) for code, values in _webs_taken_out_at_once(steps))
    return text[0].upper() + text[1:] if text else "Today's truss, with the opening drawn in"


def step(code: str, values: Mapping[str, Any]) -> str:
    return say(STEPS, code, values)


def _webs_taken_out_at_once(
    steps: Sequence[tuple[str, Mapping[str, Any]]],
) -> Iterable[tuple[str, Mapping[str, Any]]]:
    """Several webs taken out, one after the other, said at once and first."""
    out = [web for code, values in steps if code == "out" for web in values["webs"]]
    return [*([("out", {"webs": out})] if out else []), *((c, v) for c, v in steps if c != "out")]


def _names(names: Sequence[str]) -> str:
    if len(names) > _MOST_NAMES:
        names = [*names[: _MOST_NAMES - 1], f"{len(names) - _MOST_NAMES + 1} more"]
    return listed(names)


def _toward(shift_in: float, toward: str) -> str:
    return f"{feet_inches(shift_in)} toward {'midspan' if toward == 'middle' else f'the {toward} bearing'}"


def _panel(out: Sequence[str], moved: Sequence[str], width_in: float) -> str:
    says = f"take out {', '.join(out)}, " if out else ""
    says += f"frame a {feet_inches(width_in)} panel with verticals"
    return says + (f", move {', '.join(moved)} to it" if moved else "")


def _lumber(chords: Sequence[str], members: Sequence[str], key: str) -> str:
    said = ["chords"] if len(chords) == 2 else [_CHORD[role] for role in chords]
    return f"{_names([*said, *members])} to {key}"


STEPS: Mapping[str, Says] = {
    "out": lambda webs: f"take out {_names(webs)}",
    "splice": "move the {role:plain}'s splice from joint {joint} to joint {to}",
    "slide": lambda end, webs, shift_in, toward: f"move the {end} of {listed(webs)} {_toward(shift_in, toward)}",
    "point": lambda end, web, shift_in, toward: (
        f"move the {end} of {web} {_toward(shift_in, toward)}, to a panel point of its own"
    ),
    "aim": "aim the {end} of {web} at joint {joint}",
    "swap": "turn {web} to run from joint {joints[0]} to joint {joints[1]}",
    "panel": _panel,
    "add": "add a web ({web}) that breaks up the {panel_in:feet} panel of the {role:plain}",
    "lumber": _lumber,
    "rows": lambda webs: f"one more restraint row on {_names(webs)}",
    "held": "{role:plain} held every {spacing_in:feet}",
    "plies": lambda plies: "one more ply" if plies == 1 else f"{plies} more plies",
}
