"""Openings beside each other, and openings that have nothing to do with the truss at all. Inches."""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import NamedTuple

import shapely
from shapely.geometry.base import BaseGeometry

from trusses.analysis.clearance.free_space import TOUCH_IN, Space
from trusses.analysis.clearance.openings import fit
from trusses.analysis.format.model import Opening

_ROUND_IN = 1 / 64
"""What a round place drawn in chords lacks at most, and more: less than a tape shows."""


def gap(one: Opening, other: Opening) -> float:
    """How far two openings are from each other, each grown by its clearance; negative: by how much they overlap.

    Rectangles lie level, so a rectangle is a box and a circle a point, grown by its radius.
    """
    (ax, ay), (bx, by) = one.centre, other.centre
    (aw, ah), (bw, bh) = _core(one), _core(other)
    level, up = abs(ax - bx) - (aw + bw) / 2, abs(ay - by) - (ah + bh) / 2
    between = max(level, up) if max(level, up) < 0 else math.hypot(max(level, 0.0), max(up, 0.0))
    return between - _grown(one) - _grown(other)


def _core(opening: Opening) -> tuple[float, float]:
    return (0.0, 0.0) if opening.shape == "circle" else opening.size


def _grown(opening: Opening) -> float:
    return opening.clearance_in + (opening.size[0] / 2 if opening.shape == "circle" else 0.0)


def inside(one: Opening, other: Opening) -> bool:
    """Whether an opening lies wholly in another, both without their clearance."""
    (ax, ay), (bx, by), (w, h), (width, height) = one.centre, other.centre, one.size, other.size
    off, up = abs(ax - bx), abs(ay - by)
    if other.shape == "rectangle":
        return off + w / 2 <= width / 2 + TOUCH_IN and up + h / 2 <= height / 2 + TOUCH_IN
    reach = math.hypot(off, up) + w / 2 if one.shape == "circle" else math.hypot(off + w / 2, up + h / 2)
    return reach <= width / 2 + TOUCH_IN


class Overlap(NamedTuple):
    """The opening that another lies in, and by how much, with the clear space of both; inches."""

    opening: str
    by_in: float


def overlap(opening: Opening, others: Iterable[Opening]) -> Overlap | None:
    """Where `opening` overlaps any of `others`, the one that it overlaps most; None where it overlaps none."""
    met = [(gap(opening, other), other.id) for other in others]
    met = [(free, name) for free, name in met if free < -TOUCH_IN]
    if not met:
        return None
    free, name = min(met)
    return Overlap(name, -free)


def centres_beside(free: BaseGeometry, opening: Opening, others: Iterable[Opening]) -> BaseGeometry:
    """Of the places `free` for the centre of `opening` those where it overlaps none of `others`."""
    (width, height), grown = _core(opening), _grown(opening)
    for other in others:
        (x, y), (w, h) = other.centre, _core(other)
        met = shapely.box(x - (w + width) / 2, y - (h + height) / 2, x + (w + width) / 2, y + (h + height) / 2)
        free = free.difference(met.buffer(grown + _grown(other) + _ROUND_IN, quad_segs=64))
    return free


def beyond(room: Space, opening: Opening) -> float | None:
    """How far an opening lies from the truss when no part of it lies between the chords and it touches no wood.

    None for one that is in the truss, if only in part: that one gets an answer.
    """
    if fit(room, opening).touches:
        return None
    width, height = _core(opening)
    (x, y), radius = opening.centre, opening.size[0] / 2 if opening.shape == "circle" else 0.0
    bare = shapely.box(x - width / 2, y - height / 2, x + width / 2, y + height / 2)
    away = float(shapely.distance(bare, room.solid))
    return away - radius if away > 0 and away - radius >= 0 else None
