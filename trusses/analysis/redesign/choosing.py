"""Which of all that was computed is shown, and in which order: the least change first."""

from __future__ import annotations

from collections.abc import Sequence

from trusses.analysis.redesign.trials import Tried

_FAR_OFF = 3.0


def chosen(passing: Sequence[Tried], failing: Sequence[Tried], offered: int) -> list[Tried]:
    """What is shown: a few that pass and differ in kind, the least change first, none worse than another in all that
    counts; then the best that fails."""
    shown: list[Tried] = []
    for one in sorted(passing, key=order):
        if len(shown) >= offered:
            break
        if not _in_vain(one, shown):
            shown.append(one)
    if not any(map(_is_twin, shown)):
        # it changes twice as much as what it is the twin of: without a place of its own a list of five never has it
        twins = (one for one in sorted(passing, key=order) if _is_twin(one))
        kept = shown[: offered - 1]
        shown = next(([*kept, one] for one in twins if not _in_vain(one, shown)), shown)
    if not failing:
        return shown
    # beside options that pass, the smallest change that doesn't says why more is needed; alone, what comes closest
    near = [one for one in failing if one.worst < _FAR_OFF] if shown else []
    if near:
        return [*shown, min(near, key=lambda one: (one.extent, round(one.worst, 6)))]
    return [*shown, min(failing, key=lambda one: (round(one.worst, 2), one.extent))]


def _in_vain(one: Tried, shown: Sequence[Tried]) -> bool:
    """Whether it is no better than another one, or of the same kind."""
    return any(_worse(one, other) or one.change.kind == other.change.kind for other in shown)


def _is_twin(one: Tried) -> bool:
    return any(note.kind == "twin" for note in one.line.notes)


def _worse(one: Tried, other: Tried) -> bool:
    """Whether one is no better than another in anything that counts."""
    return all(a >= b - 1e-6 for a, b in zip(_counts(one), _counts(other), strict=True))


def _counts(one: Tried) -> tuple[float, ...]:
    touched, set_ups, pieces, feet = one.change.size
    # a ratio is told in whole percent: what gains less gains nothing
    return touched, set_ups + pieces, one.costs if one.rates else feet, round(one.worst, 2)


def order(one: Tried) -> tuple[object, ...]:
    touched, set_ups, pieces, feet = one.change.size
    return touched, set_ups, one.costs, pieces, feet, round(one.worst, 6), one.change.lumber, one.change.notes_key
