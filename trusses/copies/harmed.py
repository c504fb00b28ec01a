"""Copies whose wood is hurt: every page that tells copies says so, before anything that sounds like leave. Once a
repair is finished, its drawing is told with the copy, which isn't as its sheet draws it any more."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field

from trusses import production
from trusses.models import Copy
from trusses.sealing.seals import Seal
from trusses.words import runs


@dataclass(frozen=True)
class Off:
    """Numbers of copies of one mark that are damaged, and the address where that is told."""

    copies: tuple[int, ...]
    at: str
    truss: int = 0
    wrong: tuple[tuple[tuple[int, ...], Callable[[], str]], ...] = field(default=(), compare=False)
    """What is wrong, and with which of them."""

    @property
    def each_said(self) -> list[str]:
        """Copy 16: T2 bowed."""
        return [f"{Off(numbers, '').called.capitalize()}: {says}" for numbers, what in self.wrong if (says := what())]

    @property
    def each(self) -> list[tuple[int, int]]:
        """(mark's id, number) of each."""
        return [(self.truss, number) for number in self.copies]

    @property
    def numbers(self) -> str:
        return runs(self.copies)

    @property
    def called(self) -> str:
        return f"cop{'y' if len(self.copies) == 1 else 'ies'} {self.numbers}"

    @property
    def says(self) -> str:
        return f"Not {self.called}: damaged, keep off."

    @property
    def keep_off(self) -> str:
        """Where nothing before it says which copies are meant."""
        return f"{self.called.capitalize()}: damaged, keep off."


@dataclass(frozen=True)
class Repaired(Off):
    """Numbers of copies that a sealed repair mended, which is carried out."""

    seal: Seal = field(kw_only=True)

    @property
    def says(self) -> str:
        drawing = self.seal.drawing
        was = "was" if len(self.copies) == 1 else "were"
        on = f"{drawing.sealed_on:%b} {drawing.sealed_on.day}, {drawing.sealed_on.year}"
        return (
            f"{self.called.capitalize()} {was} damaged and {was} repaired, by the repair drawing sealed by"
            f" {drawing.sealed_by} on {on}, not as this sheet alone draws it."
        )


repaired_by: list[Callable[[Sequence[Copy]], Iterable[Repaired]]] = []
"""What tells which of some copies of one job a finished repair mended: whoever keeps damage adds its own."""


def off(copies: Sequence[Copy]) -> list[Off]:
    """Of some copies of one job, those that are damaged and whose repair isn't finished, each once where several things
    keep it off. Those of several marks stand apart."""
    found: dict[tuple[int, str], list[tuple[tuple[int, ...], Callable[[], str]]]] = {}
    told: set[int] = set()
    for ask in production.before_set if copies else ():
        for one in ask(copies):
            new = [copy for copy in one.copies if copy.pk not in told] if one.harm else []
            told |= {copy.pk for copy in new}
            for truss in dict.fromkeys(copy.truss_id for copy in new):
                numbers = tuple(sorted(copy.number for copy in new if copy.truss_id == truss))
                found.setdefault((truss, one.at), []).append((numbers, one.what))
    those = [
        Off(tuple(sorted(number for numbers, _ in wrong for number in numbers)), at, truss, tuple(wrong))
        for (truss, at), wrong in found.items()
    ]
    return sorted(those, key=lambda one: (one.truss, one.copies))


def together(those: Sequence[Off]) -> Off | None:
    """All of one mark's in one; None where there are none."""
    return Off(tuple(sorted(number for one in those for number in one.copies)), "") if those else None


def repaired(copies: Sequence[Copy]) -> list[Repaired]:
    """Of some copies of one mark those that were damaged and are repaired."""
    return [one for ask in repaired_by if copies for one in ask(copies)]
