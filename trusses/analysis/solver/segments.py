"""Members cut at every place where a load of any case begins, ends or stands: between two of them loads are uniform."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from trusses.analysis.loads import LoadError
from trusses.analysis.solver.geometry import TOUCH
from trusses.analysis.solver.member_loads import MOST_PIECES, MemberLoads, Pieces, add_pieces


@dataclass(frozen=True)
class Segments:
    """Loads along members cut at every place where one begins, ends or stands: k segments, padded with some of no
    length at the far end. `nodes` (k + 1, m, t) inches, from 0 to the length; `axial` and `transverse` (r, k, m, t)
    lb/in between the nodes; `axial_at` and `transverse_at` (r, k + 1, m, t) lb at them, None where nothing stands."""

    nodes: np.ndarray
    axial: np.ndarray
    transverse: np.ndarray
    axial_at: np.ndarray | None
    transverse_at: np.ndarray | None


def segments(loads: MemberLoads, length: np.ndarray) -> Segments:
    """The loads along members of `length` (m, t) inches, in segments.

    Raises LoadError where there are more than MOST_PIECES.
    """
    r, m, t = loads.axial.shape
    if loads.strips is None and loads.points is None:
        ends = np.stack([np.zeros_like(length), length])
        return Segments(ends, loads.axial[:, None], loads.transverse[:, None], None, None)
    nodes = _nodes([one for one in (loads.strips, loads.points) if one is not None], length)
    k = len(nodes) - 1
    if r * k * (m + (0 if loads.strips is None else len(loads.strips.truss))) > MOST_PIECES:
        raise LoadError("loads: the loads cut the members into too many pieces to analyse")
    axial, transverse = (np.repeat(whole[:, None], k, axis=1) for whole in (loads.axial, loads.transverse))
    if loads.strips is not None:
        one = loads.strips
        its = nodes[:, one.member, one.truss].T / length[one.member, one.truss, None]
        middle = (its[:, :-1] + its[:, 1:]) / 2
        inside = ((one.start[:, None] < middle) & (middle < one.end[:, None]))[:, None] * one.rows[:, :, None]
        add_pieces(axial, one, one.axial[:, None, None] * inside)
        add_pieces(transverse, one, one.transverse[:, None, None] * inside)
    if loads.points is None:
        return Segments(nodes, axial, transverse, None, None)
    one, at = loads.points, np.zeros((2, r, k + 1, m, t))
    touch = length[one.member, one.truss] * (one.start - TOUCH)
    node = (nodes[:, one.member, one.truss] < touch).sum(axis=0)
    stands = (np.arange(k + 1) == node[:, None])[:, None] * one.rows[:, :, None]
    add_pieces(at[0], one, one.axial[:, None, None] * stands)
    add_pieces(at[1], one, one.transverse[:, None, None] * stands)
    return Segments(nodes, axial, transverse, at[0], at[1])


def _nodes(pieces: list[Pieces], length: np.ndarray) -> np.ndarray:
    """The places (k + 1, m, t) along each member where a load begins, ends or stands, its own ends among them."""
    truss, member = (np.concatenate([getattr(one, name) for one in pieces for _ in (0, 1)]) for name in _WHICH)
    share = np.concatenate([places for one in pieces for places in (one.start, one.end)])
    full = length[member, truss]
    # a place within touch of either end is that end
    within = (share > TOUCH) & (share < 1 - TOUCH)
    t = length.shape[1]
    line, place = (member * t + truss)[within], (share * full)[within]
    order = np.lexsort((place, line))
    line, place = line[order], place[order]
    # and one within touch of the place before it is that place
    new = np.ones(len(line), dtype=bool)
    new[1:] = (line[1:] != line[:-1]) | (place[1:] - place[:-1] > TOUCH * full[within][order][1:])
    line, place = line[new], place[new]
    rank = np.arange(len(line)) - np.searchsorted(line, line)
    nodes = np.repeat(length[None], int(rank.max(initial=-1)) + 3, axis=0)
    nodes[0] = 0.0
    nodes[rank + 1, line // t, line % t] = place
    return nodes


_WHICH = ("truss", "member")
