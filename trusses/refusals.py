"""What the set refuses: a code with values, which `words` tells when somebody asks."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, ClassVar

from django.core.exceptions import PermissionDenied

from trusses.analysis.words.phrases import Says
from trusses.analysis.words.refusal import Refusal
from trusses.words import REFUSALS


class Refused(Refusal):
    """A wish that can't be met. `field` names what it is about, where one thing is, and `place` where that stands in
    what a program sent. The text has place and sentence; a page, which asks one thing, tells the sentence alone."""

    words: ClassVar[Mapping[str, Says]] = REFUSALS

    def __init__(self, code: str, field: str | None = None, place: str = "", /, **values: Any) -> None:
        super().__init__(code, place, **values)
        self.field = field


class MarkTaken(Refused):
    """The job has a mark of that name already."""


class Superseded(Refused):
    """Another revision became current meanwhile."""


class NotAllowed(Refusal, PermissionDenied):
    """The person's role in the job doesn't allow it."""

    words: ClassVar[Mapping[str, Says]] = REFUSALS

    def __init__(self, code: str, /, **values: Any) -> None:
        super().__init__(code, **values)
        # who answers for Django or the API reads the sentence here
        self.args = (self.says,)


def because(trouble: Exception, *, placed: bool = True) -> dict[str, Any]:
    """The value `why` of a refusal for what was refused underneath, with its place there or without."""
    if not isinstance(trouble, Refusal):
        return {"code": "as-it-was-told", "place": "", "values": {"says": str(trouble)}}
    return trouble.coded if placed else {**trouble.coded, "place": ""}
