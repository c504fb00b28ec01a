"""Tables of plate values. EVERY VALUE HERE IS INVENTED, round, and no plate's: they only make the arithmetic plain."""

from __future__ import annotations

import numpy as np
import pytest

from tests.analysis.requirements.test_joints import CHORD, SLOPE, king_post, record
from tests.refused import refused
from trusses.analysis.requirements.joints import joint_demand, splices
from trusses.analysis.requirements.plates import (
    MOST_BYTES,
    MOST_ROWS,
    Plate,
    PlateTableError,
    areas_needed,
    joint_plates,
    plates_of,
    read_table,
    steel_needed,
)

HEAD = "plate,width_in,length_in,holding_0_psi,holding_90_psi"
INVENTED = f"{HEAD},tension_lb_per_in\nsmall,2,3,200,100,800\nlarge,4,6,200,100,\n"


class TestReading:
    def test_a_table_and_back(self):
        plates = read_table(INVENTED)
        assert plates[0] == Plate("small", 2, 3, ((0, 200), (90, 100)), 800)
        assert plates[1].tension_lb_per_in is None
        assert plates_of(plate.row() for plate in plates) == plates

    def test_columns_in_any_order_with_angles_between_and_the_mark_that_spreadsheets_write(self):
        text = (
            "\ufeffHolding_90_psi, holding_45_psi,plate,length_in,width_in,holding_0_psi\r\n100,150,x,3,2,200\r\n\r\n"
        )
        assert read_table(text) == (Plate("x", 2, 3, ((0, 200), (45, 150), (90, 100))),)

    @pytest.mark.parametrize(
        ("text", "place", "code", "values"),
        [
            ("", "", "plates-empty", {}),
            (f"{HEAD}\n", "", "plates-too-many", {"count": 0}),
            (
                "plate,width_in\nx,2\n",
                "",
                "plates-columns-missing",
                {"columns": ["length_in", "holding_0_psi", "holding_90_psi"]},
            ),
            (f"{HEAD},gauge\nx,2,3,200,100,20\n", "", "plates-column-unknown", {"column": "gauge"}),
            (f"{HEAD},holding_95_psi\nx,2,3,200,100,20\n", "", "plates-column-unknown", {"column": "holding_95_psi"}),
            (f"{HEAD},plate\nx,2,3,200,100,y\n", "", "plates-column-twice", {"column": "plate"}),
            (f"{HEAD}\nx,2,3,200\n", "row 2", "plate-row-length", {"count": 4, "columns": 5}),
            (f"{HEAD}\nx,2,3,200,100\nx,4,3,200,100\n", "row 3", "plate-twice", {"plate": "x"}),
            (f"{HEAD}\n,2,3,200,100\n", "row 2", "plate-name", {}),
            (f"{HEAD}\nx,0,3,200,100\n", "row 2", "plate-number", {"column": "width_in", "shown": "0"}),
            (f"{HEAD}\nx,2,-3,200,100\n", "row 2", "plate-number", {"column": "length_in", "shown": "-3"}),
            (f"{HEAD}\nx,2,3,nan,100\n", "row 2", "plate-number", {"column": "holding_0_psi", "shown": "nan"}),
            (f"{HEAD}\nx,2,3,inf,100\n", "row 2", "plate-number", {"column": "holding_0_psi", "shown": "inf"}),
            (f"{HEAD}\nx,2,3,200,a lot\n", "row 2", "plate-number", {"column": "holding_90_psi", "shown": "a lot"}),
            (f'{HEAD}\n"x,2,3,200,100\n', "", "plates-not-csv", {}),
            (HEAD + "\n" + "x,2,3,200,100\n" * (MOST_ROWS + 1), "", "plates-too-many", {"count": 501, "most": 500}),
            ("x" * (MOST_BYTES + 1), "", "plates-too-large", {"count": MOST_BYTES + 1}),
        ],
    )
    def test_what_is_wrong_is_named(self, text, place, code, values):
        with refused(PlateTableError, code, place, **values):
            read_table(text)


class TestHolding:
    def test_between_two_angles_the_smaller_value_counts(self):
        plate = Plate("x", 2, 3, ((0, 200.0), (30, 220.0), (90, 100.0)))
        angles = np.array([0, 1e-9, 10, 30, 30.1, 89, 90])
        assert plate.holding_at(angles).tolist() == [200, 200, 200, 220, 100, 100, 100]


class TestAreas:
    def test_at_a_heel_by_hand(self):
        """Chord force over CD 0.9 on two faces: 200 psi along the top chord's grain, 100 psi at the bottom chord's."""
        demand = joint_demand(record(king_post()))
        plate = read_table(INVENTED)[1]
        areas = dict(zip([(p.joint, p.members) for p in demand.pieces], areas_needed(demand, plate), strict=True))
        assert areas["A", ("T1",)] == pytest.approx(CHORD / 0.9 / 2 / 200, rel=1e-6)
        assert SLOPE > 0
        assert areas["A", ("B1",)] == pytest.approx(CHORD / 0.9 / 2 / 100, rel=1e-6)

    def test_the_smallest_plate_with_the_area_is_told_and_no_more(self):
        """The heel needs 3.1 + 6.2 = 9.3 in²: not 2 x 3 = 6, but 4 x 6 = 24."""
        small, large = read_table(INVENTED)
        found = {one.joint: one for one in joint_plates(joint_demand(record(king_post())), [large, small])}
        assert found["A"].needed_in2 == pytest.approx(1.5 * CHORD / 0.9 / 200, rel=1e-6)
        assert found["A"].plate == large

    def test_where_no_plate_is_large_enough_none_is_told(self):
        heavy = king_post(loads={"point": [{"case": "dead", "joint": "B", "down_lb": 5000}]})
        found = {one.joint: one for one in joint_plates(joint_demand(record(heavy)), read_table(INVENTED))}
        assert found["A"].plate is None
        assert found["A"].needed_in2 == pytest.approx(5 * 1.5 * CHORD / 0.9 / 200, rel=1e-6)

    def test_steel_across_a_splice_in_tension(self):
        """1,000 lb on two plates of 800 lb an inch: 0.625 in.; the teeth's load duration plays no part."""
        (splice,) = splices(record(king_post()))
        small, large = read_table(INVENTED)
        assert steel_needed(splice, small) == pytest.approx(0.625)
        assert steel_needed(splice, large) is None
