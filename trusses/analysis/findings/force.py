"""Findings on what the forces do: uplift, reversal, webs that want restraint."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from trusses.analysis.checks.check import Finding
from trusses.analysis.checks.member_properties import pieces
from trusses.analysis.checks.unbraced_lengths import web_runs
from trusses.analysis.findings.shape import heels_off
from trusses.analysis.format.model import Truss
from trusses.analysis.frame.geometry import geometry
from trusses.analysis.frame.response import Response
from trusses.analysis.frame.stations import noise, stations
from trusses.analysis.frame.topology import topology
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
    yield from _unheld_joints(truss, combined)


def _unheld_joints(truss: Truss, combined: Response) -> Iterator[Finding]:
    """Joints that nothing holds sideways where webs are pressed, which are checked over the length through them."""
    shape = topology(truss)
    (runs,) = web_runs([truss], shape, geometry([truss], shape))
    if not runs:
        return
    axial, sideways = stations(combined).axial, pieces(truss).le_out_of_plane[:, 0]
    pressed = (-axial).max(axis=(0, 2)) > noise(axial)
    at: dict[str, list[int]] = {}
    for web, end in runs:
        at.setdefault(truss.members[web].joints[end], []).append(web)
    for joint, webs in at.items():
        members = [truss.members[web].id for web in sorted(webs) if pressed[web]]
        if members:
            length = float(sideways[webs][pressed[webs]].max())
            yield Finding("joint-unheld", f"joint {joint}", {"joint": joint, "members": members, "length_in": length})


def _heels(truss: Truss, all_of_them: Sequence[Combination], combined: Response) -> Iterator[Finding]:
    for i, off in heels_off(truss):
        bearing = truss.bearings[i]
        on_it = truss.members_at[bearing.joint]
        over = [combined.end_moment[:, truss.member_index[m.id], m.joints.index(bearing.joint)] for m in on_it]
        moment = np.abs(over).max(axis=0)
        most = int(moment.argmax())
        yield Finding(
            "heel-eccentricity",
            f"bearing {bearing.joint}",
            {
                "joint": bearing.joint,
                "off_in": off,
                "width_in": bearing.width_in,
                "role": on_it[0].role,
                "members": [member.id for member in on_it],
                "moment_inlb": float(moment[most]),
                "combination": all_of_them[most].name,
            },
        )


def _uplift(truss: Truss, all_of_them: Sequence[Combination], combined: Response) -> Iterator[Finding]:
    up = -combined.reactions[:, :, 1]
    for i, bearing in enumerate(truss.bearings):
        worst = int(up[:, i].argmax())
        if up[worst, i] > max(noise(up), 0.5):
            yield Finding(
                "uplift",
                f"bearing {bearing.joint}",
                {"joint": bearing.joint, "force_lb": float(up[worst, i]), "combination": all_of_them[worst].name},
            )


def _reversals(truss: Truss, combined: Response) -> Iterator[Finding]:
    axial = stations(combined).axial
    pulled = np.maximum(axial, 0).max(axis=(0, 2))
    pushed = np.maximum(-axial, 0).max(axis=(0, 2))
    smaller, larger = np.minimum(pulled, pushed), np.maximum(pulled, pushed)
    reversing = (smaller > noise(axial)) & (smaller >= _REVERSES * larger)
    names = [member.id for member, reverses in zip(truss.members, reversing, strict=True) if reverses]
    if names:
        yield Finding("force-reversal", f"members {', '.join(names)}", {"members": names})


def _web_rows(truss: Truss, all_of_them: Sequence[Combination], combined: Response) -> Iterator[Finding]:
    for web, rows in rows_needed(truss, all_of_them, combined).items():
        stated = truss.lateral_restraint.webs.get(web, 0)
        if rows is None:
            yield Finding("web-too-slender", f"member {web}", {"web": web, "most_rows": MOST_ROWS})
        elif rows > stated:
            yield Finding("web-rows", f"member {web}", {"web": web, "rows": rows, "stated": stated})
