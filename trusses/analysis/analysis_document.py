"""The analysis document `chordchange.analysis` version 1: an analysis written, and its results read back."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from types import MappingProxyType
from typing import Any

import numpy as np
from numpy.typing import NDArray

from trusses.analysis.checks.check import HOLD_DOWN, PASSES, Check, Finding, Unchecked
from trusses.analysis.checks.surroundings import Surroundings
from trusses.analysis.clearance.openings import Fit
from trusses.analysis.format.document import sha256
from trusses.analysis.format.model import Truss
from trusses.analysis.frame.geometry import geometry
from trusses.analysis.frame.member_loads import layout, member_loads
from trusses.analysis.frame.results import Results
from trusses.analysis.frame.solution import Solution, blank
from trusses.analysis.frame.topology import topology
from trusses.analysis.loads.combinations import Combination, cases, factors_of
from trusses.analysis.piece_names import panel_names
from trusses.analysis.words import findings as words

Array = NDArray[np.float64]

_DIGITS = 10
# what is left of cancelling forces of this size is arithmetic, not force
_NOISE = 1e-11
# pounds, inches and inch-pounds below this are beyond what ten digits of a float can be rounded at
_NOTHING = 1e-200


def write(
    results: Results,
    *,
    engine: str,
    surroundings: Surroundings,
    checks: Sequence[Check],
    worst_ratio: float,
    openings: Sequence[Fit],
    findings: Sequence[Finding],
    not_checked: Sequence[Unchecked],
) -> dict[str, Any]:
    """The analysis document: plain JSON values, no NaN, no negative zero, ten significant digits."""
    truss, row, combined = results.truss, _rows(results.by_case), _rows(results.combined)
    told = surroundings.written({bearing.joint: bearing for bearing in truss.bearings})
    called = panel_names(truss.document)
    return {
        "format": "chordchange.analysis",
        "version": 1,
        "mark": truss.mark,
        "truss_sha256": sha256(truss.document),
        "engine": engine,
        **({"surroundings": told} if told else {}),
        "cases": {case: row(i) for i, case in enumerate(results.cases)},
        "combinations": {
            combination.name: {
                "factors": {case: figure(factor) for case, factor in combination.factors.items()},
                "load_duration": figure(combination.load_duration),
                **combined(i),
            }
            for i, combination in enumerate(results.combinations)
        },
        "envelope": envelope(results),
        "checks": [_check(check) for check in checks],
        "openings": [
            {"id": fit.id, "fits": fit.fits, "touches": list(fit.touches), "spare_in": figure(fit.spare_in)}
            for fit in openings
        ],
        "worst_ratio": figure(worst_ratio),
        "passes": worst_ratio <= PASSES,
        "not_checked": [words.unchecked(one, called) for one in not_checked],
        "findings": [
            {"code": f.code, "says": words.finding(f, called), "where": f.where, **_values(f)} for f in findings
        ],
    }


def _values(one: Finding) -> dict[str, Any]:
    """The figures of a finding that others reckon with, who read them and not its sentence."""
    if one.code != HOLD_DOWN:
        return {}
    return {"values": {key: figure(each) if isinstance(each, float) else each for key, each in one.values.items()}}


def read_back(truss: Truss, analysis: Mapping[str, Any], only: str | None = None) -> Results:
    """The results of a truss as its analysis document has them, to the stored digits, of all rows or of one
    combination alone. What they say of forces along members follows by statics from the stored ends and the truss's own
    loads: no frame is solved.

    Raises KeyError where there is no such combination, or the two don't belong together.
    """
    combined = analysis["combinations"] if only is None else {only: analysis["combinations"][only]}
    alone = analysis["cases"] if only is None else {}
    rows = [*alone.values(), *combined.values()]
    members, bearings = [member.id for member in truss.members], [bearing.joint for bearing in truss.bearings]

    def table(key: str, names: Sequence[str]) -> Array:
        # a truss without loads has no case: no rows, and still (0, names, 2)
        return np.array([[row[key][name] for name in names] for row in rows], dtype=float).reshape(-1, len(names), 2)

    of_members = [[row["members"][name] for name in members] for row in rows]
    axial, shear, moment = (
        np.array([[each[key] for each in row] for row in of_members], dtype=float).reshape(-1, len(members), 2)
        for key in ("axial_lb", "shear_lb", "moment_inlb")
    )
    combinations = tuple(
        Combination(name, MappingProxyType(dict(row["factors"])), row["load_duration"])
        for name, row in combined.items()
    )
    return Results(
        truss,
        tuple(alone),
        combinations,
        table("displacements_in", truss.names),
        table("reactions_lb", bearings),
        axial,
        shear,
        moment,
        _statics,
    )


def _statics(results: Results) -> Solution:
    """What forces along members follow from: the stored ends, with shear at the first ends from the moments at both.

    Ten digits of a shear are fewer of a moment that it makes on its way along the member; between two moments nothing
    grows.
    """
    truss = results.truss
    shape, every_case, m = topology(truss), cases(truss), len(truss.members)
    place, alone = geometry([truss], shape), {case.name: row for row, case in enumerate(every_case)}
    factors = np.eye(len(alone))[[alone[case] for case in results.cases]]
    factors = np.concatenate([factors, factors_of(results.combinations, every_case)])
    r, loads = len(factors), member_loads([truss], every_case, shape, place, layout(truss))
    solution = Solution(shape, every_case, place, loads, blank(shape, r, 1), {}, factors)
    solution.displacements[..., 0] = results.displacements.reshape(r, 2 * shape.joints)
    solution.reactions[..., 0] = results.reactions.transpose(0, 2, 1)
    ends = np.stack([results.end_axial, results.end_shear, results.end_moment], axis=1)
    solution.ends[..., 0] = ends.transpose(0, 1, 3, 2).reshape(r, 6, m)
    shear = solution.ends[:, 2]
    shear[:] = 0.0
    _, h, forces = solution.along(np.arange(m))
    _, v, moment, _, q = forces[:, :, -1].swapaxes(0, 1)
    shear[:] = (solution.ends[:, 5] - (moment + (v - q * h[-1] / 2) * h[-1])) / place.length
    return solution


def figure(value: float) -> float:
    """One number to ten significant digits. Raises ValueError on what JSON has no number for."""
    if not math.isfinite(value):
        raise ValueError(f"{value} can't stand in an analysis document")
    return float(f"{value:.{_DIGITS}g}") + 0.0


def _figures(values: Array) -> Array:
    """Rows of one kind of value to ten significant digits; what is noise beside the row's largest becomes zero."""
    if not np.isfinite(values).all():
        raise ValueError("an analysis document can't hold a value that is not finite")
    size = np.abs(values)
    largest = size.max(axis=tuple(range(1, values.ndim)), initial=0.0, keepdims=True)
    kept = np.where(size > np.maximum(_NOISE * largest, _NOTHING), values, 0.0)
    scale = 10.0 ** (_DIGITS - 1 - np.floor(np.log10(np.abs(kept), where=kept != 0, out=np.zeros_like(kept))))
    return np.round(kept * scale) / scale + 0.0


