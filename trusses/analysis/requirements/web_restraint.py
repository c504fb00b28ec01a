"""How many lateral restraints a compression web needs, and what each must hold."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from trusses.analysis.checks import nds
from trusses.analysis.checks.check import PASSES
from trusses.analysis.checks.member_properties import pieces
from trusses.analysis.checks.unbraced_lengths import web_length, web_runs
from trusses.analysis.format.model import Truss
from trusses.analysis.frame.geometry import geometry
from trusses.analysis.frame.results import Results, noise
from trusses.analysis.frame.topology import topology
from trusses.analysis.loads.combinations import Combination

Array = npt.NDArray[np.float64]

#: More rows than this on one web call for reinforcing or doubling the web instead.
MOST_ROWS = 3
#: What a row is asked to hold, as a share of the web's compression. Common practice, from memory, no source seen.
RESTRAINT_SHARE = 0.02


@dataclass(frozen=True)
class WebRows:
    """One compression web: its force in pounds and the combination, the rows that it needs in all (None where
    MOST_ROWS don't do), those that the document has, and what each row must hold by common practice, pounds."""

    web: str
    compression_lb: float
    by: str
    needed: int | None
    stated: int
    row_lb: float


def web_rows(results: Results) -> tuple[WebRows, ...]:
    """Every web that is in compression under some combination, in the members' order, with the fewest evenly spaced
    rows with which it passes compression (NDS 3.7.1) and slenderness (3.7.1.4).

    The rows already in the document don't count toward the answer: it is what the web needs in all. Those of a web that
    it runs on into do.
    """
    truss, combinations = results.truss, results.combinations
    axial = results.combined.extreme_axial
    pressed = np.maximum(-axial[1], 0)
    stated = truss.lateral_restraint.webs
    found = []
    for web, needed in _fewest(truss, combinations, pressed, noise(axial)).items():
        force = pressed[:, truss.member_index[web]]
        most = int(force.argmax())
        lb, by = float(force[most]), combinations[most].name
        found.append(WebRows(web, lb, by, needed, stated.get(web, 0), RESTRAINT_SHARE * lb))
    return tuple(found)


def _fewest(truss: Truss, combinations: Sequence[Combination], pressed: Array, least: float) -> dict[str, int | None]:
    """The rows of each web, None where MOST_ROWS don't do. `pressed` (r, m) is what presses hardest anywhere along each
    member, lb; up to `least` is none."""
    p, shape = pieces(truss), topology(truss)
    place = geometry([truss], shape)
    (runs,) = web_runs([truss], shape, place)
    stated = {truss.member_index[web]: rows for web, rows in truss.lateral_restraint.webs.items()}
    fc = pressed / p.area[:, 0]
    star = p.fc[:, 0] * np.array([c.load_duration for c in combinations])[:, None]
    in_plane = p.le_in_plane[:, 0] / p.depth[:, 0]
    webs = [i for i, member in enumerate(truss.members) if not member.is_chord and (pressed[:, i] > least).any()]
    needed: dict[str, int | None] = {truss.members[i].id: None for i in webs}
    e_min, ply, breadth = (values[:, 0] for values in (p.e_min, p.ply, p.breadth))
    for rows in range(MOST_ROWS + 1):
        left = [i for i in webs if needed[truss.members[i].id] is None]
        if not left:
            break
        sideways = np.array([web_length(i, stated | {i: rows}, place.length[:, 0], runs) for i in left])
        slender = np.maximum(in_plane[left], sideways / breadth[left])
        cp = np.minimum(
            nds.column_stability(star[:, left], nds.critical_buckling(e_min[left], in_plane[left])),
            nds.built_up_stability(star[:, left], e_min[left], sideways, ply[left], breadth[left]),
        )
        ratio = np.max(nds.compression(fc[:, left], star[:, left], cp).ratio, axis=0)
        enough = (ratio <= PASSES) & (slender <= nds.SLENDERNESS_LIMIT * PASSES)
        needed |= {truss.members[i].id: rows for i, holds in zip(left, enough.tolist(), strict=True) if holds}
    return needed
