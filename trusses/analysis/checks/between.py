"""Places of members between those that checks look at anyway, where an interaction of bending and axial force (NDS 3.9)
is more than at any of those; see `peaks`."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from trusses.analysis.checks import nds
from trusses.analysis.checks.combined import Forces
from trusses.analysis.checks.members import Beams, Columns, Members
from trusses.analysis.checks.peaks import Pressed, Pulled, Segment, greatest
from trusses.analysis.frame.solution import Along

Array = npt.NDArray[np.float64]
_Numbers = npt.NDArray[np.int64]


class Peaks(NamedTuple):
    """Peaks of an interaction within segments (n,): the row, the number of the segment, the member's in its group, the
    truss, the forces, inches from the segment's start, and the ratio there."""

    row: _Numbers
    k: _Numbers
    member: _Numbers
    truss: _Numbers
    segment: Segment
    x: Array
    ratio: Array

    def those(self, which: npt.NDArray[np.bool_]) -> Peaks:
        """Some of them."""
        segment = self.segment.those(which)
        row, k, member, truss = (values[which] for values in self[:4])
        return Peaks(row, k, member, truss, segment, self.x[which], self.ratio[which])


def peaks_between(members: Members, sign: int, known: Array) -> Peaks | None:
    """Where between the places the interaction with an axial force of that sign is more than is `known` (m, t),
    which is no less than it is at any of the places; None where it is nowhere.

    Only where axial force changes along a segment may it peak neither where the moment does nor at an end.
    """
    along = members.forces.segments
    if along is None or not along.forces[:, 3].any():
        return None
    row, k, member, truss = np.nonzero(_may_exceed(members, sign, along, known))
    if not len(row):
        return None
    segment = Segment(along.length[k, member, truss], *along.forces[row, :, k, member, truss].T)
    p = members.pieces.at(member, truss)
    columns, beams = members.columns, members.beams

    def pick(numbers: nds.Number) -> Array:
        array = np.asarray(numbers)
        column = truss if array.shape[-1] > 1 else 0
        return array[..., member, column] if array.ndim < 4 else array[..., row, 0, member, column]

    fb_prime = pick(beams.fb_star) * pick(beams.cl)
    if sign > 0:
        clause: Pulled | Pressed = Pulled(
            p.area, p.modulus, pick(members.tension.capacity), pick(beams.fb_star), fb_prime
        )
    else:
        in_plane, across = map(pick, columns.f_ce)
        fc_prime = pick(members.compression.capacity)
        clause = Pressed(p.area, p.modulus, fc_prime, in_plane, across, fb_prime, pick(beams.f_be))
    x, most = greatest(segment, clause, known[member, truss])
    return Peaks(row, k, member, truss, segment, x, most)


def at_peaks(members: Members, peaks: Peaks) -> Members:
    """Stresses and values at peaks of some members."""
    row, member, truss = peaks.row, peaks.member, peaks.truss
    pieces, cd, bends = members.pieces.at(member, truss), members.columns.cd[row, 0, 0, 0], np.array(True)
    forces = np.stack(peaks.segment.at(peaks.x))
    return Members(
        pieces,
        Columns.of(cd, pieces, bends),
        Forces(member, forces),
        members.least[:, truss],
        Beams.of(cd, pieces, bends),
        np.abs(forces[2]),
    )


def _may_exceed(members: Members, sign: int, along: Along, known: Array) -> npt.NDArray[np.bool_]:
    """In which segments, (r, k, m, t), the interaction may be more than is `known` (m, t) elsewhere than at the
    places: where it would be if axial force and moment were greatest at one place, and axial force changes."""
    k, bent = along.length.shape[0], members.most_bent
    ratio = np.asarray((members.tension if sign > 0 else members.compression).ratio)
    axial = np.maximum(ratio[:, :k], ratio[:, k : 2 * k])
    applies = members.pulled if sign > 0 else members.pressed
    more = applies[:, :k] | applies[:, k : 2 * k]
    more &= along.forces[:, 3] != 0
    more &= members.beams.bends
    if sign > 0:
        # CL is at most 1: fb/Fb' is no less than fb/Fb*
        more &= axial + bent > known
        return more
    # under the forces divided by the ratio that is known where it is over 1; see `Pressed.greatest`
    d, fc_prime = np.maximum(known, 1.0), members.compression.capacity
    in_plane, across = (fc_prime / f_ce for f_ce in members.columns.f_ce)
    share, bent_share, limit = axial / d, bent / d, np.minimum(known, 1.0)
    exceeds = bent > (limit - share * share) * np.maximum(d - axial * in_plane, 0.0)
    # eq. 3.9-4, where FbE is no less than Fb'; fc < FcE is met between the places where it is at their ends
    exceeds |= share * across + bent_share * bent_share > limit
    more &= exceeds
    return more
