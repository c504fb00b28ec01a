"""`manage.py analyse`: JSON Lines for programs, a report for people, a sentence for whatever is wrong."""

import json
import re
from functools import partial
from pathlib import Path

import pytest

from tests.commands import ran
from trusses.analysis.analysis_document import read_back
from trusses.analysis.format.document import read
from trusses.analysis.piece_names import panel_names
from trusses.analysis.requirements.joints import joint_demand
from trusses.analysis.requirements.supports import supports
from trusses.analysis.requirements.web_restraint import web_rows
from trusses.analysis.words.lengths import tape_inches

EXAMPLES = Path(__file__).parent / "examples"
E1, E2, E4, E7 = (EXAMPLES / f"{name}.truss.json" for name in ("E1", "E2", "E4", "E7"))


run = partial(ran, "analyse")


def lines(process):
    return [json.loads(line) for line in process.stdout.decode().splitlines()]


def written(path, document):
    path.write_text(json.dumps(document))
    return path


@pytest.fixture
def mechanism(tmp_path):
    """E1 with a web taken out, which lets its neighbours fold."""
    document = json.loads(E1.read_text())
    document["hinges"] = list(document["joints"])
    document["members"] = [member for member in document["members"] if member["id"] != "W2"]
    return written(tmp_path / "mechanism.json", document)


def test_one_analysis_per_line_in_the_order_of_the_files():
    process = run(E7, E1, "--json")
    assert (process.returncode, process.stderr) == (0, b"")
    documents = lines(process)
    assert [document["mark"] for document in documents] == ["E7", "E1"]
    keys = (
        "format version mark truss_sha256 engine cases combinations envelope checks openings worst_ratio passes "
        "not_checked findings"
    )
    for document in documents:
        assert list(document) == keys.split()
        assert (document["format"], document["version"]) == ("chordchange.analysis", 1)
    assert documents[1]["cases"]["dead"]["reactions_lb"]["a"][1] == pytest.approx(864.491079, rel=1e-8)


def test_each_part_of_the_document_has_its_keys():
    document = lines(run(E1, "--json"))[0]
    case = document["cases"]["snow/left"]
    assert list(case) == ["displacements_in", "reactions_lb", "members"]
    assert list(case["members"]["T1"]) == ["axial_lb", "shear_lb", "moment_inlb", "peak_moment_inlb"]
    dead = document["combinations"]["D"]
    assert (dead["factors"], dead["load_duration"]) == ({"dead": 1.0}, 0.9)
    assert dead["members"] == document["cases"]["dead"]["members"]
    envelope = document["envelope"]
    assert list(envelope["members"]["T1"]) == ["tension_lb", "tension_by", "compression_lb", "compression_by"]
    assert list(envelope["reactions_lb"]["a"]) == ["down_lb", "down_by", "uplift_lb", "uplift_by"]
    keys = ["of", "id", "rule", "source", "combination", "at_in", "demand", "capacity", "ratio", "passes", "terms"]
    assert all(list(check) == keys for check in document["checks"])
    assert {check["of"] for check in document["checks"]} == {"member", "bearing", "truss"}
    assert [list(opening) for opening in document["openings"]] == [["id", "fits", "touches", "spare_in"]]
    assert all(list(finding) == ["code", "says", "where"] for finding in document["findings"])
    assert "plates" in " ".join(document["not_checked"])


def test_failed_checks_are_no_error():
    process = run(E1, "--json")
    assert lines(process)[0]["passes"] is False
    assert process.returncode == 0


def test_standard_input():
    process = run("-", "--json", stdin=E4.read_bytes())
    assert process.returncode == 0
    assert lines(process)[0]["mark"] == "E4"


def test_a_wrong_file_does_not_stop_the_others(tmp_path, mechanism):
    wrong = json.loads(E1.read_text())
    wrong["members"][4]["joints"][1] = "K"
    binary = tmp_path / "binary.json"
    binary.write_bytes(bytes(range(256)))
    huge = tmp_path / "huge.json"
    huge.write_bytes(b" " * 3_000_000)
    missing = tmp_path / "missing.json"
    files = [E4, written(tmp_path / "wrong.json", wrong), mechanism, missing, tmp_path, binary, huge, "-", E1]
    process = run(*files, "--json")
    assert process.returncode == 1
    documents = lines(process)
    assert [document.get("mark") for document in documents] == ["E4", *[None] * 7, "E1"]
    errors = [document["error"] for document in documents[1:8]]
    assert errors[0] == 'members[4] (B1): joint "K" does not exist'
    assert errors[1].startswith("the truss can move freely: joint ")
    assert errors[2] == "the file can't be read: no such file or directory"
    assert errors[3] == "the file can't be read: is a directory"
    assert "not UTF-8 text" in errors[4]
    assert errors[5] == "the document is larger than 1,000,000 bytes"
    assert errors[6] == "the document is empty"
    said = process.stderr.decode().splitlines()
    assert len(said) == 7
    for sentence, error, file in zip(said, errors, files[1:8], strict=True):
        assert sentence == f"{'standard input' if file == '-' else file}: {error}"
    assert "Traceback" not in process.stderr.decode()


