"""Which arrangements of snow a roof calls for: what ASCE 7 asks of its shape, and no more."""

import itertools

import pytest

from trusses.analysis.format.document import read
from trusses.analysis.loads.arrangements import arrange, missing
from trusses.analysis.shapes.shapes import build


def snow_on(document):
    document["loads"]["area"].append({"case": "snow", "chord": "top_chord", "psf": 20, "along": "plan"})
    return document


@pytest.mark.parametrize(
    ("kind", "given", "uneven"),
    [
        ("mono", {"pitch": 4}, False),
        ("flat", {}, False),
        ("w", {"pitch": 0.5, "heel_height": 24}, True),
        ("w", {"pitch": 0.49, "heel_height": 24}, False),
        ("w", {"pitch": 7}, True),
        ("w", {"pitch": 7.1}, False),
        ("hip", {"pitch": 4, "setback": 72}, True),
        ("scissors", {"pitch": 5}, True),
    ],
)
def test_uneven_snow_is_asked_for_where_the_code_wants_it(kind, given, uneven):
    """ASCE 7-16 §7.6.1: gables and hips of 1/2 in 12 to 7 in 12 (values.md §5.3), and no mono or flat roof."""
    document = snow_on(build(kind, span="24'", arranged=False, **given))
    assert missing(read(document)) == (("snow/left", "snow/right") if uneven else ())
    written = {load.get("pattern") for load in arrange(document)["loads"]["area"] if load["case"] == "snow"}
    assert written == ({"balanced", "left", "right"} if uneven else {None})


def beam(*xs, bearings):
    names = [f"j{i}" for i in range(len(xs))]
    pairs = list(itertools.pairwise(names))
    return {
        "format": "chordchange.truss",
        "version": 1,
        "mark": "C1",
        "spacing_in": 24,
        "joints": dict(zip(names, xs, strict=True)),
        "members": [
            {"id": f"T{i}", "role": "top_chord", "joints": list(pair), "lumber": "2x8 SP No.2"}
            for i, pair in enumerate(pairs)
        ],
        "bearings": [{"joint": f"j{i}", "restrains": "xy" if i == 0 else "y", "width_in": 3.5} for i in bearings],
        "loads": {"area": []},
    }


def test_a_lone_beam_lacks_nothing_and_one_on_three_bearings_its_parts():
    """Partial snow on several spans is ASCE 7-16 §7.5 (from memory); a valley gathers snow, §7.6.3 (from memory)."""
    lone = beam([0, 0], [60, 0], [120, 0], bearings=(0, 2))
    assert missing(read(snow_on(lone))) == ()
    assert arrange(lone) == lone
    assert missing(read(snow_on(beam([0, 0], [60, 0], [120, 0], bearings=(0, 1, 2))))) == ("snow/left", "snow/right")
    assert missing(read(snow_on(beam([0, 40], [60, 0], [120, 40], bearings=(0, 2))))) == ("snow/left", "snow/right")
    one_end = snow_on(beam([0, 0], [60, 0], [120, 0], bearings=(0,)))
    assert missing(read(one_end)) == ()


def test_the_least_snow_of_a_low_slope_takes_nothing_from_the_uneven_one():
    """At 2 in 12 the balanced snow is pm 20 psf, and ps is 0.63 of it: the code's own patterns must do (§7.3.4)."""
    document = build("w", span="24'", pitch=2, arranged=False)
    snow = {"case": "snow", "chord": "top_chord", "along": "plan"}
    code = [
        snow | {"psf": 20, "pattern": "balanced"},
        snow | {"psf": 12.6, "pattern": "left", "to_x_in": 144},
        snow | {"psf": 3.78, "pattern": "left", "from_x_in": 144},
        snow | {"psf": 12.6, "pattern": "right", "from_x_in": 144},
        snow | {"psf": 3.78, "pattern": "right", "to_x_in": 144},
    ]
    ours = document["loads"]["area"]
    document["loads"]["area"] = ours + code
    assert missing(read(document)) == ()
    document["loads"]["area"] = [*ours, *code[:1], *code[3:]]
    assert missing(read(document)) == ("snow/left",)
    # no unbalanced snow of the code leaves half on the windward side
    document["loads"]["area"] = [*ours, *code[:2], code[2] | {"psf": 10}, *code[3:]]
    assert missing(read(document)) == ("snow/left",)


def drifted(balanced, *more):
    snow = {"case": "snow", "chord": "top_chord", "along": "plan"}
    document = build("w", span="24'", pitch=6, arranged=False)
    document["loads"]["area"] += [
        *([snow | {"psf": balanced, "pattern": "even"}] if balanced else []),
        *(snow | load for load in more),
        *(
            snow | {"psf": psf, "pattern": name, key: 144}
            for name, leeward, windward in (("a", "to_x_in", "from_x_in"), ("b", "from_x_in", "to_x_in"))
            for key, psf in ((leeward, 30), (windward, 6))
        ),
    ]
    return missing(read(document))


def test_a_balanced_snow_may_be_a_third_of_the_drifts_beside_it():
    """On a small house with little snow the drift weighs more than the snow that it lies on."""
    assert drifted(30) == drifted(12) == ()
    assert drifted(0) == ("snow/balanced",)
    assert drifted(8) == ("snow/balanced",)
    # a pattern with a third on its windward side is no balanced one
    assert drifted(0, {"psf": 4, "pattern": "a", "from_x_in": 144}, {"psf": 4, "pattern": "b", "to_x_in": 144}) == (
        "snow/balanced",
    )
