"""What the change refuses: a code with values, which `words.refusals` tells when somebody asks.

Who catches what a verb raises catches the set's `Refused`: a request is refused by its rules too.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import ClassVar

from changes.words.refusals import REFUSALS
from trusses import refusals as sets
from trusses.analysis.words.phrases import Says
from trusses.analysis.words.refusal import Refusal


class Refused(sets.Refused):
    """What was sent is wrong."""

    words: ClassVar[Mapping[str, Says]] = REFUSALS


class Conflict(Refusal):
    """Somebody or something was first: who and when."""

    words: ClassVar[Mapping[str, Says]] = REFUSALS


class NotAllowed(sets.NotAllowed):
    """The person's role in the job doesn't allow it."""

    words: ClassVar[Mapping[str, Says]] = REFUSALS
