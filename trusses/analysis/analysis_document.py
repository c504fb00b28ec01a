"""An analysis as the analysis document `chordchange.analysis` version 1 writes it."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from trusses.analysis.checks.check import Check, Finding, Unchecked
from trusses.analysis.checks.surroundings import Surroundings
from trusses.analysis.clearance.openings import Fit
from trusses.analysis.format.document import sha256
from trusses.analysis.format.model import Truss
from trusses.analysis.frame.response import Response
from trusses.analysis.loads.combinations import Case, Combination
from trusses.analysis.piece_names import panel_names
from trusses.analysis.words import findings as words

Array = NDArray[np.float64]

_DIGITS = 10
# what is left of cancelling forces of this size is arithmetic, not force
_NOISE = 1e-11
# pounds, inches and inch-pounds below this are beyond what ten digits of a float can be rounded at
_NOTHING = 1e-200


def write(
    truss: Truss,
    surroundings: Surroundings,
    engine: str,
    cases: tuple[Sequence[Case], Response],
    combinations: tuple[Sequence[Combination], Response],
    checks: Sequence[Check],
    worst_ratio: float,
    passes: bool,
    openings: Sequence[Fit],
    findings: Sequence[Finding],
    not_checked: Sequence[Unchecked],
) -> dict[str, Any]:
    """The analysis document: plain JSON values, no NaN, no negative zero, ten significant digits. Cases and
    combinations come with the truss's response, a row each."""
    row, combined = _rows(truss, cases[1]), _rows(truss, combinations[1])
    told = surroundings.written({bearing.joint: bearing for bearing in truss.bearings})
    called = panel_names(truss.document)
    return {
        "format": "chordchange.analysis",
        "version": 1,
        "mark": truss.mark,
        "truss_sha256": sha256(truss.document),
        "engine": engine,
        **({"surroundings": told} if told else {}),
        "cases": {case.name: row(i) for i, case in enumerate(cases[0])},
        "combinations": {
            combination.name: {
                "factors": {case: figure(factor) for case, factor in combination.factors.items()},
                "load_duration": figure(combination.load_duration),
                **combined(i),
            }
            for i, combination in enumerate(combinations[0])
        },
        "envelope": envelope(truss, *combinations),
        "checks": [_check(check) for check in checks],
        "openings": [
            {"id": fit.id, "fits": fit.fits, "touches": list(fit.touches), "spare_in": figure(fit.spare_in)}
            for fit in openings
        ],
        "worst_ratio": figure(worst_ratio),
        "passes": passes,
        "not_checked": [words.unchecked(one, called) for one in not_checked],
        "findings": [{"code": f.code, "says": words.finding(f, called), "where": f.where} for f in findings],
    }


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


def _rows(truss: Truss, response: Response) -> Callable[[int], dict[str, Any]]:
    """A function from a row's index to what an analysis document says of a case or combination."""
    displacements = _figures(response.displacements).tolist()
    reactions = _figures(response.reactions).tolist()
    axial, shear = _figures(response.end_axial).tolist(), _figures(response.end_shear).tolist()
    moment, peak = _figures(response.end_moment).tolist(), _figures(response.peak_moment).tolist()

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


def envelope(truss: Truss, combinations: Sequence[Combination], response: Response) -> dict[str, Any]:
    """The largest tension, compression, downward load and uplift over all combinations, in pounds, and by which."""
    names = [combination.name for combination in combinations]
    tension, compression = _extremes(response)
    down = _figures(response.reactions)[:, :, 1]
    return {
        "members": {
            member.id: _largest("tension", tension[:, m], names) | _largest("compression", compression[:, m], names)
            for m, member in enumerate(truss.members)
        },
        "reactions_lb": {
            bearing.joint: _largest("down", down[:, b], names) | _largest("uplift", -down[:, b], names)
            for b, bearing in enumerate(truss.bearings)
        },
    }


def _extremes(response: Response) -> tuple[Array, Array]:
    """Largest axial tension and compression anywhere along each member, pounds, (rows, members) each."""
    # axial force runs straight within a segment, so its extremes stand at the segments' ends
    ends = response.axial - response.axial_load * response.segment_length
    along = _figures(np.concatenate([response.axial, ends], axis=2))
    return along.max(axis=2), -along.min(axis=2)


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
