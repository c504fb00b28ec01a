"""How many lateral restraints a compression web needs."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from trusses.analysis import nds
from trusses.analysis.loads import Combination
from trusses.analysis.model import Truss
from trusses.analysis.outcome import PASSES
from trusses.analysis.pieces import pieces
from trusses.analysis.response import Response
from trusses.analysis.stations import noise, stations

#: More rows than this on one web call for reinforcing or doubling the web instead.
MOST_ROWS = 3


def rows_needed(truss: Truss, combinations: Sequence[Combination], response: Response) -> dict[str, int | None]:
    """For each web that is in compression under some combination, the fewest evenly spaced rows with which it passes
    compression (NDS 3.7.1) and slenderness (3.7.1.4); None where MOST_ROWS don't do.

    The rows already in the document don't count toward the answer: it is what the web needs in all.
    """
    p = pieces(truss)
    at = stations(response)
    # (r, m): what presses hardest anywhere along each member
    fc = np.maximum(-at.axial, 0).max(axis=2) / p.area[:, 0]
    star = p.fc[:, 0] * np.array([c.load_duration for c in combinations])[:, None]
    whole = p.le_in_plane[:, 0]
    in_plane = whole / p.depth[:, 0]
    needed: dict[str, int | None] = {}
    for i, member in enumerate(truss.members):
        if member.is_chord or not (at.axial[:, i] < -noise(at.axial)).any():
            continue
        needed[member.id] = None
        for rows in range(MOST_ROWS + 1):
            slender = max(in_plane[i], whole[i] / (rows + 1) / p.breadth[i, 0])
            cp = np.minimum(
                nds.column_stability(star[:, i], nds.critical_buckling(p.e_min[i], in_plane[i])),
                nds.built_up_stability(star[:, i], p.e_min[i], whole[i] / (rows + 1), p.ply[i], p.breadth[i]),
            )
            ratio = np.max(nds.compression(fc[:, i], star[:, i], cp).ratio)
            if ratio <= PASSES and slender <= nds.SLENDERNESS_LIMIT * PASSES:
                needed[member.id] = rows
                break
    return needed
