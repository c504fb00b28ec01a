"""What inspectors want corrected of a mark's trusses and haven't accepted yet: told on each of its pages, by whoever
keeps corrections. A row, hanger or tie that one disputes is not in place until it is accepted."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import datetime

from trusses.analysis.words.phrases import copies as told_copies
from trusses.analysis.words.phrases import counted
from trusses.models import Job, Truss
from trusses.once import once


@dataclass(frozen=True)
class Dispute:
    """An open correction of a mark, or of the job where that is none: of `copies`, of all where none is named; `item`:
    the key of what it disputes, `about` what that was called; `state` in words, `waits` for an answer, `page`: where it
    is answered."""

    pk: int
    truss: int | None
    copies: tuple[int, ...]
    item: str
    about: str
    says: str
    by_name: str
    at: datetime
    state: str
    waits: bool
    page: str

    @property
    def of(self) -> str:
        """Copies 2 and 3; empty where none is named."""
        return told_copies(list(self.copies)).capitalize() if self.copies else ""


told_by: list[Callable[[Job], Iterable[Dispute]]] = []
"""What tells the open corrections of a job: whoever keeps them adds its own."""


def _told(job: Job) -> list[Dispute]:
    return once(("disputes", job.pk), lambda: [one for tell in told_by for one in tell(job)])


def in_job(job: Job) -> list[Dispute]:
    """Every open one once, on however many marks it stands."""
    return list({one.pk: one for one in _told(job)}.values())


def each(job: Job) -> dict[int, list[Dispute]]:
    """{mark: its open corrections}."""
    found: dict[int, list[Dispute]] = {}
    for one in _told(job):
        if one.truss is not None:
            found.setdefault(one.truss, []).append(one)
    return found


def of(truss: Truss) -> list[Dispute]:
    return each(truss.job).get(truss.pk, [])


def on_copy(truss: int, number: int, found: dict[int, list[Dispute]]) -> list[Dispute]:
    """Those that are about one copy of a mark."""
    return [one for one in found.get(truss, ()) if not one.copies or number in one.copies]


def says(found: Iterable[Dispute]) -> str:
    """1 correction open; empty where there is none."""
    number = len(list(found))
    return f"{counted(number, 'correction', 'corrections')} open" if number else ""
