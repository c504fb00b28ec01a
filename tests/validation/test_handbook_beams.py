"""One span by the handbook: wL²/8 and 5wL⁴/384EI (from a secondary text), PL/4 and PL³/48EI (coursehero 6600014),
fixed-fixed PL/8 (from memory) and PL³/192EI (from a secondary text), as values.md §4.3 tags them.

The overhang is derived from two of them: the tip of a cantilever, wL⁴/8EI (coursehero 6600014), hung from the bearing
that its moment wL²/2 turns by M l/3EI.
"""

import pytest

from tests.frames import EI_2X4, beam, document, solved

W, P, L = 5.0, 300.0, 108.0


def test_simple_span_under_uniform_load():
    one = beam([L], {1: W})
    assert one.up == pytest.approx([W * L / 2] * 2)
    assert one.response.peak_moment[0] == pytest.approx([W * L**2 / 8])
    assert one.sag("S1", L / 2) == pytest.approx(5 * W * L**4 / 384 / EI_2X4)


def test_simple_span_with_a_load_at_the_middle():
    one = beam([L], {}, [(1, L / 2, P)])
    assert one.response.peak_moment[0] == pytest.approx([P * L / 4])
    assert one.sag("S1", L / 2) == pytest.approx(P * L**3 / 48 / EI_2X4)


@pytest.mark.parametrize("backwards", [False, True])
@pytest.mark.parametrize("x", [20.0, 36.0, 70.0])
def test_simple_span_with_a_uniform_load_on_the_part_beside_one_end(x, backwards):
    """Of a = 36 in. beside the left end, from memory: reactions w a (2 L - a)/2L and w a²/2L; sag under the load
    w x (a² (2 L - a)² - 2 a x² (2 L - a) + L x³)/24EIL, beyond it w a² (L - x) (4 x L - 2 x² - a²)/24EIL."""
    a = 36.0
    part = {"from_in": L - a} if backwards else {"to_in": a}
    one = solved(
        document(
            {"A": (0, 0), "B": (L, 0)},
            [("S1", "bottom_chord", *("BA" if backwards else "AB"))],
            {"A": "xy", "B": "y"},
            loads={"line": [{"case": "dead", "member": "S1", "plf": 12 * W} | part]},
        )
    )
    assert one.up == pytest.approx([W * a * (2 * L - a) / 2 / L, W * a**2 / 2 / L])
    under = W * x * (a**2 * (2 * L - a) ** 2 - 2 * a * x**2 * (2 * L - a) + L * x**3)
    beyond = W * a**2 * (L - x) * (4 * x * L - 2 * x**2 - a**2)
    sag = (under if x <= a else beyond) / 24 / EI_2X4 / L
    assert one.sag("S1", L - x if backwards else x) == pytest.approx(sag)


def test_fixed_at_both_ends_with_a_load_at_the_middle():
    """The middle one of very many equal spans, each so loaded (see test_hicks_beams)."""
    many = beam([L] * 41, {}, [(i, L / 2, P) for i in range(1, 42)])
    middle = many.truss.member_index["S21"]
    assert many.response.end_moment[0, middle] == pytest.approx([-P * L / 8] * 2)
    assert many.moment("S21", L / 2) == pytest.approx(P * L / 8)
    assert many.sag("S21", L / 2) == pytest.approx(P * L**3 / 192 / EI_2X4)


@pytest.mark.parametrize("backwards", [False, True])
def test_overhang_under_uniform_load(backwards):
    tip = 36.0
    over = solved(
        document(
            {"A": (0, 0), "B": (L, 0), "C": (L + tip, 0)},
            [("S1", "top_chord", "A", "B"), ("S2", "top_chord", *("CB" if backwards else "BC"))],
            {"A": "xy", "B": "y"},
            loads={"line": [{"case": "dead", "member": "S2", "plf": 12 * W}]},
        )
    )
    hog = W * tip**2 / 2
    assert over.up == pytest.approx([-hog / L, W * tip + hog / L])
    assert over.response.peak_moment[0] == pytest.approx([-hog, -hog])
    drop = W * tip**4 / 8 / EI_2X4 + hog * L / 3 / EI_2X4 * tip
    assert over.response.displacements[0, 2] == pytest.approx([0, -drop], abs=1e-12)


def test_overhang_with_a_load_at_its_tip():
    """PL³/3EI of a cantilever (coursehero 6600014), hung from the bearing that its moment PL turns by M l/3EI."""
    tip = 36.0
    over = solved(
        document(
            {"A": (0, 0), "B": (L, 0), "C": (L + tip, 0)},
            [("S1", "top_chord", "A", "B"), ("S2", "top_chord", "B", "C")],
            {"A": "xy", "B": "y"},
            loads={"point": [{"case": "dead", "joint": "C", "down_lb": P}]},
        )
    )
    assert over.up == pytest.approx([-P * tip / L, P + P * tip / L])
    assert over.response.peak_moment[0] == pytest.approx([-P * tip, -P * tip])
    drop = P * tip**3 / 3 / EI_2X4 + P * tip * L / 3 / EI_2X4 * tip
    assert over.response.displacements[0, 2] == pytest.approx([0, -drop], abs=1e-12)
    # half way out: PL³/3EI's own curve, P x² (3 L - x)/6EI, beside the turn
    half = P * (tip / 2) ** 2 * (3 * tip - tip / 2) / 6 / EI_2X4 + P * tip * L / 3 / EI_2X4 * tip / 2
    assert over.sag("S2", tip / 2) == pytest.approx(half)
