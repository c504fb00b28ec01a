"""The trusses that are timed: the W roof truss and floor trusses of 10 to 160 panels, with five load cases each."""

from __future__ import annotations

from typing import Any

LUMBER = "2x4 SPF No.1/No.2"


def w_truss(span: float = 288.0, rise: float = 72.0) -> dict[str, Any]:
    """A W truss, 24 unknowns: dead, roof live, snow balanced and on one half, wind."""
    joints = {
        "A": [0, 0],
        "B": [span / 4, rise / 2],
        "C": [span / 2, rise],
        "D": [3 * span / 4, rise / 2],
        "E": [span, 0],
        "F": [2 * span / 3, 0],
        "G": [span / 3, 0],
    }
    chords = [("top_chord", pair) for pair in ("AB", "BC", "CD", "DE")]
    chords += [("bottom_chord", pair) for pair in ("AG", "GF", "FE")]
    pieces = [*chords, *(("web", pair) for pair in ("BG", "GC", "CF", "FD"))]
    on_top = [
        {"case": "dead", "psf": 10, "along": "slope"},
        {"case": "roof_live", "psf": 20, "along": "plan"},
        {"case": "snow", "psf": 25, "along": "plan", "pattern": "balanced"},
        {"case": "snow", "psf": 25, "along": "plan", "pattern": "left", "to_x_in": span / 2},
        {"case": "wind", "psf": -15, "along": "normal"},
    ]
    loads = [load | {"chord": "top_chord"} for load in on_top]
    loads.append({"case": "dead", "chord": "bottom_chord", "psf": 10, "along": "plan"})
    return _document(joints, pieces, ["A", "C", "E"], ("A", "E"), loads)


def flat_truss(panels: int = 12, depth: float = 16.0, panel: float = 24.0) -> dict[str, Any]:
    """A parallel-chord truss, 75 unknowns with 12 panels: dead, live on all and on each half, roof live."""
    joints = {f"B{i}": [panel * i, 0] for i in range(panels + 1)}
    joints |= {f"T{i}": [panel * i, depth] for i in range(panels + 1)}
    pieces = []
    for i in range(panels):
        pieces += [("bottom_chord", (f"B{i}", f"B{i + 1}")), ("top_chord", (f"T{i}", f"T{i + 1}"))]
        down = (f"T{i}", f"B{i + 1}") if i < panels // 2 else (f"B{i}", f"T{i + 1}")
        pieces.append(("web", down))
    pieces += [("web", (f"B{i}", f"T{i}")) for i in range(panels + 1)]
    half = panel * panels / 2
    on_top = [
        {"case": "dead", "psf": 15, "along": "plan"},
        {"case": "live", "psf": 40, "along": "plan", "pattern": "all"},
        {"case": "live", "psf": 40, "along": "plan", "pattern": "left", "to_x_in": half},
        {"case": "live", "psf": 40, "along": "plan", "pattern": "right", "from_x_in": half},
        {"case": "roof_live", "psf": 20, "along": "plan"},
    ]
    loads = [load | {"chord": "top_chord"} for load in on_top]
    return _document(joints, pieces, [], ("B0", f"B{panels}"), loads)


def _document(
    joints: dict[str, Any], pieces: list[Any], hinges: list[str], bearings: tuple[str, str], loads: list[Any]
) -> dict[str, Any]:
    return {
        "format": "chordchange.truss",
        "version": 1,
        "mark": "X1",
        "spacing_in": 24,
        "joints": joints,
        "members": [
            {"id": f"M{i}", "role": role, "joints": list(pair), "lumber": LUMBER}
            for i, (role, pair) in enumerate(pieces)
        ],
        "hinges": hinges,
        "bearings": [
            {"joint": joint, "restrains": how, "width_in": 3.5}
            for joint, how in zip(bearings, ("xy", "y"), strict=True)
        ],
        "loads": {"area": loads},
        "lateral_restraint": {"top_chord_in": 24, "bottom_chord_in": 120},
    }
