"""`manage.py clear`: one truss per line for programs, a report for whoever runs ducts, a sentence for what is wrong."""

import json
from functools import partial
from pathlib import Path

import pytest

from tests.commands import ran
from trusses.analysis.clearance.openings import fit
from trusses.analysis.format.document import read
from trusses.analysis.format.model import Opening

EXAMPLES = Path(__file__).parent / "examples"
E1, E3, E15 = (EXAMPLES / f"{name}.truss.json" for name in ("E1", "E3", "E15"))


run = partial(ran, "clear")


def lines(process):
    return [json.loads(line) for line in process.stdout.decode().splitlines()]


def test_one_truss_per_line_in_the_order_of_the_files(tmp_path):
    process = run(E3, E15, "-", "--json", stdin=E1.read_bytes(), DATABASE_URL=f"sqlite:///{tmp_path}/no/db.sqlite3")
    assert (process.returncode, process.stderr) == (0, b"")
    told = lines(process)
    assert [one["mark"] for one in told] == ["E3", "E15", "E1"]
    assert [len(one["pockets"]) for one in told] == [6, 0, 5]
    assert list(told[0]["pockets"][0]) == ["number", "between", "members", "openings", "circle", "rectangles", "widest"]
    truss = read(json.loads(E1.read_text()))
    for pocket in told[2]["pockets"]:
        round_one = pocket["circle"]
        held = [Opening("C", "circle", tuple(round_one["centre_in"]), diameter_in=round_one["diameter_in"])]
        for one in (*pocket["rectangles"], *pocket["widest"]):
            size = {"width_in": one["width_in"], "height_in": one["height_in"]}
            held.append(Opening("R", "rectangle", tuple(one["centre_in"]), **size))
        assert [fit(truss, one).spare_in for one in held] == pytest.approx([0.0] * len(held), abs=1e-6)


def test_a_wrong_file_does_not_stop_the_others(tmp_path):
    missing = tmp_path / "missing.json"
    process = run(missing, E1, "--json")
    assert process.returncode == 1
    told = lines(process)
    assert [one.get("mark") for one in told] == [None, "E1"]
    assert told[0]["error"] == "the file can't be read: no such file or directory"
    assert process.stderr.decode().splitlines() == [f"{missing}: {told[0]['error']}"]


def test_the_report_gives_sizes_and_where_a_tape_finds_them():
    process = run(E1)
    assert (process.returncode, process.stderr) == (0, b"")
    text = process.stdout.decode()
    assert "E1  example W truss" in text
    assert "Pocket 1, between T1.1, B1.1 and W1" in text
    # 43.678 in. by the map, down to the eighth
    assert '43 5/8" round' in text
    assert "Nothing here authorizes cutting." in text
    assert "no room" not in text


def test_a_truss_without_pockets_says_so():
    process = run(E15)
    assert process.returncode == 0
    assert "No pocket has room for an opening of an inch." in process.stdout.decode()
