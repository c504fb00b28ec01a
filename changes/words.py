"""The one place where the codes of a request become sentences; nothing reads a sentence back.

What was stored before codes were is a sentence already, and told as it is.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from trusses.analysis.words.findings import FINDINGS
from trusses.analysis.words.phrases import Says, say

Coded = Mapping[str, Any]


def finding(stored: str | Coded) -> str:
    """What a person has to look at in a mark that carries others: {"code", "values"}."""
    if isinstance(stored, str):
        return stored
    return say(_CARRIERS, stored["code"], stored["values"])


def _cut_copies(mark: str, numbers: Sequence[int]) -> str:
    one = len(numbers) == 1
    return (
        f"Of {mark}, {len(numbers)} {'copy is' if one else 'copies are'} cut already"
        f" ({', '.join(map(str, numbers))}) and keep{'s' if one else ''} the old loads; the numbers here take every"
        " copy as changed."
    )


_CARRIERS: Mapping[str, Says] = {**FINDINGS, "cut-copies": _cut_copies}
