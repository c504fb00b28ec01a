"""Kinds of trusses that nothing automatic answers for: their numbers are shown, no option of theirs is called passing.

Repairs and damaged chords, girders with hangers, drag and gable-end trusses, fire-rated assemblies, treated or wet
lumber, spans of 60 ft and more. A truss document says little of that: its span, the marks whose loads it carries, and
what its title calls it.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from typing import Any

from trusses.analysis.checks.check import Finding
from trusses.analysis.format.lengths import tape_inches
from trusses.analysis.format.model import Truss
from trusses.analysis.load_path.transfer import carries

#: From this span on a registered design professional designs the bracing (IBC 2303.4.1.3), inches.
LONG_SPAN = 720.0
#: What a title may call a truss -> what that is.
_KINDS = {
    r"girder": "a girder",
    r"drag[ -](?:truss|strut|load)": "a drag truss",
    r"gable[ -]end": "a gable-end truss",
    r"fire[ -](?:rated|retardant)": "part of a fire-rated assembly",
    r"(?:preservative|pressure)[ -]treated|treated lumber": "of treated lumber",
    r"repair(?:ed|s)?|damaged": "a repair",
}


def kind_findings(truss: Truss) -> Iterator[Finding]:
    """One finding for each reason why no option of the truss is called passing."""
    if truss.span_in >= LONG_SPAN:
        yield Finding(
            "long-span",
            f"The span is {tape_inches(truss.span_in)}, 60 ft or more: a registered design professional has to design"
            " its temporary and permanent bracing (IBC 2303.4.1.3), and no option is called passing.",
            "bearings",
        )
    if says := waits(truss.document):
        yield Finding("kind", f"{says} Its numbers are shown, and it waits for its sealed drawing.", "title and loads")


def waits(document: Mapping[str, Any]) -> str:
    """Why a truss of any span is never called passing, one sentence; empty where nothing in the document says so."""
    if hung := carries(dict(document)):
        return f"It carries {', '.join(hung)}: a girder with hangers is never called passing here."
    title = str(document.get("title", ""))
    kind = next((is_a for word, is_a in _KINDS.items() if re.search(rf"\b{word}s?\b", title, re.IGNORECASE)), "")
    return f"Its title says that it is {kind}: such a truss is never called passing here." if kind else ""
