"""`manage.py options`: one option per line for programs, a report for people, a sentence for whatever is wrong."""

import json
from functools import partial
from pathlib import Path

import pytest

from tests.commands import ran
from tests.option_cases import w_truss
from trusses.analysis.analysis import analyse
from trusses.analysis.clearance.openings import fits
from trusses.analysis.compare import board_feet
from trusses.analysis.format.document import read, sha256

E1 = Path(__file__).parent / "examples" / "E1.truss.json"
DUCT = {"id": "O1", "shape": "circle", "centre_in": [132, 20], "diameter_in": 14, "clearance_in": 1}
KEYS = ["mark", "title", "says", "changed", "board_feet_delta", "worst_ratio", "passes", "document"]


run = partial(ran, "options")


def lines(process):
    return [json.loads(line) for line in process.stdout.decode().splitlines()]


@pytest.fixture
def wish(tmp_path):
    """Writes today's W truss with openings to a file."""

    def write(name, *openings, **more):
        path = tmp_path / f"{name}.json"
        path.write_text(json.dumps(w_truss().document | {"mark": name, "openings": list(openings)} | more))
        return path

    return write


def test_one_option_per_line_each_a_whole_truss_that_holds_what_is_claimed_of_it(wish):
    path = wish("D1", DUCT)
    process = run(path, "--json")
    assert (process.returncode, process.stderr) == (0, b"")
    options = lines(process)
    today = w_truss().document
    assert len(options) >= 2
    for option in options:
        assert list(option) == KEYS
        assert option["mark"] == "D1"
        assert option["document"]["openings"] == [DUCT]
        changed = read(option["document"])
        analysis = analyse(changed)
        clear = all(found.fits for found in fits(changed))
        assert option["worst_ratio"] == pytest.approx(analysis.worst_ratio, rel=1e-9)
        assert option["passes"] is (analysis.passes and clear)
        assert option["board_feet_delta"] == pytest.approx(board_feet(option["document"]) - board_feet(today), abs=1e-6)
        assert {m["id"] for m in option["document"]["members"] if m not in today["members"]} <= {
            *option["changed"],
            *(m["id"] for m in option["document"]["members"] if m["role"] != "web"),
        }
        assert option["title"]
        assert option["says"].endswith(".")
    assert options[0]["passes"]
    assert [option["passes"] for option in options] == sorted((o["passes"] for o in options), reverse=True)
    assert "W1" in options[0]["changed"]


def test_a_file_whose_openings_fit_has_one_option_today_s_truss(wish):
    path = wish("D1", DUCT | {"centre_in": [216, 40]})
    process = run(path, "--json")
    (only,) = lines(process)
    assert process.returncode == 0
    assert (only["passes"], only["changed"], only["board_feet_delta"]) == (True, [], 0)
    assert sha256(only["document"]) == sha256(json.loads(path.read_text()))
    assert only["title"] == "Today's truss, with the opening drawn in"


def test_a_file_without_an_opening_has_one_option_too(wish):
    (only,) = lines(run(wish("D1"), "--json"))
    assert (only["passes"], only["changed"]) == (True, [])


def test_today_s_truss_that_fails_is_no_passing_option(wish):
    heavy = [load | {"psf": load["psf"] * 3} for load in w_truss().document["loads"]["area"]]
    process = run(wish("D1", DUCT | {"centre_in": [216, 40]}, loads={"area": heavy}), "--json")
    (only,) = lines(process)
    assert process.returncode == 3
    assert only["passes"] is False
    assert only["worst_ratio"] > 1


@pytest.mark.parametrize(
    ("centre", "verdict", "says"),
    [
        ([132, 3], "never", "It would cut chord B1. A chord is never cut."),
        ([216, 300], "never", "It reaches outside of the truss"),
    ],
)
def test_what_no_redesign_gives_has_one_line_that_says_why_and_where_it_fits(wish, centre, verdict, says):
    process = run(wish("D1", DUCT | {"centre_in": centre}), "--json")
    (only,) = lines(process)
    assert process.returncode == 3
    assert list(only) == ["mark", "none"]
    assert list(only["none"]) == ["verdict", "says", "nearest"]
    assert only["none"]["verdict"] == verdict
    assert says in only["none"]["says"]
    near = only["none"]["nearest"]
    assert near["opening"] == "O1"
    truss = json.loads(wish("D1", DUCT | {"centre_in": near["centre_in"]}).read_text())
    assert all(found.fits for found in fits(read(truss)))


def test_each_file_is_answered_and_the_code_is_that_of_the_worst(wish, tmp_path):
    wrong = json.loads(E1.read_text())
    wrong["members"][4]["joints"][1] = "K"
    (tmp_path / "wrong.json").write_text(json.dumps(wrong))
    good, never = wish("D1", DUCT), wish("D2", DUCT | {"centre_in": [132, 3]})
    fine = run(good, never, "--json")
    assert fine.returncode == 3
    assert {line["mark"] for line in lines(fine)} == {"D1", "D2"}
    process = run(never, tmp_path / "wrong.json", tmp_path / "missing.json", good, "--json")
    assert process.returncode == 1
    answers = lines(process)
    assert [line.get("error") for line in answers[1:3]] == [
        'members[4] (B1): joint "K" does not exist',
        "the file can't be read: no such file or directory",
    ]
    assert ("none" in answers[0], answers[3]["mark"]) == (True, "D1")
    said = process.stderr.decode().splitlines()
    assert said == [
        f"{tmp_path}/{name}.json: {line['error']}"
        for name, line in zip(("wrong", "missing"), answers[1:3], strict=True)
    ]


def test_a_truss_that_can_move_is_refused_by_name(wish):
    document = json.loads(wish("D1", DUCT).read_text())
    document["hinges"] = list(document["joints"])
    del document["lateral_restraint"]["webs"]
    document["members"] = [member for member in document["members"] if member["id"] != "W2"]
    process = run("-", "--json", stdin=json.dumps(document).encode())
    assert process.returncode == 1
    assert lines(process)[0]["error"].startswith("the truss can move freely: joint ")
    assert process.stderr.startswith(b"standard input: the truss can move freely")


def test_it_needs_no_database(wish, tmp_path):
    process = run(wish("D1"), DATABASE_URL=f"sqlite:///{tmp_path}/no/such/folder/db.sqlite3")
    assert (process.returncode, process.stderr) == (0, b"")


def test_the_report_names_what_is_wanted_what_changes_and_that_nobody_may_cut(wish):
    good, never = wish("D1", DUCT), wish("D2", DUCT | {"centre_in": [132, 3]})
    process = run(good, never)
    assert process.returncode == 3
    text = process.stdout.decode()
    for part in (
        'O1: 1\'-2" round, centre 11\'-0" along the span and 1\'-8" up, 1" clear all around',
        "[passes]",
        "board feet; worst ratio 0.",
        "Not possible here.",
        "A chord is never cut.",
        "Nothing here authorizes cutting.",
    ):
        assert part in text, part
    assert text.index("D1  ") < text.index("D2  ")
    for option in lines(run(good, "--json")):
        assert option["title"] in text


def test_without_a_file_it_says_how_it_is_used():
    process = run()
    assert process.returncode == 2
    assert b"FILE" in process.stderr
