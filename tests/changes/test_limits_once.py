"""Every option keeps the job's limits of building: a page says so once, below them."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

from changes.pages.section import Section, Way

LIMITS = {"code": "building", "values": {"tolerance_in": 0.25, "from_joints_in": 4.0, "longest_piece_in": 240.0}}


def option(*told, openings=("O1",)):
    return SimpleNamespace(told=list(told), plainly=False, document={"openings": list(openings)})


def test_the_limits_of_building_stand_below_the_options_and_in_none():
    options: Any = [option({"code": "nothing-changes", "values": {}}, LIMITS), option(LIMITS), option("As it was.")]
    section = Section(Any, [], [], options, None)  # type: ignore[arg-type]
    assert section.limits.startswith('Every web that moves keeps 1/4" more')
    assert section.limits.count("Every web") == 1
    ways = [Way(one, None).says for one in options]
    assert not any("Every web" in says for says in ways)
    assert ways[0] == "Nothing on the truss changes."


def test_where_there_is_no_opening_nothing_is_kept_clear_of_one():
    section = Section(Any, [], [], [option(LIMITS, openings=())], None)  # type: ignore[arg-type]
    assert section.limits == "No chord piece is longer than 20'-0\" unless it is so today."
