"""The lumber table against values.md §2 (the tags of each row stand there), sections and board feet."""

import pytest

from tests.refused import refused
from trusses.analysis.lumber import LUMBER, LumberError, board_feet, lookup, section

# (Fb, Ft, Fv, Fc⊥, Fc, E, Emin, G) as values.md prints them; NDS Supplement Tables 4A, 4B, 4C.
PRINTED = {
    "2x4 SPF Select Structural": (1250, 700, 135, 425, 1400, 1.5e6, 550e3, 0.42),  # memory, conflict
    "2x12 SPF No.1/No.2": (875, 450, 135, 425, 1150, 1.4e6, 510e3, 0.42),
    "2x6 SPF No.3": (500, 250, 135, 425, 650, 1.2e6, 440e3, 0.42),
    "2x4 SPF Stud": (675, 350, 135, 425, 725, 1.2e6, 440e3, 0.42),
    "2x6 DF-L Select Structural": (1500, 1000, 180, 625, 1700, 1.9e6, 690e3, 0.50),
    "2x4 DF-L No.1 & Btr": (1200, 800, 180, 625, 1550, 1.8e6, 660e3, 0.50),
    "2x4 DF-L No.1": (1000, 675, 180, 625, 1500, 1.7e6, 620e3, 0.50),
    "2x4 DF-L No.2": (900, 575, 180, 625, 1350, 1.6e6, 580e3, 0.50),
    "2x4 DF-L No.3": (525, 325, 180, 625, 775, 1.4e6, 510e3, 0.50),
    "2x4 Hem-Fir Select Structural": (1400, 925, 150, 405, 1500, 1.6e6, 580e3, 0.43),
    "2x8 Hem-Fir No.1": (975, 625, 150, 405, 1350, 1.5e6, 550e3, 0.43),
    "2x4 Hem-Fir No.2": (850, 525, 150, 405, 1300, 1.3e6, 470e3, 0.43),
    "2x6 Hem-Fir Stud": (675, 400, 150, 405, 800, 1.2e6, 440e3, 0.43),
    "2x4 SP Select Structural": (2350, 1650, 175, 565, 1900, 1.8e6, 660e3, 0.55),
    "2x6 SP Select Structural": (2100, 1450, 175, 565, 1800, 1.8e6, 660e3, 0.55),
    "2x8 SP Select Structural": (1950, 1350, 175, 565, 1700, 1.8e6, 660e3, 0.55),
    "2x3 SP No.1": (1500, 1000, 175, 565, 1650, 1.6e6, 580e3, 0.55),
    "2x6 SP No.1": (1350, 875, 175, 565, 1550, 1.6e6, 580e3, 0.55),
    "2x8 SP No.1": (1250, 800, 175, 565, 1500, 1.6e6, 580e3, 0.55),
    "2x10 SP No.1": (1050, 700, 175, 565, 1450, 1.6e6, 580e3, 0.55),
    "2x12 SP No.1": (1000, 650, 175, 565, 1400, 1.6e6, 580e3, 0.55),
    "2x4 SP No.2": (1100, 675, 175, 565, 1450, 1.4e6, 510e3, 0.55),
    "2x6 SP No.2": (1000, 600, 175, 565, 1400, 1.4e6, 510e3, 0.55),
    "2x8 SP No.2": (925, 550, 175, 565, 1350, 1.4e6, 510e3, 0.55),
    "2x10 SP No.2": (800, 475, 175, 565, 1300, 1.4e6, 510e3, 0.55),
    "2x12 SP No.2": (750, 450, 175, 565, 1250, 1.4e6, 510e3, 0.55),
    "2x4 SPF 1650f-1.5E": (1650, 1020, 135, 425, 1700, 1.5e6, 760e3, 0.42),
    "2x4 Hem-Fir 1650f-1.5E": (1650, 1020, 145, 405, 1700, 1.5e6, 760e3, 0.43),  # Fv as printed, conflict
    "2x4 SPF 2100f-1.8E": (2100, 1575, 160, 525, 1875, 1.8e6, 910e3, 0.46),
    "2x6 SPF 2400f-2.0E": (2400, 1925, 170, 615, 1975, 2.0e6, 1.02e6, 0.50),
    "2x6 SP 2400f-2.0E": (2400, 1925, 190, 805, 1975, 2.0e6, 1.02e6, 0.57),
}


@pytest.mark.parametrize("key", PRINTED)
def test_row_carries_the_printed_values(key):
    piece = lookup(key)
    assert (piece.fb, piece.ft, piece.fv, piece.fc_perp, piece.fc, piece.e, piece.e_min, piece.g) == PRINTED[key]


