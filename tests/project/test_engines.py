"""The scripts ask for nothing that Safari 16.4 lacks: old phones get no newer one, and there a page stands still."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
SCRIPTS = sorted(path for app in ("changes", "project", "trusses") for path in (ROOT / app / "static").rglob("*.js"))
NEWER = {
    r"\.checkVisibility\(": "17.4: getClientRects().length",
    r"imageOrientation": "17: an image element",
    r"\b(Object|Map)\.groupBy\(": "17.4",
    r"\bPromise\.(withResolvers|try)\(": "17.4 and 18.2",
    r"\bArray\.fromAsync\(|\bAbortSignal\.any\(|\bURL\.(canParse|parse)\(": "16.4 has none of them",
    r"\bnew Set\([^)]*\)\.(union|intersection|difference|isSubsetOf)\(|\bIterator\.from\(": "17 and 18.4",
    r"\b(requestIdleCallback|startViewTransition|scheduler\.)": "no Safari of 2024 has it",
    r"\.(show|hide|toggle)Popover\(|\bnavigation\.navigate\(": "17 and later",
    r"\bregistration\.sync\.|\bperiodicSync\b": "no Safari, no Firefox: `sync?.`",
    r"\bnavigator\.(locks|userActivation)\.(?!request\()": "may be absent: `?.`",
    r"image/(webp|avif)": "Safari's canvas writes PNG in its place",
}


@pytest.mark.parametrize("script", SCRIPTS, ids=lambda path: path.name)
def test_no_script_needs_a_newer_safari(script: Path) -> None:
    text = script.read_text()
    assert [f"{found.group()} ({since})" for name, since in NEWER.items() for found in re.finditer(name, text)] == []
