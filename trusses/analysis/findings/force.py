"""Findings on what the forces do: uplift, reversal, webs that want restraint."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from trusses.analysis.checks.check import Finding
from trusses.analysis.checks.member_properties import pieces
from trusses.analysis.checks.unbraced_lengths import web_runs
from trusses.analysis.findings.shape import heels_off
from trusses.analysis.frame.geometry import geometry
from trusses.analysis.frame.results import Results, noise
from trusses.analysis.frame.topology import topology
from trusses.analysis.requirements.web_restraint import MOST_ROWS, web_rows

#: A force counts as reversing where the smaller of its two kinds is at least this share of the larger.
_REVERSES = 0.05


def force_findings(results: Results) -> Iterator[Finding]:
    """What the combinations show."""
    yield from _heels(results.combined)
    yield from _uplift(results.combined)
    yield from _reversals(results.combined)
    yield from _web_rows(results)
    yield from _unheld_joints(results.combined)


def _unheld_joints(combined: Results) -> Iterator[Finding]:
    """Joints that nothing holds sideways where webs are pressed, which are checked over the length through them."""
    truss = combined.truss
    shape = topology(truss)
    (runs,) = web_runs([truss], shape, geometry([truss], shape))
    if not runs:
        return
    axial, sideways = combined.extreme_axial, pieces(truss).le_out_of_plane[:, 0]
    pressed = (-axial[1]).max(axis=0) > noise(axial)
    at: dict[str, list[int]] = {}
    for web, end in runs:
        at.setdefault(truss.members[web].joints[end], []).append(web)
    for joint, webs in at.items():
        members = [truss.members[web].id for web in sorted(webs) if pressed[web]]
        if members:
            length = float(sideways[webs][pressed[webs]].max())
            yield Finding("joint-unheld", f"joint {joint}", {"joint": joint, "members": members, "length_in": length})


def _heels(combined: Results) -> Iterator[Finding]:
    truss = combined.truss
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
                "combination": combined.combinations[most].name,
            },
        )


def _uplift(combined: Results) -> Iterator[Finding]:
    up, names = -combined.reactions[:, :, 1], [combination.name for combination in combined.combinations]
    for i, bearing in enumerate(combined.truss.bearings):
        worst = int(up[:, i].argmax())
        if up[worst, i] > max(noise(up), 0.5):
            yield Finding(
                "uplift",
                f"bearing {bearing.joint}",
                {"joint": bearing.joint, "force_lb": float(up[worst, i]), "combination": names[worst]},
            )


def _reversals(combined: Results) -> Iterator[Finding]:
    axial = combined.extreme_axial
    pulled = np.maximum(axial[0], 0).max(axis=0)
    pushed = np.maximum(-axial[1], 0).max(axis=0)
    smaller, larger = np.minimum(pulled, pushed), np.maximum(pulled, pushed)
    reversing = (smaller > noise(axial)) & (smaller >= _REVERSES * larger)
    names = [member.id for member, reverses in zip(combined.truss.members, reversing, strict=True) if reverses]
    if names:
        yield Finding("force-reversal", f"members {', '.join(names)}", {"members": names})


def _web_rows(results: Results) -> Iterator[Finding]:
    for row in web_rows(results):
        if row.needed is None:
            yield Finding("web-too-slender", f"member {row.web}", {"web": row.web, "most_rows": MOST_ROWS})
        elif row.needed > row.stated:
            values = {"web": row.web, "rows": row.needed, "stated": row.stated}
            yield Finding("web-rows", f"member {row.web}", values)
