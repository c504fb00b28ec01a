"""What takes longer than a person may wait for on a page, and what to do instead."""

from __future__ import annotations

from collections.abc import Mapping

from trusses.analysis.words.phrases import Says

_TOO_LONG = "To analyse {mark} takes longer than one may wait on a page:"

WORK: Mapping[str, Says] = {
    "long-document": f"{_TOO_LONG} start a revision with this document, which the worker computes.",
    "long-loads": f"{_TOO_LONG} start a revision with these loads written in, which the worker computes.",
    "long-together": f"{_TOO_LONG} decide on what is asked of each truss in a request of its own.",
}
