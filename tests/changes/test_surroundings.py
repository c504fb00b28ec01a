"""Options are told what is said of sheathing and wall plates today, and are decided on nothing else."""

from __future__ import annotations

from changes import workflow
from changes.carriers import moved_below
from tests.changes.asking import FITS, approve, compute, with_small_chords
from tests.refused import refused
from trusses.analysis.checks.stack import WALL_PLATE
from trusses.bearings import links
from trusses.revisions import add_mark

ACCEPTED = {"reason": "A light roof.", "accepts": ["total deflection"]}


def joint_of(truss):
    return truss.current.document["bearings"][0]["joint"]


def test_options_and_what_they_are_compared_with_are_told_of_the_plate(truss, designer, answered):
    links.set_link(designer, truss, joint_of(truss), wall="north wall", plate="2x4 SPF No.1/No.2")
    option = answered().options.get()
    assert option.analysis["surroundings"] == {"wall_plates": {joint_of(truss): "2x4 SPF No.1/No.2"}}
    assert [c["id"] for c in option.analysis["checks"] if c["rule"] == WALL_PLATE] == [joint_of(truss)]


def test_sheathing_said_after_the_computation_makes_it_be_computed_again(job, designer, builder, king_post, needed_by):
    """Of K4, whose top chords of 2x4 take CT."""
    k4 = add_mark(job, with_small_chords(king_post) | {"mark": "K4"}, 1, designer)
    asks = [{"truss": k4.pk, "kind": "opening", "opening": FITS}]
    change = compute(workflow.file(builder, job, reason="Supply duct", needed_by=needed_by, asks=asks))
    assert moved_below(change) == []
    job.sheathing_km = 2300
    job.save()
    assert moved_below(change) == ["K4"]
    with refused(workflow.Conflict, "basis-moved"):
        approve(designer, change, **ACCEPTED)
    workflow.compute_again(designer, change)
    compute(change)
    assert change.options.get(stale=False).analysis["surroundings"] == {"KM": 2300}
    approve(designer, change, **ACCEPTED)
    change.refresh_from_db()
    assert change.state == "approved"
