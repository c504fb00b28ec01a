"""What the tests of the change ask of the king post K1, and doing the worker's part in this process."""

from __future__ import annotations

import copy
from typing import Any

from changes import workflow
from changes.models import Computation, Decision, Issue, Request
from changes.worker import tasks
from tests.sealed import SAID, drawing
from trusses.models import Revision

FITS: dict[str, Any] = {"id": "O1", "shape": "circle", "centre_in": [100, 20], "diameter_in": 8, "clearance_in": 1}
"""Clear of everything in the left half of K1."""

HITS_WEB: dict[str, Any] = {**FITS, "centre_in": [120, 20]}
"""On the king post: takes a redesign."""

CUTS_CHORD: dict[str, Any] = {**FITS, "centre_in": [100, 2]}
"""Through the bottom chord: never."""

# K1's chords are 5 1/2 in. deep: 22.75 above the plate is y = 20, as in FITS; along y of the plan it is x of the truss
PATH: dict[str, Any] = {
    "level": "Roof",
    "points_in": [[0, 100], [200, 100]],
    "height_in": 22.75,
    "section": {"shape": "circle", "diameter_in": 8, "clearance_in": 1},
    "note": "8 in. duct",
}
"""A duct across the spans of K1 and K2 as `placed` has them; clear of everything."""


def compute(change: Request) -> Request:
    """Does what the worker does with all that waits in the request's rows."""
    for work in Computation.objects.filter(request=change, state="queued"):
        tasks.compute(work.pk)
    change.refresh_from_db()
    return change


def first_options(change: Request) -> dict[int, int]:
    """{ask: its first option}, which is the passing one of least change where one passes."""
    chosen = {}
    for ask in change.asks.filter(replaced=False):
        option = ask.options.filter(stale=False).first()
        assert option is not None, f"ask {ask.pk} has no option: {ask.says}"
        chosen[ask.pk] = option.pk
    return chosen


def without_web(document: dict[str, Any], *openings: dict[str, Any], bottom: str) -> dict[str, Any]:
    """K1 without its web and with another bottom chord, the openings written in.

    With `2x6 SPF 2100f-1.8E` its total deflection alone fails, at 1.082; with `2x6 DF-L No.1` bending too.
    """
    members = [dict(member) for member in document["members"] if member["id"] != "W1"]
    for member in members:
        if member["role"] == "bottom_chord":
            member["lumber"] = bottom
    return {**document, "members": members, "openings": list(openings)}


def with_small_chords(document: dict[str, Any]) -> dict[str, Any]:
    """K1 with top chords of 2x4, which take CT; under 6 psf of snow all passes but its total deflection."""
    small = copy.deepcopy(document)
    for member in small["members"][:2]:
        member["lumber"] = "2x4 SPF 2100f-1.8E"
    for load in small["loads"]["area"]:
        load["psf"] = 6 if load["case"] == "snow" else load["psf"]
    return small


STIFF_ENOUGH = "2x8 DF-L No.1"
TOO_SOFT = "2x6 SPF 2100f-1.8E"
TOO_WEAK = "2x6 DF-L No.1"


API = "/api/v1"


def post(program, path, body=None, **headers):
    return program.post(f"{API}/{path}", body or {}, format="json", **headers)


def approve(user, change, options=None, **kwargs):
    return workflow.decide(
        user, change, verdict="approve", options=first_options(change) if options is None else options, **kwargs
    )


def nothing_is_decided(change) -> bool:
    change.refresh_from_db()
    decided = Decision.objects.exists() or Issue.objects.exists() or Revision.objects.filter(number__gt=0).exists()
    return change.state == "awaiting decision" and not decided


PASSAGE = {"what": "hatch", "across_in": 36, "along_in": 60, "width_in": 22, "length_in": 30, "most_gap_in": 24}
LOAD = {"what": "air handler", "weight_lb": 150, "at_in": 120, "how": "hung"}
DAMAGE = {"member": "W1", "how": "cut", "at_in": 20}


def codes(told):
    return [one["code"] for one in told]


def answer_of(change):
    compute(change)
    assert change.state == "awaiting decision", change.computations.get().trouble
    return change.asks.get()


def attach(designer, change, words="a repair", **said):
    """A repair's sealed drawing, attached to the one ask of a request."""
    sent, one = drawing(words), change.asks.get()
    said = {**SAID, "sealed_on": change.job.today(), **said}
    return workflow.attach_repair(designer, change, one, sent, len(sent.getvalue()), **said)
