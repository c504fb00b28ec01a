"""What tests read back out of a drawing: parts by class, and outlines turned back into inches."""

from __future__ import annotations

import copy
import json
import re
import xml.etree.ElementTree as ET
from itertools import pairwise
from pathlib import Path
from typing import Any

EXAMPLES = Path(__file__).parents[1] / "analysis" / "examples"
NAMES = [f"E{i}" for i in range(1, 16)]
SVG = "{http://www.w3.org/2000/svg}"
LUMBER = "2x4 SPF No.1/No.2"

# 20 ft king post of 2x4s at 9 in 12, so that every cut can be worked by hand: cos 0.8, sin 0.6
KING_POST: dict[str, Any] = {
    "format": "chordchange.truss",
    "version": 1,
    "mark": "K1",
    "title": "king post worked by hand",
    "spacing_in": 24,
    "joints": {"A": [0, 0], "B": [120, 90], "C": [240, 0], "D": [120, 0]},
    "members": [
        {"id": "T1", "role": "top_chord", "joints": ["A", "B"], "lumber": LUMBER},
        {"id": "T2", "role": "top_chord", "joints": ["C", "B"], "lumber": LUMBER},
        {"id": "B1", "role": "bottom_chord", "joints": ["A", "D"], "lumber": LUMBER},
        {"id": "B2", "role": "bottom_chord", "joints": ["D", "C"], "lumber": LUMBER},
        {"id": "W1", "role": "web", "joints": ["B", "D"], "lumber": LUMBER},
    ],
    "hinges": ["A", "B", "C"],
    "bearings": [
        {"joint": "A", "restrains": "xy", "width_in": 3.5},
        {"joint": "C", "restrains": "y", "width_in": 3.5},
    ],
    "loads": {"area": [{"case": "dead", "chord": "top_chord", "psf": 10, "along": "slope"}]},
}
RECTANGLE = {"id": "O1", "shape": "rectangle", "centre_in": [60, 12], "width_in": 24, "height_in": 12}
ROUND = {"id": "O2", "shape": "circle", "centre_in": [180, 20], "diameter_in": 10, "clearance_in": 1}


def example(name: str) -> dict[str, Any]:
    document: dict[str, Any] = json.loads((EXAMPLES / f"{name}.truss.json").read_text(encoding="utf-8"))
    return document


def king_post(**changes: Any) -> dict[str, Any]:
    return copy.deepcopy(KING_POST) | changes


class Drawn:
    """A drawing, parsed."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.root = ET.fromstring(text)

    def of_class(self, *names: str) -> list[ET.Element]:
        return [e for e in self.root.iter() if set(names) <= set((e.get("class") or "").split())]

    def member(self, name: str) -> ET.Element:
        (found,) = [e for e in self.of_class("m") if e.get("data-member") == name]
        return found

    def classes(self, name: str) -> set[str]:
        return set((self.member(name).get("class") or "").split())

    def desc(self) -> str:
        return self.root.findtext(f"{SVG}desc") or ""

    def texts(self, *names: str) -> list[str]:
        """All that is written in parts of a class, without titles."""
        return [t.text or "" for part in self.of_class(*names) for t in part.iter(f"{SVG}text")]

    def inches(self, path: str) -> list[tuple[float, float]]:
        """The corners of a path, through the mapping that the drawing itself states."""
        scale, x0, y0 = (float(self.root.get(f"data-{name}") or "nan") for name in ("scale", "x0", "y0"))
        pairs = re.findall(r"(-?[\d.]+),(-?[\d.]+)", path)
        return [((float(u) - x0) / scale, (y0 - float(v)) / scale) for u, v in pairs]

    def wood(self, name: str) -> list[tuple[float, float]]:
        """The corners of a member's outline, inches."""
        (part,) = [e for e in self.member(name) if "wood" in (e.get("class") or "").split()]
        return self.inches(part.get("d") or "")

    def edges(self, name: str) -> list[tuple[tuple[float, float], tuple[float, float]]]:
        """The lines of a member's outline that are drawn, inches."""
        (part,) = [e for e in self.member(name) if "edge" in (e.get("class") or "").split()]
        lines = [self.inches(line) for line in (part.get("d") or "").split("M") if line]
        return [(a, b) for line in lines for a, b in pairwise(line)]
