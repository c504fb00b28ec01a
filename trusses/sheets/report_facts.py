"""What a report tells of walls, plates, restraint and movement: the same figures as a sheet's, as plain text."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from trusses.analysis.format.model import Truss
from trusses.analysis.words.lengths import tape_inches
from trusses.sheets.plain_text import bullets, section, table, whole
from trusses.sheets.sheet_facts import Facts, facts


def fact_sections(truss: Truss, document: Mapping[str, Any]) -> list[str]:
    """Sections as `report` writes them, empty where there is nothing to tell."""
    told = facts(truss, document, None)
    return [
        section("What it puts on the walls, by load case, without any factor, pounds down", _cases(told)),
        section("What each bearing and its connection need", _needs(told)),
        section("Restraint of webs under compression", _webs(told)),
        section("What the plates of each joint must carry, in each ply (plates are not checked)", _joints(told)),
        section("Across splices, in each ply", _splices(told)),
        section("How far it moves", bullets(_movement(told))),
        section("Lumber and joints", _quantities(told)),
    ]


def _cases(told: Facts) -> str:
    rows = [(case, *(whole(lb) for lb in values)) for case, values in told.by_case]
    return table(("case", *(f">at {one.joint}" for one in told.supports)), rows)


def _needs(told: Facts) -> str:
    rows = [
        (
            one.joint,
            tape_inches(one.width_in),
            "-" if one.required_width_in is None else tape_inches(one.required_width_in),
            "" if one.wide_enough else "TOO NARROW",
            whole(one.uplift.lb),
            one.uplift.told or "-",
            whole(one.sideways.lb),
        )
        for one in told.supports
    ]
    head = ("joint", ">width given", ">needed", "", ">uplift capacity lb", "under", ">along the span lb")
    return table(head, rows)


def _webs(told: Facts) -> str:
    rows = [
        (
            row.web,
            whole(row.compression_lb),
            row.by,
            "none will do" if row.needed is None else str(row.needed),
            str(row.stated),
            whole(row.row_lb),
        )
        for row in told.webs
    ]
    head = ("web", ">compr. lb", "under", ">rows needed", ">rows stated", ">2 % for each row lb")
    return table(head, rows)


def _joints(told: Facts) -> str:
    rows = [
        (
            one.piece.joint,
            " and ".join(told.called[name] for name in one.piece.members),
            whole(one.holding_lb),
            one.holding_by or "-",
            f"{one.angle_deg:.0f}",
            whole(one.steel_lb),
            one.steel_by or "-",
        )
        for one in told.demand.governing()
    ]
    head = ("joint", "wood", ">teeth lb", "under", ">degrees to grain", ">steel lb", "under")
    return table(head, rows)


def _splices(told: Facts) -> str:
    rows = [
        (
            one.joint,
            " and ".join(told.called[name] for name in one.members),
            whole(one.tension_lb),
            one.tension_by or "-",
            whole(one.compression_lb),
            one.compression_by or "-",
        )
        for one in told.splices
    ]
    return table(("joint", "between", ">tension lb", "under", ">compr. lb", "under"), rows)


def _movement(told: Facts) -> Iterator[str]:
    for one in told.slides:
        yield (
            f"Along the span at {one.joint}: {one.short_in:.2f} in. at first, {one.long_in:.2f} in. in the long run, "
            f"{one.green_in:.2f} in. with lumber that was wet ({one.by}). What it stands on must let it."
        )
    if told.camber:
        sag = f"{told.camber.sag_in:.2f} in. down, most at {told.camber.joint}"
        yield f"Camber: dead load bends it {sag}. A camber would be at least that."
    if told.frequency:
        hz = f"about {told.frequency.hz:.1f} Hz at most, " if told.frequency.hz else ""
        yield f"Frequency of the floor: {hz}{told.frequency.says}. An estimate, no verdict."
    yield "Every movement is a lower bound: slip in the joints isn't modeled."


def _quantities(told: Facts) -> str:
    joints = f"{told.plated_joints} joints to press"
    return bullets([f"{told.board_feet:,.1f} board feet between joints, {told.pieces} pieces, {joints}, in all plies."])
