"""Findings on what the forces do: uplift, reversal, webs that want restraint."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from trusses.analysis.checks.check import Finding
from trusses.analysis.findings.shape import heels_off
from trusses.analysis.format.lengths import tape_inches
from trusses.analysis.format.model import Truss
from trusses.analysis.frame.response import Response
from trusses.analysis.frame.stations import noise, stations
from trusses.analysis.loads.combinations import Case, Combination, combinations, factors_of
from trusses.analysis.requirements.web_restraint import MOST_ROWS, rows_needed

#: A force counts as reversing where the smaller of its two kinds is at least this share of the larger.
_REVERSES = 0.05


def force_findings(truss: Truss, cases: Sequence[Case], response: Response) -> Iterator[Finding]:
    """What the combinations show; `response` has a row a case."""
    all_of_them = combinations(truss, cases)
    combined = response.combine(factors_of(all_of_them, cases))
    yield from _heels(truss, all_of_them, combined)
    yield from _uplift(truss, all_of_them, combined)
    yield from _reversals(truss, combined)
    yield from _web_rows(truss, all_of_them, combined)


def _heels(truss: Truss, all_of_them: Sequence[Combination], combined: Response) -> Iterator[Finding]:
    for i, off in heels_off(truss):
        bearing, force = truss.bearings[i], combined.reactions[:, i, 1]
        most = int(np.abs(force).argmax())
        lb = abs(float(force[most]))
        # statics: the reaction stands so far from where the forces of the chords meet
        means = (
            f" The {lb:,.0f} lb there ({all_of_them[most].name}) make {lb * off:,.0f} in-lb of that." if lb >= 1 else ""
        )
        yield Finding(
            "heel-eccentricity",
            f"The chords' centerlines cross {tape_inches(off)} from the middle of the bearing at {bearing.joint},"
            f" outside its {tape_inches(bearing.width_in)}: a moment bends the chord at the heel, and its plates are to"
            f" be designed for it.{means}",
            f"bearing {bearing.joint}",
        )


def _uplift(truss: Truss, all_of_them: Sequence[Combination], combined: Response) -> Iterator[Finding]:
    up = -combined.reactions[:, :, 1]
    for i, bearing in enumerate(truss.bearings):
        worst = int(up[:, i].argmax())
        if up[worst, i] > max(noise(up), 0.5):
            yield Finding(
                "uplift",
                f"The bearing at {bearing.joint} is lifted by up to {up[worst, i]:,.0f} lb ({all_of_them[worst].name})"
                ": a connection has to hold it down, and connections aren't checked here.",
                f"bearing {bearing.joint}",
            )


def _reversals(truss: Truss, combined: Response) -> Iterator[Finding]:
    axial = stations(combined).axial
    pulled = np.maximum(axial, 0).max(axis=(0, 2))
    pushed = np.maximum(-axial, 0).max(axis=(0, 2))
    smaller, larger = np.minimum(pulled, pushed), np.maximum(pulled, pushed)
    reversing = (smaller > noise(axial)) & (smaller >= _REVERSES * larger)
    names = [member.id for member, reverses in zip(truss.members, reversing, strict=True) if reverses]
    if names:
        yield Finding(
            "force-reversal",
            f"The force in {', '.join(names)} is tension under some combinations and compression under others: plates"
            " and restraint have to serve both.",
            f"members {', '.join(names)}",
        )


def _web_rows(truss: Truss, all_of_them: Sequence[Combination], combined: Response) -> Iterator[Finding]:
    for web, rows in rows_needed(truss, all_of_them, combined).items():
        stated = truss.lateral_restraint.webs.get(web, 0)
        if rows is None:
            yield Finding(
                "web-too-slender",
                f"{web} doesn't pass in compression with up to {MOST_ROWS} rows of lateral restraint either: it needs a"
                " larger or stiffer piece.",
                f"member {web}",
            )
        elif rows > stated:
            needs = "1 row" if rows == 1 else f"{rows} rows"
            yield Finding(
                "web-rows",
                f"{web} needs {needs} of lateral restraint to pass in compression; the document has {stated}.",
                f"member {web}",
            )
