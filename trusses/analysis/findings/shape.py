"""Findings on the shape, the supports, the wood and the restraint of a truss, from the document alone."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator

from trusses.analysis.checks.check import Finding
from trusses.analysis.checks.member_properties import fastened, pieces
from trusses.analysis.format.model import CHORDS, Bearing, Member, Role, Truss
from trusses.analysis.format.shared_wood import clashes, lying, pieces_of
from trusses.analysis.loads.arrangements import open_panels
from trusses.analysis.lumber import lookup

#: A chord that turns by more than this sine (about 1/2°) at a joint can't be one straight piece of wood.
_BENT = 0.01
#: A heel farther than this from the bearing is a cantilever, not a heel set off its wall, inches.
_HEEL_REACH = 24.0
_ONE_CHORD = [{role} for role in CHORDS]


def shape_findings(truss: Truss) -> Iterator[Finding]:
    """What geometry, supports and lumber show without any force."""
    for clash in clashes(truss.members, truss.names, truss.xy):
        # a document from before such trusses were refused
        pieces = pieces_of(clash, truss)
        yield Finding("shared-wood", ", ".join(pieces), {"pieces": pieces, "at_in": list(clash.at)})
    yield from _lying(truss)
    yield from _supports(truss)
    yield from _bends_and_splices(truss)
    yield from _chase_splices(truss)
    yield from _wood(truss)
    yield from _restraint(truss)


def _lying(truss: Truss) -> Iterator[Finding]:
    for i, (j, share) in lying(truss.members, truss.names, truss.xy).items():
        web, other = truss.members[i], truss.members[j]
        met = next(name for name in web.joints if name in other.joints)
        values = {"web": web.id, "other": other.id, "joint": met, "share": share}
        yield Finding("web-along-wood", f"member {web.id}", values)


def _supports(truss: Truss) -> Iterator[Finding]:
    holding = [bearing for bearing in truss.bearings if "x" in bearing.restrains]
    for a, b in itertools.combinations(holding, 2):
        code = "x-couple" if _one_end(truss, a, b) else "thrust"
        yield Finding(code, f"bearings {a.joint}, {b.joint}", {"joints": [a.joint, b.joint]})


def _one_end(truss: Truss, a: Bearing, b: Bearing) -> bool:
    first, second = truss.joint(a.joint), truss.joint(b.joint)
    return abs(first.x - second.x) <= abs(first.y - second.y)


def heels_off(truss: Truss) -> Iterator[tuple[int, float]]:
    """Bearings under one chord alone, with the crossing of the chords near but not over them: which, and how far it is
    from the bearing's middle, inches.

    A document says where a heel stands off its wall by a joint of the chord over the middle of the wall. The reaction
    acts there, and what the other chord brings down through the crossing bends the chord in between: by statics its
    moment over the bearing is that force times the distance, less what the chord's own load there takes off, and the
    frame has it. All of it is in the chord that runs on over the bearing; the other is pinned to it at the crossing.
    Where the bearing's joint is the crossing, the distance is zero and so is the moment.
    """
    meets = {name: {member.role for member in members} for name, members in truss.members_at.items()}
    heels = [truss.joint(name) for name, roles in meets.items() if set(CHORDS) <= roles]
    for i, bearing in enumerate(truss.bearings):
        if "y" not in bearing.restrains or meets[bearing.joint] not in _ONE_CHORD or not heels:
            continue
        x = truss.joint(bearing.joint).x
        off = min((abs(heel.x - x) for heel in heels), default=math.inf)
        if bearing.width_in / 2 < off <= _HEEL_REACH:
            yield i, off


def _bends_and_splices(truss: Truss) -> Iterator[Finding]:
    for joint, members in truss.members_at.items():
        for role in CHORDS:
            same = [member.id for member in members if member.role == role]
            if len(same) > 2 and joint not in truss.hinges:
                yield Finding("rigid-joint", f"joint {joint}", {"role": role, "joint": joint, "members": same})
    for joint, role, (a, b) in _through_joints(truss):
        if joint in truss.hinges:
            continue
        if abs(_turn(truss, joint, a, b)) > _BENT:
            yield Finding("chord-bend", f"joint {joint}", {"role": role, "joint": joint})
        elif a.lumber != b.lumber or a.flat != b.flat:
            lumber = [a.lumber, b.lumber]
            yield Finding("splice-not-hinged", f"joint {joint}", {"role": role, "joint": joint, "lumber": lumber})


def _chase_splices(truss: Truss) -> Iterator[Finding]:
    for start, end in open_panels(truss):
        for role in CHORDS:
            pieces = [member.joints for member in truss.members if member.role == role]
            inside = {name for ends in pieces for name in ends if start - 1e-6 <= truss.joint(name).x <= end + 1e-6}
            # those pieces that reach into the panel from beside it have their other ends there
            near = {name for ends in pieces if not inside.isdisjoint(ends) for name in ends}
            through = [joint for joint, of, _ in _through_joints(truss) if of == role]
            for joint in (name for name in through if name in near and name in truss.hinges):
                yield Finding("chase-splice", f"joint {joint}", {"role": role, "joint": joint})


def _through_joints(truss: Truss) -> Iterator[tuple[str, Role, tuple[Member, Member]]]:
    """The joints at which one chord runs through, and the two pieces that meet there."""
    for joint, members in truss.members_at.items():
        for role in CHORDS:
            same = [member for member in members if member.role == role]
            if len(same) == 2:
                yield joint, role, (same[0], same[1])


def _turn(truss: Truss, joint: str, a: Member, b: Member) -> float:
    """The sine of the angle by which a chord turns at a joint; 1 where it turns back on itself."""
    (ax, ay), (bx, by) = (_away(truss, joint, member) for member in (a, b))
    return 1.0 if ax * bx + ay * by >= 0 else ax * by - ay * bx


def _away(truss: Truss, joint: str, member: Member) -> tuple[float, float]:
    first, second = truss.ends(member)
    here, there = (first, second) if first.name == joint else (second, first)
    length = truss.length(member)
    return (there.x - here.x) / length, (there.y - here.y) / length


def _wood(truss: Truss) -> Iterator[Finding]:
    if truss.plies > 1 and not fastened(truss):
        yield Finding("ply-fastening", "ply_fastening", {"plies": truss.plies, "stated": truss.ply_fastening or ""})
    notes: dict[str, list[str]] = {}
    for member in truss.members:
        if note := lookup(member.lumber).note:
            notes.setdefault(note, []).append(member.id)
    for note, members in notes.items():
        yield Finding("lumber-values", f"members {', '.join(members)}", {"note": note, "members": members})


def _unheld(truss: Truss, role: Role) -> dict[str, float]:
    """The lengths that the checks take of a chord whose restraint nobody stated, inches: the longest as a column, and
    in bending with its inner edge pressed."""
    p = pieces(truss)
    which = [i for i, member in enumerate(truss.members) if member.role == role]
    inner = p.lu_lower if role == "top_chord" else p.lu_upper
    return {"column_in": float(p.le_out_of_plane[which].max()), "inner_edge_in": float(inner[which].max())}


def _restraint(truss: Truss) -> Iterator[Finding]:
    for role in CHORDS:
        if truss.lateral_restraint.spacing(role) is None and any(member.role == role for member in truss.members):
            yield Finding("restraint-unstated", f"lateral_restraint {role}", {"role": role} | _unheld(truss, role))
    for web, rows in truss.lateral_restraint.webs.items():
        if rows > 0:
            yield Finding("web-restraint", f"member {web}", {"web": web, "rows": rows})
