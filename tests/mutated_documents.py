"""Truss documents with one to three things wrong or odd in them, and whether the analysis answers each decently.

Joints are moved, members dropped, turned, given other ends, roles and lumber, numbers swapped and made huge or tiny,
hinges, bearings, openings and loads drawn anew. A decent answer is an analysis of finite numbers, a refusal, or a
mechanism that is named: never a traceback, never NaN.

    .venv/bin/python -m tests.mutated_documents 10000
"""

from __future__ import annotations

import collections
import copy
import json
import random
import sys
import traceback
from collections.abc import Callable, Iterator
from functools import cache
from pathlib import Path
from typing import Any

from tests.random_trusses import random_truss
from trusses.analysis.analysis import analyse
from trusses.analysis.format.document import DocumentError, read, read_stored
from trusses.analysis.frame.solve import Mechanism
from trusses.analysis.loads.combinations import LoadError
from trusses.analysis.lumber import LUMBER
from trusses.analysis.shapes.shapes import KINDS, build

Document = dict[str, Any]
#: Answers that say what is wrong.
DECENT = (DocumentError, Mechanism, LoadError)
EXAMPLES = Path(__file__).parent / "analysis" / "examples"


@cache
def originals() -> tuple[Document, ...]:
    """One truss of each shape, the example documents, and some random trusses."""
    made = []
    for kind in KINDS.values():
        given = {"span": 336, "stock": 600, "snow": 25, "wind_up": 20, "chase_width": 24}
        names = {field.name for field in kind.fields}
        made.append(build(kind.key, **{name: value for name, value in given.items() if name in names}))
    made += [json.loads(path.read_text()) for path in sorted(EXAMPLES.glob("*.truss.json"))]
    return (*made, *(random_truss(seed) for seed in range(12)))


def mutated(seed: int) -> Document:
    """One of the originals with up to three changes, the same for the same seed."""
    draw = random.Random(seed)
    document = copy.deepcopy(draw.choice(originals()))
    for _ in range(draw.randint(1, 3)):
        draw.choice(CHANGES)(document, draw)
    return document


def _moved(document: Document, draw: random.Random) -> None:
    place = document["joints"][draw.choice(list(document["joints"]))]
    reach = draw.choice([0.01, 1.0, 12.0, 60.0, 400.0])
    axis = draw.randrange(2)
    place[axis] += draw.uniform(-reach, reach)


def _onto(document: Document, draw: random.Random) -> None:
    """A joint in line with two others, or where another one is but for one coordinate."""
    one, other, third = (draw.choice(list(document["joints"].values())) for _ in range(3))
    share = draw.choice([0.0, 0.5, 1.0, draw.random()])
    one[:] = [other[0] + share * (third[0] - other[0]), other[1] + share * (third[1] - other[1])]


def _dropped(document: Document, draw: random.Random) -> None:
    if len(document["members"]) == 1:
        return
    document["members"].pop(draw.randrange(len(document["members"])))
    ends = {name for member in document["members"] for name in member["joints"]}
    if draw.random() < 0.7:
        document["joints"] = {name: place for name, place in document["joints"].items() if name in ends}
        document["hinges"] = [name for name in document.get("hinges", []) if name in ends]


def _member(document: Document, draw: random.Random) -> None:
    member = draw.choice(document["members"])
    what = draw.choice(["role", "lumber", "joints", "turned", "flat"])
    if what == "role":
        member["role"] = draw.choice(["top_chord", "bottom_chord", "web"])
    elif what == "lumber":
        member["lumber"] = draw.choice(list(LUMBER))
    elif what == "joints":
        member["joints"] = [draw.choice(list(document["joints"])), member["joints"][1]]
    elif what == "turned":
        member["joints"] = member["joints"][::-1]
    else:
        member["flat"] = not member.get("flat", False)


def _added(document: Document, draw: random.Random) -> None:
    like = draw.choice(document["members"])
    ends = draw.sample(list(document["joints"]), 2)
    document["members"].append(like | {"id": "new", "joints": ends, "role": draw.choice(["web", like["role"]])})


def _hinges(document: Document, draw: random.Random) -> None:
    names = list(document["joints"])
    document["hinges"] = draw.sample(names, draw.randint(0, len(names)))


def _bearings(document: Document, draw: random.Random) -> None:
    bearings = document["bearings"]
    if len(bearings) > 1 and draw.random() < 0.3:
        bearings.pop(draw.randrange(len(bearings)))
    bearing = draw.choice(bearings)
    bearing["restrains"] = draw.choice(["x", "y", "xy"])
    bearing["joint"] = draw.choice([bearing["joint"], draw.choice(list(document["joints"]))])
    bearing["width_in"] = draw.choice([1e-6, 0.5, 3.5, 1e5])


