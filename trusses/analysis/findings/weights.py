"""Findings on weights that stand or hang on a truss: dead load at a place, which may be gone again."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from trusses.analysis.checks.check import HOLD_DOWN, Check, Finding
from trusses.analysis.findings.load import wind_lifts
from trusses.analysis.format.document import read_stored
from trusses.analysis.format.model import Truss
from trusses.analysis.frame.results import Results, noise
from trusses.analysis.frame.solve import solve
from trusses.analysis.loads.combinations import cases, helps_against_wind
from trusses.analysis.loads.weights import weights
from trusses.analysis.words.checks import short
from trusses.analysis.words.loads import is_without

#: That a truss is over a limit where a weight is gone that relieves it.
WEIGHTS_HELP = "weights-help"
_LEAST_LB = 0.5
#: As much of the dead load but the weights is all of it: what rounding of the share leaves, each time a weight was put
#: on the truss.
_ALL = 0.99
_MORE = 1.002


def weight_findings(results: Results) -> Iterator[Finding]:
    """What the truss counts on weights for, or on the rest of its dead load because of them."""
    truss = results.truss
    pressed = _pressed(truss)
    if pressed is None or not (pressed > _LEAST_LB).any():
        return
    yield from _shares(results, pressed)
    yield from _ties(results, pressed)


def gone_finding(checks: Sequence[Check], as_loaded: Sequence[Check]) -> Iterator[Finding]:
    """What is over a limit only where weights are gone: of all checks at their worst, and of those with all weights."""
    over = [one for one in checks if not one.passes and is_without(one.combination)]
    were = {(one.of, one.id, one.rule): one.ratio for one in as_loaded if not one.passes}
    alone = [one for one in over if (one.of, one.id, one.rule) not in were]
    if not alone:
        return
    worst = max(alone, key=lambda one: one.ratio)
    was = next((one.ratio for one in as_loaded if (one.of, one.id, one.rule) == (worst.of, worst.id, worst.rule)), 0.0)
    others = len({(one.of, one.id) for one in alone} - {(worst.of, worst.id)})
    yield Finding(WEIGHTS_HELP, f"{worst.of} {worst.id}", {**short(worst), "with_ratio": was, "others": others})


def _shares(results: Results, pressed: np.ndarray) -> Iterator[Finding]:
    """A share of all the dead load that is as much as everything but the weights."""
    truss = results.truss
    share = truss.uplift_dead_share
    if share is None or not wind_lifts(truss):
        return
    dead = _dead(results)
    rest = dead - pressed
    on = (pressed > _LEAST_LB) & (dead > _LEAST_LB)
    part = share * dead[on] / np.maximum(rest[on], _LEAST_LB)
    if part.size and part.max() >= _ALL:
        values = {"share": share, "over": bool(part.max() > _MORE)}
        yield Finding("uplift-dead-share-weights", "uplift_dead_share", values)


def _ties(results: Results, pressed: np.ndarray) -> Iterator[Finding]:
    """Bearings that dead load, snow or live load lifts by more where the weights are gone; against wind the share of
    the dead load is there for that."""
    combined = results.combined
    up = -combined.reactions[:, :, 1]
    held = np.array([sum(f for case, f in each.factors.items() if _is_dead(case)) for each in combined.combinations])
    others = np.array([not helps_against_wind(each) for each in combined.combinations])
    without = np.where(others[:, None], up + held[:, None] * pressed, -np.inf)
    for i, bearing in enumerate(combined.truss.bearings):
        worst = int(without[:, i].argmax())
        told = max(float(up[:, i].max()), 0.0)
        if without[worst, i] > max(told + _LEAST_LB, noise(up)):
            values = {
                "joint": bearing.joint,
                "force_lb": float(without[worst, i]),
                "combination": combined.combinations[worst].name,
                "told_lb": told,
            }
            yield Finding(HOLD_DOWN, f"bearing {bearing.joint}", values)


def _dead(results: Results) -> np.ndarray:
    """What dead load presses on each bearing, (b,) lb."""
    rows = [i for i, name in enumerate(results.cases) if _is_dead(name)]
    return np.asarray(results.by_case.reactions[rows, :, 1].sum(axis=0))


def _is_dead(case: str) -> bool:
    return case.split("/")[0] == "dead"


def _pressed(truss: Truss) -> np.ndarray | None:
    """What weights press on each bearing, (b,) lb; None where there are none."""
    loads = weights(truss)
    if loads is None:
        return None
    alone = read_stored({**truss.document, "loads": loads})
    return np.asarray(solve(alone, cases(alone)).reactions[:, :, 1].sum(axis=0))
