"""How a truss moves in service: what to camber it by, how far its roller slides, how quickly its floor swings.

All of it is elastic and without slip in the joints, so deflections are lower bounds and a frequency is an upper one.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from trusses.analysis.checks import nds
from trusses.analysis.frame.results import Results

Array = NDArray[np.float64]

GRAVITY = 386.089  # in/s², standard gravity
#: f = SIMPLE_SPAN sqrt(g / sag) for a simple span of even mass and stiffness, f in Hz. Derived: its first mode,
#: (π/2) sqrt(g EI / (w L⁴)), and its sag under that weight, 5 w L⁴ / (384 EI). Handbooks round it to 0.18.
SIMPLE_SPAN = math.pi / 2 * math.sqrt(5 / 384)
_LEAST_IN = 1e-6


@dataclass(frozen=True)
class Camber:
    """The most that dead load alone bends the chords down between bearings, inches, at that joint; without creep."""

    sag_in: float
    joint: str


@dataclass(frozen=True)
class Slide:
    """How far a bearing that isn't held sideways moves along the span at most, inches, and under which combination.

    `short_in` is elastic, `long_in` has dead load's part times Kcr 1.5 and `green_in` times 2.0 (NDS 3.5.2).
    """

    joint: str
    short_in: float
    long_in: float
    green_in: float
    by: str


@dataclass(frozen=True)
class Frequency:
    """An estimate of a floor's first frequency, Hz; or why none is given. No verdict hangs on it."""

    hz: float | None
    says: str


def camber(results: Results) -> Camber | None:
    """None where dead load bends no chord down between the outer bearings."""
    sag = _sag(results)
    if sag is None or not len(sag) or sag.max() < _LEAST_IN:
        return None
    joint = results.truss.joints[int(sag.argmax())]
    return Camber(float(sag.max()), joint.name)


def slides(results: Results) -> tuple[Slide, ...]:
    """Every bearing that may move along the span and does, in the document's order."""
    truss, combined, dead = results.truss, results.combined, _dead_part(results)
    found = []
    for bearing in truss.bearings:
        if "x" in bearing.restrains:
            continue
        j = truss.joint_index[bearing.joint]
        short, part = combined.displacements[:, j, 0], dead[:, j, 0]
        crept = short + (nds.KCR_DRY - 1) * part
        most = int(np.abs(crept).argmax())
        if abs(crept[most]) < _LEAST_IN:
            continue
        green = short[most] + (nds.KCR_GREEN - 1) * part[most]
        found.append(
            Slide(
                joint=bearing.joint,
                short_in=abs(float(short[most])),
                long_in=abs(float(crept[most])),
                green_in=abs(float(green)),
                by=results.combinations[most].name,
            )
        )
    return tuple(found)


def frequency(results: Results) -> Frequency | None:
    """For a floor truss, from its sag under the dead load that it is designed for; None for a roof."""
    if results.truss.use != "floor":
        return None
    if len(results.truss.bearings) != 2:
        return Frequency(None, "no estimate: it holds for a simple span, and this truss doesn't stand on two bearings")
    sag = _sag(results)
    if sag is None or not len(sag) or sag.max() < _LEAST_IN:
        return Frequency(None, "no estimate: the dead load bends nothing here")
    hz = SIMPLE_SPAN * math.sqrt(GRAVITY / float(sag.max()))
    return Frequency(hz, "a simple span with the dead load as its whole mass; no people, no sheathing that stiffens it")


def _sag(results: Results) -> Array | None:
    """How far each joint between the outer bearings sinks under dead load, (j,) in; 0 beyond them; None without dead.

    Bearings hold up and down, so this is from the line between them.
    """
    dead, truss = _dead(results), results.truss
    if not dead:
        return None
    xs = np.array([joint.x for joint in truss.joints])
    held = [truss.joint(bearing.joint).x for bearing in truss.bearings]
    between = (xs >= min(held)) & (xs <= max(held))
    down = -results.by_case.displacements[dead][:, :, 1]
    return np.where(between, down.max(axis=0), 0.0)


def _dead_part(results: Results) -> Array:
    """What of each combination's displacements is dead load's, (r, j, 2) in."""
    dead, combinations = _dead(results), results.combinations
    factors = np.array([[c.factors.get(results.cases[i], 0.0) for i in dead] for c in combinations])
    factors = factors.reshape(len(combinations), len(dead))
    return np.einsum("rd,djc->rjc", factors, results.by_case.displacements[dead])


def _dead(results: Results) -> list[int]:
    """Which rows of the cases are of dead load."""
    return [row for row, name in enumerate(results.cases) if name.split("/")[0] == "dead"]
