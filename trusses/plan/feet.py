"""What the bearings of a mark stand on, for its pages: of copies that stand turned end for end what is under them."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import replace
from typing import Any

from trusses.bearings import standing
from trusses.bearings.standing import Foot, Part, called
from trusses.models import BearingLink, Revision, Truss
from trusses.plan.on_walls import Number
from trusses.plan.under import Walls, both_ways, walls_of
from trusses.plan.where import by_plan, near_says
from trusses.variants.homes import root


def feet(truss: Truss, copies: Collection[int] | None = None, *, drawn: bool = False) -> list[Foot]:
    """What each bearing of a mark's current revision stands on, under its copies or under those of these numbers;
    `drawn`: also where only the plan has it."""
    told = standing.feet(truss)
    if root(truss) not in both_ways(truss.job):
        return told
    [walls] = walls_of(truss.job, [(truss, truss.current.document)])
    numbers = sorted(truss.copies.values_list("number", flat=True) if copies is None else copies)
    those = [Number(root(truss), number) for number in numbers]
    return [_under(foot, walls, those, drawn) for foot in told]


def by_plan_too(truss: Truss, revision: Revision, copies: Collection[int] | None = None) -> list[Foot]:
    """The same beside a revision, with what the plan draws under its bearings where nobody said anything."""
    return by_plan(truss, revision, feet(truss, copies, drawn=True))


def called_under(truss: Truss) -> dict[str, str]:
    """{joint: the wall or the carrier under it}, of the bearings of which that is said: “north wall”, “on G1”."""
    return called_by(truss, truss.current.document, sorted(truss.copies.values_list("number", flat=True)))


def called_by(
    truss: Truss, document: Mapping[str, Any], copies: Sequence[int], turned: Collection[Number] = ()
) -> dict[str, str]:
    """The same by a truss document of the mark, under some of its copies; `turned`: those that were turned end for end
    since that was their drawing."""
    [walls] = walls_of(truss.job, [(truss, document)])
    those = [Number(root(truss), number) for number in copies]
    told = {}
    for joint in [bearing["joint"] for bearing in document["bearings"]]:
        found: dict[str, list[Number]] = {}
        for copy in those:
            link = walls.link(joint, copy, turned=copy in turned)
            found.setdefault(called(link) if link else "", []).append(copy)
        if len(found) > 1:
            parts = [_part(says or "not said", on, walls) for says, on in found.items()]
            told[joint] = Foot(joint, parts=_in_order(parts)).says
        elif says := next(iter(found), ""):
            told[joint] = says
    return told


def _under(foot: Foot, walls: Walls, copies: Sequence[Number], drawn: bool) -> Foot:
    if not copies or (foot.link and foot.link.carrier_id):
        return foot
    links = {copy: walls.link(foot.joint, copy) for copy in copies}
    drawn = drawn or any(links.values())
    found: dict[tuple[str, bool], list[Number]] = {}
    each = {}
    for copy, link in links.items():
        near = walls.near(foot.joint, copy) if drawn and not link else None
        each[copy] = replace(foot, link=link, near=near_says(near) if near else "")
        found.setdefault((each[copy].says, link is not None), []).append(copy)
    meant = next((copy for copy in copies if walls.meant(copy)), copies[0])
    if len(found) == 1:
        return each[meant]
    parts = [_part(says, those, walls, links[those[0]]) for (says, _), those in found.items()]
    return replace(foot, link=links[meant], parts=_in_order(parts))


def _in_order(parts: Sequence[Part]) -> tuple[Part, ...]:
    return tuple(sorted(parts, key=lambda part: (part.turned, part.copies)))


def _part(says: str, copies: Sequence[Number], walls: Walls, link: BearingLink | None = None) -> Part:
    return Part(tuple(copy.number for copy in copies), says, link, all(walls.turned(copy) for copy in copies))