def test_it_needs_no_database(tmp_path):
    nowhere = f"sqlite:///{tmp_path}/no/such/folder/db.sqlite3"
    process = run(E4, "--json", DATABASE_URL=nowhere)
    assert (process.returncode, process.stderr) == (0, b"")
    assert not list(tmp_path.iterdir())


def test_the_report_says_what_it_rests_on_and_what_it_leaves_out():
    process = run(E1)
    assert (process.returncode, process.stderr) == (0, b"")
    text = process.stdout.decode()
    for part in (
        "E1  example W truss",
        '36\'-0" between outer bearings, 1 ply, 24" on center',
        "854cfa3131fbd6eaccb62e59016c6df77678b69a23a973cb998893db81a83678",
        "Plates     not checked",
        "Seal       missing",
        "Reactions at bearings",
        "live deflection",
        "O1: ",
        "Not checked here",
        "Nothing here authori",
        "approval of a registered design professional",
    ):
        assert part in text, part
    document = lines(run(E1, "--json"))[0]
    called = panel_names(json.loads(E1.read_text()))
    for member, worst in _governing(document).items():
        row = next(line for line in text.splitlines() if line.startswith(f"{called[member]} "))
        assert worst["rule"] in row
        assert worst["combination"] in row
    reaction = document["envelope"]["reactions_lb"]["a"]
    assert f"{reaction['down_lb']:,.0f}" in text
    assert all(finding["says"].split()[0] in text for finding in document["findings"])


def test_the_report_tells_what_walls_plates_and_restraint_must_carry():
    text = run(E2).stdout.decode()
    document = lines(run(E2, "--json"))[0]
    told = read_back(read(json.loads(E2.read_text())), document)
    bearings = text[text.index("What each bearing and its connection need") :]
    for one in supports(told, document["checks"]):
        row = next(line for line in bearings.splitlines() if line.startswith(f"{one.joint} "))
        assert f" {tape_inches(one.required_width_in)} " in row
        assert f" {one.uplift.lb:,.0f} " in row
    cases = text[text.index("What it puts on the walls, by load case") :]
    dead = next(line.split() for line in cases.splitlines() if line.startswith("Dead "))
    assert dead[1:] == [f"{one.by_case['dead']:,.0f}" for one in supports(told, document["checks"])]
    webs = text[text.index("Restraint of webs under compression") :]
    for web in web_rows(told):
        row = next(line for line in webs.splitlines() if line.startswith(f"{web.web} "))
        each = f"{web.row_lb:,.0f}" if web.row_lb >= 0.5 else "-"
        assert row.split()[-3:] == [str(web.needed), str(web.stated), each]
    called = panel_names(json.loads(E2.read_text()))
    for piece in joint_demand(told).governing():
        wood = re.escape(" and ".join(called[member] for member in piece.piece.members))
        assert re.search(rf"^{piece.piece.joint} +{wood} .*\b{piece.steel_lb:,.0f} ", text, re.M), piece.piece
    assert "Along the span at" in text
    assert "Camber: dead load bends it" in text
    assert "board feet between joints" in text


def _governing(document):
    worst = {}
    for check in document["checks"]:
        if check["of"] == "member" and check["ratio"] > worst.get(check["id"], {"ratio": -1})["ratio"]:
            worst[check["id"]] = check
    return worst


def test_the_report_of_several_files_and_an_error(mechanism):
    process = run(E4, mechanism, E1)
    assert process.returncode == 1
    text = process.stdout.decode()
    assert text.index("E4  ") < text.index("E1  ")
    assert process.stderr.decode().startswith(f"{mechanism}: the truss can move freely")


def test_without_a_file_it_says_how_it_is_used():
    process = run()
    assert process.returncode == 2
    assert b"FILE" in process.stderr
