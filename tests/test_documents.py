"""Every path that README.md and DEVELOPERS.md name is there."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
ROOMS = ("trusses", "changes", "project", "templates", "tests", ".ci", ".screenshots")
A_PATH = re.compile(r"(?<![\w./<>*{}-])[\w.-]+(?:/[\w.-]+)*(?:/|\.(?:py|js|css|html|md|toml|txt|png))(?![\w./<>*{}-])")


def named(document: str) -> set[str]:
    """Files by their ending and folders by the stroke at their end, in code, links and pictures."""
    told = re.findall(r'`([^`\n]+)`|\]\(([^)]+)\)|src="([^"]+)"', (ROOT / document).read_text())
    return {found.rstrip("/") for parts in told for found in A_PATH.findall("".join(parts))}


@pytest.mark.parametrize(("document", "least"), [("README.md", 4), ("DEVELOPERS.md", 150)])
def test_every_path_that_is_named_is_there(document, least):
    there = [path for room in ROOMS for path in (ROOT / room, *(ROOT / room).rglob("*"))]
    paths = {f"/{path.relative_to(ROOT).as_posix()}" for path in (*ROOT.glob("*"), *there)}
    wanted = named(document)
    assert len(wanted) >= least
    assert sorted(one for one in wanted if not any(path.endswith(f"/{one}") for path in paths)) == []