def _rows(some: Results) -> Callable[[int], dict[str, Any]]:
    """A function from a row's index to what an analysis document says of a case or combination."""
    truss = some.truss
    displacements = _figures(some.displacements).tolist()
    reactions = _figures(some.reactions).tolist()
    axial, shear = _figures(some.end_axial).tolist(), _figures(some.end_shear).tolist()
    moment, peak = _figures(some.end_moment).tolist(), _figures(some.peak_moment).tolist()

    def row(i: int) -> dict[str, Any]:
        return {
            "displacements_in": {joint.name: displacements[i][j] for j, joint in enumerate(truss.joints)},
            "reactions_lb": {bearing.joint: reactions[i][b] for b, bearing in enumerate(truss.bearings)},
            "members": {
                member.id: {
                    "axial_lb": axial[i][m],
                    "shear_lb": shear[i][m],
                    "moment_inlb": moment[i][m],
                    "peak_moment_inlb": peak[i][m],
                }
                for m, member in enumerate(truss.members)
            },
        }

    return row


def envelope(results: Results) -> dict[str, Any]:
    """The largest tension, compression, downward load and uplift over all combinations, in pounds, and by which."""
    truss, names = results.truss, [combination.name for combination in results.combinations]
    largest, least = _figures(results.combined.extreme_axial.transpose(1, 0, 2)).transpose(1, 0, 2)
    down = _figures(results.combined.reactions)[:, :, 1]
    return {
        "members": {
            member.id: _largest("tension", largest[:, m], names) | _largest("compression", -least[:, m], names)
            for m, member in enumerate(truss.members)
        },
        "reactions_lb": {
            bearing.joint: _largest("down", down[:, b], names) | _largest("uplift", -down[:, b], names)
            for b, bearing in enumerate(truss.bearings)
        },
    }


def _largest(what: str, values: Array, names: list[str]) -> dict[str, Any]:
    at = int(values.argmax())
    most = float(values[at])
    return {f"{what}_lb": most, f"{what}_by": names[at]} if most > 0 else {f"{what}_lb": 0.0, f"{what}_by": None}


def _check(check: Check) -> dict[str, Any]:
    numbers = {key: figure(getattr(check, key)) for key in ("demand", "capacity", "ratio")}
    return {
        "of": check.of,
        "id": check.id,
        "rule": check.rule,
        "source": check.source,
        "combination": check.combination,
        "at_in": None if check.at_in is None else figure(check.at_in),
        **numbers,
        "passes": bool(check.passes),
        "terms": {key: figure(value) if isinstance(value, float) else value for key, value in check.terms.items()},
    }
