"""A girder G1 that carries the two copies of K5 by their bearings C, as rows: 30 ft along x at y = 240, K5 along y."""

from __future__ import annotations

from typing import Any

from tests.carried import beam
from tests.trusses.sent import take_up
from trusses.bearings import links
from trusses.models import Job, Placement, Truss
from trusses.revisions import add_mark

LEVEL = "Roof"


def place(
    truss: Truss, x: float, y: float, along: str, spacing: float = 24, count: int = 1, level: str = LEVEL
) -> None:
    Placement.objects.create(
        truss=truss,
        level=level,
        origin_x_in=x,
        origin_y_in=y,
        direction=along,
        spacing_in=spacing,
        count=count,
    )


def girder_document(
    mark: str, span: float = 360, lumber: str = "2x12 DF-L Select Structural", plies: int = 4, plf: float = 12
) -> dict[str, Any]:
    """A level beam of several plies, which is a truss document too; strong enough for what these tests hang on it."""
    held = beam(mark, span, plies=plies, lumber=lumber) | {
        "title": "Girder of the tests",
        "ceiling": "none",
        "loads": {"line": [{"case": "dead", "member": "B1", "plf": plf}]},
        "lateral_restraint": {"bottom_chord_in": 24, "top_chord_in": 24},
        "uplift_dead_share": 0.8,
    }
    del held["use"]
    for bearing in held["bearings"]:
        bearing["width_in"] = 5.5
    return held


def girder(job: Job, designer: Any, mark: str = "G1", y: float = 240, **kwargs: Any) -> Truss:
    truss = add_mark(job, girder_document(mark, **kwargs), 1, designer)
    place(truss, 0, y, "x")
    return truss


def stand(
    job: Job, designer: Any, document: dict[str, Any], mark: str, on: Truss, xs: tuple[float, float] = (120, 120)
) -> Truss:
    """Two copies of `document` as `mark`, the first at x, the second a step on, whose bearings C stand on `on`."""
    truss = add_mark(job, {**document, "mark": mark}, 2, designer)
    place(truss, xs[0], 0, "y", xs[1], 2)
    links.set_link(designer, truss, "C", carrier=on)
    return truss


def loaded(truss: Truss, designer: Any) -> None:
    """The carrier's next revision, with what stands on it."""
    take_up(designer, truss)
    truss.refresh_from_db()
