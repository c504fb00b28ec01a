"""Members cut at every place where a load of any case begins, ends or stands: between two of them loads are uniform."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from trusses.analysis.format.model import TOUCH
from trusses.analysis.frame.member_loads import MOST_PIECES, MemberLoads, Pieces, add_pieces
from trusses.analysis.loads.combinations import LoadError


@dataclass(frozen=True)
class Segments:
    """Loads along members cut at every place where one begins, ends or stands: k segments, padded with some of no
    length at the far end. `nodes` (k + 1, c, t) inches, from 0 to the length; `axial` and `transverse` (r, k, c, t)
    lb/in between the nodes; `axial_at` and `transverse_at` (r, k + 1, c, t) lb at them, None where nothing stands."""

    nodes: np.ndarray
    axial: np.ndarray
    transverse: np.ndarray
    axial_at: np.ndarray | None
    transverse_at: np.ndarray | None


def segments(loads: MemberLoads, length: np.ndarray, members: np.ndarray) -> Segments:
    """The loads along some `members` (c,) of those of `length` (m, t) inches, in segments.

    Raises LoadError where there are more than MOST_PIECES.
    """
    full, among = length.take(members, axis=0), loads.on.among.take(members)
    axial, transverse = (_whole(along, among) for along in (loads.axial, loads.transverse))
    (r, c, t), places = axial.shape, np.full(len(length), -1)
    places[members] = np.arange(c)
    strips, points = (one and one.among(places) for one in (loads.strips, loads.points))
    if strips is None and points is None:
        return Segments(np.stack([np.zeros_like(full), full]), axial[:, None], transverse[:, None], None, None)
    nodes = _nodes([one for one in (strips, points) if one is not None], full)
    k = len(nodes) - 1
    check_pieces(r * k * (c + (0 if strips is None else len(strips.truss))))
    axial, transverse = (np.repeat(whole[:, None], k, axis=1) for whole in (axial, transverse))
    if strips is not None:
        share = nodes[:, strips.member, strips.truss].T / full[strips.member, strips.truss, None]
        middle = (share[:, :-1] + share[:, 1:]) / 2
        inside = ((strips.start[:, None] < middle) & (middle < strips.end[:, None]))[:, None] * strips.rows[:, :, None]
        add_pieces(axial, strips, strips.axial[:, None, None] * inside)
        add_pieces(transverse, strips, strips.transverse[:, None, None] * inside)
    if points is None:
        return Segments(nodes, axial, transverse, None, None)
    at = np.zeros((2, r, k + 1, c, t))
    touch = full[points.member, points.truss] * (points.start - TOUCH)
    node = (nodes[:, points.member, points.truss] < touch).sum(axis=0)
    stands = (np.arange(k + 1) == node[:, None])[:, None] * points.rows[:, :, None]
    add_pieces(at[0], points, points.axial[:, None, None] * stands)
    add_pieces(at[1], points, points.transverse[:, None, None] * stands)
    return Segments(nodes, axial, transverse, at[0], at[1])


def check_pieces(count: int) -> None:
    """Raises LoadError for more pieces of members, in all rows, than are analysed."""
    if count > MOST_PIECES:
        raise LoadError("too-many-pieces", "loads")


def _whole(along: np.ndarray, among: np.ndarray) -> np.ndarray:
    """What loaded members (r, c, t) carry whole, for members that stand `among` them or carry nothing, where -1 is."""
    out = np.zeros((len(along), len(among), along.shape[2]))
    loaded = among >= 0
    out[:, loaded] = along[:, among[loaded]]
    return out


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
