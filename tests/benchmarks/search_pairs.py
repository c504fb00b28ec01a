"""Pairs of a truss and an opening that a web is in the way of: every shape, 12 to 48 ft, from a seed.

Invented, and ordinary: lumber, loads, pitches and sizes are those of houses. A truss that doesn't carry its loads gets
better lumber, and is left out where none is good enough.
"""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import dataclass

from trusses.analysis.analysis import analyse
from trusses.analysis.clearance.openings import fit, space
from trusses.analysis.format.document import DocumentError, read
from trusses.analysis.format.model import Opening, Truss
from trusses.analysis.frame.solve import Mechanism
from trusses.analysis.loads.arrangements import missing
from trusses.analysis.lumber import LUMBER
from trusses.analysis.shapes.shapes import KINDS, ShapeError, build

ROUND = (6, 8, 10, 12, 14, 16, 18)
WIDE = ((12, 8), (14, 8), (20, 8), (24, 12), (16, 16), (20, 14), (14, 22))
GRADES = {
    "SPF": ("No.1/No.2", "2100f-1.8E", "2400f-2.0E"),
    "DF-L": ("No.2", "No.1", "Select Structural"),
    "SP": ("No.2", "No.1", "Select Structural"),
    "Hem-Fir": ("No.2", "No.1", "Select Structural"),
}


@dataclass(frozen=True)
class Pair:
    shape: str
    truss: Truss
    opening: Opening


def pairs(seed: int, count: int) -> Iterator[Pair]:
    """So many pairs, the shapes in turn."""
    dice = random.Random(seed)
    kinds = list(KINDS)
    made = 0
    while made < count:
        shape = kinds[made % len(kinds)]
        truss = _truss(dice, shape)
        opening = _opening(dice, truss) if truss else None
        if truss and opening:
            made += 1
            yield Pair(shape, truss, opening)


def _truss(dice: random.Random, shape: str) -> Truss | None:
    feet = dice.uniform(12, 48 if shape not in ("king-post", "queen-post") else 28)
    span = round(feet * 12 * 4) / 4
    species = dice.choice(list(GRADES))
    size = dice.choice(("2x4", "2x4", "2x6"))
    given = {"span": span, "spacing": dice.choice((16, 24)), "top_dead": dice.choice((7, 10, 15))}
    if shape == "floor":
        size = "2x4"
        given |= {"depth": dice.choice((12, 14, 16, 18, 20, 24)), "floor_live": 40, "bottom_dead": 5}
        given["span"] = min(span, 25 * 12)
        if dice.random() < 0.3:
            given["chase_width"] = dice.choice((18, 24))
    else:
        given |= {"bottom_dead": dice.choice((5, 10)), "bottom_live": 10}
        given |= {"wind_up": dice.choice((0, 12, 20)), "wind_down": 10}
        given |= {"ground_snow": dice.choice((20, 30, 40))} if dice.random() < 0.6 else {"roof_live": 20}
        if shape == "flat":
            given["depth"] = max(18, round(span / dice.uniform(10, 16)))
        else:
            given["pitch"] = dice.choice((4, 5, 6, 7, 8, 10))
            if dice.random() < 0.3:
                given["heel_height"] = dice.choice((10, 12, 14))
            if shape in ("scissors", "cambered"):
                given["bottom_pitch"] = dice.choice((1.5, 2, 3))
            if shape == "hip":
                given["setback"] = round(span * dice.uniform(0.2, 0.4))
    if shape in ("king-post", "queen-post"):
        given["stock"] = 360
    for grade in GRADES[species]:
        key = f"{size} {species} {grade}"
        if key not in LUMBER:
            continue
        lumber = {"top_lumber": key, "bottom_lumber": key}
        web = f"2x4 {species} {GRADES[species][0]}"
        try:
            truss = read(build(shape, **given, **lumber, web_lumber=web))
            if not missing(truss) and analyse(truss).passes:
                return truss
        except (ShapeError, DocumentError, Mechanism):
            return None
    return None


def _opening(dice: random.Random, truss: Truss) -> Opening | None:
    """An opening that nothing but webs is in the way of: half of them beside a web, half of them anywhere."""
    room = space(truss)
    xs, ys = [joint.x for joint in truss.joints], [joint.y for joint in truss.joints]
    webs = [member for member in truss.members if not member.is_chord]
    for _ in range(200):
        clearance = dice.choice((0.5, 1.0))
        if dice.random() < 0.6:
            sizes = {"diameter_in": dice.choice(ROUND)}
        else:
            sizes = dict(zip(("width_in", "height_in"), dice.choice(WIDE), strict=True))
        if dice.random() < 0.5:
            a, b = truss.ends(dice.choice(webs))
            share = dice.uniform(0.2, 0.8)
            x, y = a.x + share * (b.x - a.x) + dice.uniform(-6, 6), a.y + share * (b.y - a.y) + dice.uniform(-6, 6)
        else:
            x, y = dice.uniform(min(xs), max(xs)), dice.uniform(min(ys), max(ys))
        shape = "circle" if "diameter_in" in sizes else "rectangle"
        place = (round(x * 4) / 4, round(y * 4) / 4)
        opening = Opening("O1", shape, place, clearance_in=clearance, **sizes)
        found = fit(room, opening)
        if not (found.fits or found.cuts_chord or found.outside):
            return opening
    return None