def _loads(document: Document, draw: random.Random) -> None:
    loads = document.setdefault("loads", {})
    if not document["members"]:
        return
    case = draw.choice(["dead", "live", "attic_storage", "roof_live", "snow", "wind", "rain"])
    size = draw.choice([-1.0, 1.0]) * draw.choice([0.0, 1e-9, 20.0, 5e3, 1e9])
    chord = draw.choice(["top_chord", "bottom_chord"])
    said: Document = {"case": case} | ({} if case == "dead" else draw.choice([{}, {"pattern": "p"}, {"acts": "alone"}]))
    kind = draw.choice(["area", "line", "point", "joint", "none"])
    if kind == "area":
        x = draw.uniform(-50, 400)
        window = draw.choice([{}, {"from_x_in": x}, {"to_x_in": x}, {"from_x_in": x, "to_x_in": x + 1e-7}])
        along = draw.choice(["plan", "slope", "normal"])
        loads.setdefault("area", []).append(said | {"chord": chord, "psf": size, "along": along} | window)
    elif kind == "line":
        member = draw.choice(document["members"])["id"]
        loads.setdefault("line", []).append(
            said | {"member": member, "plf": size, "from_in": draw.choice([0, 1e-9, 5])}
        )
    elif kind == "point":
        member = draw.choice(document["members"])["id"]
        at = draw.choice([0, 1e-9, 5.0, 40.0])
        loads.setdefault("point", []).append(said | {"member": member, "at_in": at, "down_lb": size, "right_lb": -size})
    elif kind == "joint":
        joint = draw.choice(list(document["joints"]))
        loads.setdefault("point", []).append(said | {"joint": joint, "down_lb": size})
    else:
        document["loads"] = {}


def _numbers(document: Document, draw: random.Random) -> None:
    key, value = draw.choice(
        [
            ("spacing_in", draw.choice([1e-6, 12, 1e5])),
            ("plies", draw.choice([1, 2, 5, 12])),
            ("use", draw.choice(["roof", "floor"])),
            ("ceiling", draw.choice(["none", "plaster"])),
            ("uplift_dead_share", draw.choice([0, 0.5, 1])),
            ("lateral_restraint", {}),
            ("lateral_restraint", {"top_chord_in": draw.choice([0, 1e-6, 24, 1e6]), "bottom_chord_in": 1e-3}),
        ]
    )
    document[key] = value


def _opening(document: Document, draw: random.Random) -> None:
    centre = [draw.uniform(-20, 400), draw.uniform(-20, 120)]
    size = draw.choice([1e-6, 6.0, 24.0, 1e5])
    shape = draw.choice(
        [{"shape": "circle", "diameter_in": size}, {"shape": "rectangle", "width_in": size, "height_in": 9}]
    )
    document["openings"] = [{"id": "O1", "centre_in": centre, "clearance_in": draw.choice([0, 1, 50])} | shape]


def _mirrored(document: Document, draw: random.Random) -> None:
    axis = draw.randrange(2)
    for place in document["joints"].values():
        place[axis] = -place[axis]


CHANGES: tuple[Callable[[Document, random.Random], None], ...] = (
    *(_moved,) * 5,
    _onto,
    _dropped,
    _dropped,
    _member,
    _member,
    _added,
    _hinges,
    _bearings,
    _loads,
    _loads,
    _numbers,
    _opening,
    _mirrored,
)


def answers(document: Document) -> Iterator[str]:
    """What becomes of a document when it is new and when it was stored before today's rules, in a word each."""
    for reads in (read, read_stored):
        try:
            json.dumps(analyse(reads(copy.deepcopy(document))).document(), allow_nan=False)
        except DECENT as said:
            if "nan" in str(said).casefold().split():
                raise AssertionError(str(said)) from said
            yield type(said).__name__
        else:
            yield "answer"


def main(count: int) -> int:
    """Prints how many documents got which answer, and the seeds of those that got none; the number of these."""
    got: collections.Counter[str] = collections.Counter()
    wrong = 0
    for seed in range(count):
        try:
            got.update(answers(mutated(seed)))
        except Exception:  # noqa: BLE001 (any at all is what is looked for)
            wrong += 1
            print(f"seed {seed}: {traceback.format_exc().strip().splitlines()[-1]}")
    print(dict(got), f"{wrong} of {count} documents got no decent answer")
    return wrong


if __name__ == "__main__":
    sys.exit(main(int(sys.argv[1])) > 0)
