"""A panel framed around an opening: the webs in the way taken out, an upright web on either side, triangles beyond.

Such a panel has no diagonal: its chords carry the shear by bending, which is why it belongs where shear is low. Inches.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import product

import numpy as np

from trusses.analysis.format.model import CHORDS, Opening
from trusses.analysis.redesign.building import USUAL, Building, apart
from trusses.analysis.redesign.draft import Draft, Illegal
from trusses.analysis.redesign.layouts import Layout, Note, depth, diagonals, faces

#: Uprights stand on this grid, and a panel point this near is moved there rather than a new one made, inches.
_GRID_IN = 0.25
_NEAR_IN = 14.0
_WAYS = 4
_SAME_IN = 1e-3


def framed(layout: Layout, web: str, opening: Opening, building: Building = USUAL) -> Iterator[Layout]:
    """Layouts with a panel framed around `opening`, whose uprights are of the lumber of `web`."""
    left, right = _uprights(layout.draft, web, opening, building)
    for near in (_NEAR_IN, 0.0):
        draft = layout.draft.copy()
        like = draft.copy()
        try:
            out = _clear_out(draft, left, right)
            posts = [_post(draft, x, side, near) for x, side in ((left, -1), (right, 1))]
            added = [_upright(draft, post, like, web) for post in posts]
        except Illegal:
            continue
        yield from _triangulated(layout, draft, posts, [*out, *(name for name in added if name)], web, right - left)


def _uprights(draft: Draft, web: str, opening: Opening, building: Building) -> tuple[float, float]:
    """The centrelines of the uprights: just clear of the opening, their panel points far enough from it, rounded
    outward."""
    half = opening.size[0] / 2 + opening.clearance_in + building.tolerance_in + depth(draft, web) / 2
    chords = [np.array([draft.at(joint) for joint in draft.chord_joints(role)]) for role in CHORDS]
    found = []
    for side in (-1, 1):
        x = side * math.ceil(side * (opening.centre[0] + side * half) / _GRID_IN - 1e-9) * _GRID_IN
        for _ in range(round((half + building.from_joints_in) / _GRID_IN)):
            ends = np.array([(x, np.interp(x, *line.T)) for line in chords])
            if apart([opening], ends).min() >= building.from_joints_in - 1e-9:
                break
            x += side * _GRID_IN
        found.append(x)
    return found[0], found[1]


def _clear_out(draft: Draft, left: float, right: float) -> list[str]:
    """Takes out every web that stands in the panel or runs across one of its uprights."""
    gone = []
    for name in draft.webs():
        xs = [x for x, _ in draft.ends(name)]
        if max(xs) > left + _SAME_IN and min(xs) < right - _SAME_IN:
            draft.take_out(name)
            gone.append(name)
    return gone


def _post(draft: Draft, x: float, side: int, near: float) -> dict[str, str]:
    """Panel points on both chords for an upright at x: one that is there, one moved there, or a new one."""
    return {role: _panel_point(draft, role, x, side, near) for role in CHORDS}


def _panel_point(draft: Draft, role: str, x: float, side: int, near: float) -> str:
    for joint in draft.chord_joints(role):
        if abs(draft.at(joint)[0] - x) <= _SAME_IN:
            return joint
    beyond = [j for j in draft.chord_joints(role) if 0 < side * (draft.at(j)[0] - x) <= near]
    for joint in sorted(beyond, key=lambda j: abs(draft.at(j)[0] - x)):
        if draft.straight_through(joint) and all(draft.movable(name) for name in draft.webs_at(joint)):
            draft.slide(joint, x)
            return joint
    return draft.split(role, x)


def _upright(draft: Draft, post: dict[str, str], like: Draft, web: str) -> str | None:
    a, b = post["top_chord"], post["bottom_chord"]
    if draft.joined(a, b):
        return None
    name = draft.add_web(a, b, _template(draft, like, web))
    draft.members[name] |= {k: v for k, v in like.members[web].items() if k in ("lumber", "flat")}
    return name


def _template(draft: Draft, like: Draft, web: str) -> str:
    """Any member to copy from; its lumber is then replaced by that of the web that was in the way."""
    return web if web in draft.members else next(iter(draft.members))


def _triangulated(
    layout: Layout, draft: Draft, posts: list[dict[str, str]], changed: list[str], web: str, width: float
) -> Iterator[Layout]:
    """The layout with the spaces beside the panel made into triangles, each way that there is."""
    feet = {joint for post in posts for joint in post.values()}
    ways = []
    for corners in faces(draft):
        if feet & set(corners) and not feet <= set(corners) and len(corners) > 3:
            choices = diagonals(draft, corners)[:2]
            ways.append(choices or [()])
    before = layout.draft
    for chosen in list(product(*ways))[:_WAYS]:
        whole = draft.copy()
        new = []
        try:
            for a, b in (pair for pairs in chosen for pair in pairs):
                name = whole.add_web(a, b, _template(whole, before, web))
                whole.members[name] |= {k: v for k, v in before.members[web].items() if k in ("lumber", "flat")}
                new.append(name)
        except Illegal:
            continue
        moved = [n for n in whole.webs() if n in before.members and before.ends(n) != whole.ends(n)]
        yield layout.then(whole, _note(before, whole, [*changed, *new, *moved], moved, width), *feet)


def _note(before: Draft, after: Draft, touched: list[str], moved: list[str], width: float) -> Note:
    out = [name for name in before.webs() if name not in after.members]
    values = {"out": tuple(out), "moved": tuple(moved), "width_in": width}
    return Note("panel", tuple(dict.fromkeys(touched)), values)
