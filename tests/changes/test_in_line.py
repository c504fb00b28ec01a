"""A run beside an opening that a truss has already: told by how much, and the line that goes through it."""

from __future__ import annotations

from dataclasses import replace

from changes.pages.in_line import beside, lines_through, said
from tests.analysis.runs.standing import row
from trusses.analysis.format.document import read_opening
from trusses.analysis.runs.crossing import cross
from trusses.analysis.runs.run import Run, Section
from trusses.analysis.runs.stood import Design, Stood


def crossed_at(y, up, *, turned=False):
    (plain, *_) = row(1)
    centre = [200.0, plain.design.datum_y("bearing") + 20]
    held = read_opening({"id": "O1", "shape": "circle", "diameter_in": 8, "centre_in": centre, "clearance_in": 0.5})
    design = Design(replace(plain.design.truss, openings=(held,)))
    stood = Stood("R3", 1, plain.level, design, "y", plain.start_in, plain.across_in, turned)
    run = Run(plain.level, ((0.0, y), (100.0, y)), up, "bearing", 0, Section("circle", 4, 4, 0, 0.5), "")
    return run, [("A", one) for one in cross(run, [stood]).crossings]


def test_the_difference_is_told_and_the_line_through_it_is_in_line():
    for turned in (False, True):
        run, met = crossed_at(198.25, 19, turned=turned)
        ((_, one),) = met
        at = one.stood.place_at(200.0)
        run, met = crossed_at(at - 1.75, 19, turned=turned)
        way = "left" if turned else "right"
        assert said(met[0][1]) == f'Its opening O1 is 1 3/4" to the {way} and 1" up of here: not in line.'
        (offer,) = lines_through(run, met, lambda to: True)
        assert offer["called"] == "opening O1 of R3"
        _, there = crossed_at(at, 20, turned=turned)
        assert said(there[0][1]) == "In line with its opening O1."
        assert offer["typed"]["up"] == "1'-8\""
        assert not lines_through(run, there, lambda to: True)


def test_what_is_farther_off_is_not_meant():
    run, met = crossed_at(170, 19)
    assert beside(met[0][1]) is None
    assert said(met[0][1]) == ""
    assert not lines_through(run, met, lambda to: True)
