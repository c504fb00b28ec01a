"""What is refused, and why: a code with values, which becomes words only when somebody asks."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, ClassVar

from trusses.analysis.words.phrases import Says, say
from trusses.analysis.words.refusals import REFUSALS


class Refusal(ValueError):
    """Something can't be read, meant or done. `code` says why, `values` are the plain JSON values of its sentence, and
    `place` is what it is about: a path in the document, the name of a field, or nothing.

    The text has place and sentence, as a program's answer names its path; who asks about one thing alone takes `says`.
    A value `why` is another refusal, as `coded` has it: what was refused underneath.
    """

    words: ClassVar[Mapping[str, Says]] = REFUSALS
    """The sentence of each code. A kind of refusal that stands above the core names a table of its own."""

    def __init__(self, code: str, place: str = "", /, **values: Any) -> None:
        # all of these are arguments, so that a refusal can be sent from one process to another
        super().__init__(code, place)
        self.code, self.place, self.values = code, place, values

    @property
    def coded(self) -> dict[str, Any]:
        return {"code": self.code, "place": self.place, "values": self.values}

    @property
    def says(self) -> str:
        """The sentence without the place."""
        return _says(self.words, self.code, self.values)

    def __str__(self) -> str:
        return told(self.coded, self.words)


def told(coded: Mapping[str, Any], words: Mapping[str, Says] = REFUSALS) -> str:
    """Place and sentence of a refusal, from what `Refusal.coded` gave."""
    says = _says(words, coded["code"], coded["values"])
    return f"{coded['place']}: {says}" if coded["place"] else says


def _says(words: Mapping[str, Says], code: str, values: Mapping[str, Any]) -> str:
    if "why" in values:
        values = {**values, "why": told(values["why"], words)}
    return say(words, code, values)
