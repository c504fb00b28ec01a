"""`manage.py shape`: prints documents that the core reads, says what is wrong in sentences, needs no database."""

import json
import subprocess
import sys
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command

from trusses.analysis.format.document import read
from trusses.analysis.shapes.shapes import KINDS, build

ROOT = Path(__file__).parents[2]


def shape(capsys, *words):
    call_command("shape", *words)
    return capsys.readouterr()


def test_prints_the_document_of_the_shape(capsys):
    out, err = shape(capsys, "W", "--span", "36'", "--pitch", "6", "--snow", "30", "--wind-up", "22", "--mark", "R2")
    assert json.loads(out) == build("w", span=432, pitch=6, snow=30, wind_up=22, mark="R2")
    assert err == ""


def test_says_that_the_sites_loads_are_not_in_it(capsys):
    out, err = shape(capsys, "howe", "--span", "28'")
    assert read(out).mark == "R1"
    assert "No snow and no wind" in err
    assert shape(capsys, "floor", "--span", "16'").err == ""


def test_writes_to_a_file(capsys, tmp_path):
    path = tmp_path / "floor.json"
    out, _ = shape(capsys, "floor", "--span", "20'", "--chase-width", "24", "--no-arrangements", "--out", str(path))
    assert out == ""
    assert json.loads(path.read_text()) == build("floor", span=240, chase_width=24, arranged=False)
    with pytest.raises(CommandError, match="can't be written: Is a directory"):
        shape(capsys, "floor", "--span", "20'", "--out", str(tmp_path))


def test_snow_from_the_ground(capsys):
    words = (
        "--ground-snow",
        "40 psf",
        "--exposure",
        "0.9",
        "--thermal",
        "1.1",
        "--importance",
        "1",
        "--surface",
        "other",
    )
    out, err = shape(capsys, "w", "--span", "36'", *words)
    assert json.loads(out) == build("w", span=432, ground_snow=40, exposure=0.9)
    assert "pg 40 psf (Ce 0.9, Ct 1.1, Is 1)" in json.loads(out)["title"]
    assert err == ""
    words = ("--ground-snow", "60", "--snow-edition", "7-22", "--winter-wind", "0.45", "--roof-live-by", "asce")
    loads = json.loads(shape(capsys, "hip", "--span", "36'", *words)[0])["loads"]["area"]
    assert {load["pattern"] for load in loads if load["case"] == "snow"} == {"balanced", "left", "right"}


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("w",), "Span: say how much"),
        (("w", "--span", "12' 13\""), "make another foot"),
        (("w", "--span", "28'", "--depth", "16"), "A W truss has no depth"),
        (("w", "--span", "28'", "--snow", "20", "--ground-snow", "40"), "not both: one follows from the other"),
        (
            ("w", "--span", "28'", "--snow", "20", "--exposure", "0.9"),
            "--exposure says something of snow on the ground",
        ),
        (("w", "--span", "28'", "--ground-snow", "40", "--surface", "ice"), "not one of other, slippery"),
        (("floor", "--span", "18'", "--ground-snow", "40"), "A floor truss has no ground snow"),
        (("gambrel", "--span", "28'"), "not a shape here"),
        (("scissors", "--span", "28'", "--pitch", "3", "--bottom-pitch", "3"), "1 in 12 less"),
    ],
)
def test_says_what_is_wrong(capsys, words, says):
    with pytest.raises(CommandError, match=says):
        shape(capsys, *words)


def test_from_the_shell_without_a_database():
    """The real process, with a database that nobody could reach: exit codes and streams as a script sees them."""
    where = {"cwd": ROOT, "capture_output": True, "text": True, "timeout": 120, "check": False}
    where["env"] = {"PATH": "/usr/bin:/bin", "DATABASE_URL": "postgres://nobody@127.0.0.1:1/nothing"}
    good = subprocess.run([sys.executable, "manage.py", "shape", "hip", "--span", "32'"], **where)
    assert good.returncode == 0, good.stderr
    assert read(good.stdout).span_in == 384
    bad = subprocess.run([sys.executable, "manage.py", "shape", "hip", "--span", "ten feet"], **where)
    assert bad.returncode == 1
    assert bad.stdout == ""
    assert "Span: ten feet" in bad.stderr
    assert "Traceback" not in bad.stderr
    told = subprocess.run([sys.executable, "manage.py", "shape", "--help"], **where)
    assert told.returncode == 0
    assert all(f"  {kind.key}" in told.stdout and kind.says in told.stdout for kind in KINDS.values())
    assert "Starts from 10 or 12, by shape." in " ".join(told.stdout.split())
