"""Weights that were asked for and that a decision issued, as sheets tell and draw them: how they hang or stand, and
what carries them across several trusses. A truss document knows of each only its pounds and its place."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass

from trusses.drawing import Weight
from trusses.models import Revision


@dataclass(frozen=True)
class Issued:
    """One weight; `now`: the revision itself was issued for it, not an earlier one of its mark. Not `drawn` is what
    lies in other copies where one that is drawn lies."""

    weight: Weight
    says: str
    now: bool
    drawn: bool = True


issued_by: list[Callable[[Revision], Iterable[Issued]]] = []
"""What tells the weights of a revision: whoever keeps requests adds its own when it starts."""


def issued(revision: Revision) -> list[Issued]:
    return [one for tell in issued_by for one in tell(revision)]