def test_the_printed_rows_are_all_there_are():
    def row(key):
        piece = LUMBER[key]
        width = key.split()[0] if piece.species == "SP" and piece.rule == "southern pine" else ""
        return (piece.species, piece.grade, width.replace("2x3", "2x4"))

    assert {row(key) for key in LUMBER} == {row(key) for key in PRINTED}


@pytest.mark.parametrize("prefix", ["2x8 SPF Stud", "2x10 SP Select Structural", "2x4 SPF 1800f-1.6E", "4x4 DF-L No.2"])
def test_a_row_that_is_not_wholly_known_is_no_key(prefix):
    with refused(LumberError, "lumber-unknown", "", shown=prefix):
        lookup(prefix)


def test_an_unknown_key_offers_the_nearest():
    with pytest.raises(LumberError) as refusal:
        lookup("2x4 DFL No2")
    assert "2x4 DF-L No.2" in refusal.value.values["near"]
    with refused(LumberError, "lumber-unknown", near=[]):
        lookup("??")
    with pytest.raises(LumberError) as refusal:
        lookup("x" * 10_000)
    assert len(str(refusal.value)) < 300


@pytest.mark.parametrize("piece", [p for p in LUMBER.values() if p.rule != "msr"], ids=lambda p: p.key)
def test_visual_emin_follows_appendix_d(piece):
    """COVE 0.25 for visually graded lumber (NDS App. D; from memory), to the table's rounding of 10 ksi."""
    assert piece.e_min == pytest.approx(piece.e * (1 - 1.645 * 0.25) * 1.03 / 1.66, abs=5_000)


@pytest.mark.parametrize("piece", [p for p in LUMBER.values() if p.rule == "msr"], ids=lambda p: p.key)
def test_machine_rated_emin_follows_appendix_d(piece):
    """COVE 0.11 for machine-rated lumber (NDS App. D; from memory)."""
    assert piece.e_min == pytest.approx(piece.e * (1 - 1.645 * 0.11) * 1.03 / 1.66, abs=5_000)


def test_each_row_names_its_table_and_a_conflict_is_told():
    for piece in LUMBER.values():
        table = {"visual": "4A", "southern pine": "4B", "msr": "4C"}[piece.rule]
        assert piece.source.startswith(f"NDS Supplement 2018, Table {table}: ")
        # no row was read in the Supplement: each says where instead, or that it comes from memory
        assert "from memory" in piece.source or "not in the Supplement" in piece.source
        assert "/" not in piece.source
    # values.md §2.1 and 2.2: what comes from memory
    remembered = {p.key.split(" ", 1)[1] for p in LUMBER.values() if ": from memory" in p.source}
    assert remembered == {"SPF Select Structural", "SP Select Structural", "SP No.1", "SP No.2"}
    told = {(p.species, p.grade) for p in LUMBER.values() if p.note}
    assert told == {("SPF", "Select Structural"), ("Hem-Fir", "1650f-1.5E")}


# b × d, A, S, I on edge: values.md §2.4 (NDS Supplement Tables 1A/1B; S and I of the 2x8 as printed in HUD Ex. 5.1).
SECTIONS = {
    "2x3": (3.750, 1.563, 1.953, 0.938, 0.703),
    "2x4": (5.250, 3.063, 5.359, 1.313, 0.984),
    "2x6": (8.250, 7.563, 20.80, 2.063, 1.547),
    "2x8": (10.875, 13.14, 47.63, 2.719, 2.039),
    "2x10": (13.875, 21.39, 98.93, 3.469, 2.602),
    "2x12": (16.875, 31.64, 178.0, 4.219, 3.164),
}


@pytest.mark.parametrize("size", SECTIONS)
def test_section_on_edge_and_flat(size):
    area, s_edge, i_edge, s_flat, i_flat = SECTIONS[size]
    piece = lookup(f"{size} SPF No.1/No.2")
    edge, flat = section(piece), section(piece, flat=True)
    assert (edge.area, edge.modulus, edge.inertia) == pytest.approx((area, s_edge, i_edge), rel=6e-4)
    assert (flat.area, flat.modulus, flat.inertia) == pytest.approx((area, s_flat, i_flat), rel=6e-4)


def test_plies_share_alike():
    piece = lookup("2x6 SP No.1")
    one, three = section(piece), section(piece, plies=3)
    assert three.area == pytest.approx(3 * one.area)
    assert three.inertia == pytest.approx(3 * one.inertia)
    assert three.modulus == pytest.approx(3 * one.modulus)


def test_board_feet_go_by_nominal_size():
    assert board_feet(lookup("2x4 SPF No.1/No.2"), 144) == pytest.approx(8.0)
    assert board_feet(lookup("2x6 SP No.1"), 120) == pytest.approx(10.0)
