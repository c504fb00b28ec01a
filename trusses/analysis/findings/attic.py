"""Room in a roof truss that makes its attic one with limited storage (IRC Table R301.5, notes b and g)."""

from __future__ import annotations

from collections.abc import Iterator

from trusses.analysis.checks.check import Finding
from trusses.analysis.format.model import Truss
from trusses.analysis.loads.attic import BESIDE_PSF, STORAGE_PSF, lacking, stored, told


def attic_findings(truss: Truss) -> Iterator[Finding]:
    """Where the box fits over a bottom chord that carries less than the storage load; where it carries it in part."""
    if windows := lacking(truss):
        yield Finding(
            "attic-storage",
            f"A clear box 42 in. high and 24 in. wide fits between the webs {told(truss, windows)}. Where the next"
            " truss has that room too and the attic can be reached, the bottom chord there has to carry"
            f" {STORAGE_PSF:g} psf of storage, and {BESIDE_PSF:g} psf beside it, together with the other loads (IRC"
            " Table R301.5); the document has less.",
            "loads",
        )
    if windows := stored(truss):
        yield Finding(
            "attic-storage-in-part",
            f"The bottom chord carries {STORAGE_PSF:g} psf of attic storage {told(truss, windows)} and less elsewhere:"
            " nothing is to be stored beside those parts.",
            "loads",
        )
