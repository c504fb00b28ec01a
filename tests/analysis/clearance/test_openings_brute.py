"""Clear openings against brute force: random shapes on the example trusses, drawn and tried another way."""

from __future__ import annotations

import dataclasses
import math
import random
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import shapely

from trusses.analysis.clearance.openings import fit, nearest, space
from trusses.analysis.format.document import read
from trusses.analysis.format.model import Opening, Truss

EXAMPLES = Path(__file__).parents[1] / "examples"


def example(name: str) -> Truss:
    return read((EXAMPLES / f"{name}.truss.json").read_bytes())


def circle(x: float, y: float, diameter: float, clearance: float = 0.0) -> Opening:
    return Opening("O", "circle", (x, y), diameter_in=diameter, clearance_in=clearance)


def rectangle(x: float, y: float, width: float, height: float, clearance: float = 0.0) -> Opening:
    return Opening("O", "rectangle", (x, y), width_in=width, height_in=height, clearance_in=clearance)


class TestBruteForce:
    @pytest.mark.parametrize("name", ["E1", "E3", "E5", "E7", "E10"])
    def test_spare_against_plain_polygons(self, name: str) -> None:
        one = example(name)
        room = space(one)
        dice = random.Random(name)
        (left, low, right, high) = room.outline.region.bounds
        wood = polygons(one)
        overlaps = 0
        for _ in range(40):
            x, y = dice.uniform(left, right), dice.uniform(low, high)
            clearance = dice.choice([0.0, 0.5, 1.0])
            if dice.random() < 0.5:
                opening = circle(x, y, dice.uniform(2, 14), clearance)
                bare = shapely.Point(x, y)
                keep = opening.size[0] / 2 + clearance
            else:
                opening = rectangle(x, y, dice.uniform(2, 24), dice.uniform(2, 12), clearance)
                w, h = opening.size
                bare, keep = shapely.box(x - w / 2, y - h / 2, x + w / 2, y + h / 2), clearance
            apart = {member: piece.distance(bare) - keep for member, piece in wood.items()}
            answer = fit(room, opening)
            hit = {m for m, piece in wood.items() if apart[m] < -1e-6 or piece.intersection(bare).area > 1e-9}
            assert set(answer.touches) == hit
            if hit:
                overlaps += 1
                need = leaving(wood, bare, keep)
                assert need > 0
                # with its centre outside it has farther to go than off the wood that it overlaps
                assert -answer.spare_in > need - 1e-9 if answer.outside else need == pytest.approx(-answer.spare_in)
            elif not answer.outside:
                assert answer.spare_in == pytest.approx(min(apart.values()), abs=1e-9)
        assert overlaps > 5

    @pytest.mark.parametrize("name", ["E1", "E5", "E7", "E10", "E13"])
    def test_nothing_nearer_fits_than_the_nearest_place(self, name: str) -> None:
        one = space(example(name))
        dice = random.Random(name)
        (left, low, right, high) = one.outline.region.bounds
        moved = 0
        for _ in range(10):
            x, y = dice.uniform(left, right), dice.uniform(low, high)
            opening = circle(x, y, 6, 0.5) if dice.random() < 0.5 else rectangle(x, y, 8, 5, 0.5)
            found = nearest(one, opening)
            assert found is not None
            there = dataclasses.replace(opening, centre=found.centre_in)
            assert fit(one, there).fits
            assert found.moved_in == pytest.approx(math.dist(found.centre_in, (x, y)))
            assert (found.moved_in == 0) == fit(one, opening).fits
            moved += found.moved_in > 0
            for _ in range(40):
                turn, away = dice.uniform(0, 2 * math.pi), max(found.moved_in - 1 / 16, 0) * math.sqrt(dice.random())
                nearer = (x + away * math.cos(turn), y + away * math.sin(turn))
                assert found.moved_in == 0 or not fit(one, dataclasses.replace(opening, centre=nearer)).fits
        assert moved > 2


def polygons(one: Truss) -> dict[str, Any]:
    """Members' rectangles drawn another way than the code under test draws them."""
    out = {}
    for member in one.members:
        a, b = one.ends(member)
        deep = 1.5 if member.flat else {"2x4": 3.5, "2x6": 5.5, "2x8": 7.25}[member.lumber.split()[0]]
        line = shapely.LineString([(a.x, a.y), (b.x, b.y)])
        out[member.id] = line.buffer(deep / 2, cap_style="flat")
    return out


def leaving(wood: dict[str, Any], bare: Any, keep: float) -> float:
    """The largest, over members, of the least move that takes the grown shape off that member.

    Two convex shapes are parted most cheaply across a side of one of them, so the sides' directions are all to try.
    """
    worst = 0.0
    points = shapely.get_coordinates(bare)
    for piece in wood.values():
        if piece.distance(bare) > 0:
            worst = max(worst, keep - piece.distance(bare))
            continue
        corners = shapely.get_coordinates(piece)
        sides = np.concatenate([np.diff(corners, axis=0), np.diff(points, axis=0)])
        ways = np.stack([sides[:, 1], -sides[:, 0]]) / np.hypot(sides[:, 0], sides[:, 1])
        ways = np.concatenate([ways, -ways], axis=1)
        need = (corners @ ways).max(axis=0) - (points @ ways).min(axis=0)
        worst = max(worst, float(need.min()) + keep)
    return worst
