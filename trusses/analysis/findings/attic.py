"""Room in a roof truss that makes its attic one with limited storage (IRC Table R301.5, notes b and g)."""

from __future__ import annotations

from collections.abc import Iterator

from trusses.analysis.checks.check import Finding
from trusses.analysis.format.model import Truss
from trusses.analysis.loads.attic import BESIDE_PSF, STORAGE_PSF, along, lacking, stored


def attic_findings(truss: Truss) -> Iterator[Finding]:
    """Where the box fits over a bottom chord that carries less than the storage load; where it carries it in part."""
    if windows := lacking(truss):
        yield Finding(
            "attic-storage",
            "loads",
            {"windows": along(truss, windows), "psf": STORAGE_PSF, "beside_psf": BESIDE_PSF},
        )
    if windows := stored(truss):
        yield Finding("attic-storage-in-part", "loads", {"windows": along(truss, windows), "psf": STORAGE_PSF})
