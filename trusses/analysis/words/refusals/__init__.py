"""The sentences of the core's refusals, a table for each subject."""

from __future__ import annotations

from collections.abc import Mapping

from trusses.analysis.words.phrases import Says
from trusses.analysis.words.refusals.lengths import LENGTHS

REFUSALS: Mapping[str, Says] = {**LENGTHS}
"""For each code of a refusal, its sentence. Codes are of all subjects together, so that one may stand in another."""
