"""What the findings of a stored analysis say on a page: what is the same of several webs is said once."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from trusses.analysis.piece_names import panel_names
from trusses.analysis.words.findings import FINDINGS
from trusses.analysis.words.phrases import listed, say

_ROWS = "web-restraint"


def at_once(findings: Iterable[Mapping[str, Any]], document: Mapping[str, Any]) -> list[str]:
    """A sentence each in the analysis's order, and one for all webs of `document` that rely on equally many rows."""
    rows = document.get("lateral_restraint", {}).get("webs", {})
    sentences: dict[Any, list[str]] = {}
    webs: dict[Any, list[str]] = {}
    for finding in findings:
        web = finding["where"].removeprefix("member ")
        key = rows[web] if finding["code"] == _ROWS and web in rows else finding["says"]
        sentences.setdefault(key, []).append(finding["says"])
        webs.setdefault(key, []).append(web)
    return [
        said[0] if len(said) == 1 or isinstance(key, str) else _rows(key, webs[key], document)
        for key, said in sentences.items()
    ]


def _rows(rows: int, webs: Iterable[str], document: Mapping[str, Any]) -> str:
    called = panel_names(document)
    return say(FINDINGS, _ROWS, {"web": f"Each of {listed([called[web] for web in webs])}", "rows": rows})
