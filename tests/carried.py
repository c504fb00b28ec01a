"""Trusses that carry each other, small enough for hand statics: level beams of one chord, and marks of them."""

from __future__ import annotations

from typing import Any

from trusses.analysis.analysis import analyse
from trusses.analysis.format.document import read
from trusses.analysis.load_path.chain import Mark
from trusses.analysis.load_path.landing import Stand

Document = dict[str, Any]


def beam(mark: str, span: float, *points: Document, plies: int = 2, lumber: str = "2x12 DF-L No.1") -> Document:
    """A single bottom chord on two bearings, pinned at its left end A and on a roller at its right end B."""
    return {
        "format": "chordchange.truss",
        "version": 1,
        "mark": mark,
        "use": "floor",
        "plies": plies,
        "ply_fastening": "nailed, invented for a test",
        "spacing_in": 24,
        "joints": {"A": [0, 0], "B": [span, 0]},
        "members": [{"id": "B1", "role": "bottom_chord", "joints": ["A", "B"], "lumber": lumber}],
        "bearings": [
            {"joint": "A", "restrains": "xy", "width_in": 3.5},
            {"joint": "B", "restrains": "y", "width_in": 3.5},
        ],
        "loads": {"point": list(points)},
        "lateral_restraint": {"bottom_chord_in": 12, "top_chord_in": 12},
    }


def at(down_lb: float, at_in: float, case: str = "dead", **more: Any) -> Document:
    return {"case": case, "member": "B1", "at_in": at_in, "down_lb": down_lb, **more}


def marked(document: Document, copies: int = 1, *stands: Stand) -> Mark:
    return Mark(document, analyse(read(document)).document(), copies, stands)


def row(x: float, y: float, along: str, spacing: float = 24, count: int = 1, level: str = "Floor") -> Stand:
    return Stand(level, x, y, along, spacing, count)


def reactions(document: Document, case: str = "dead") -> dict[str, float]:
    """What a truss puts on each bearing in a case, pounds down, computed anew from its document."""
    rows = analyse(read(document)).document()["cases"][case]["reactions_lb"]
    return {joint: round(up, 2) for joint, (_, up) in rows.items()}
