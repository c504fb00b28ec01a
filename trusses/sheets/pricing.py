"""What a truss costs by its job's own rates, before and after a change. Without rates there is no price."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from typing import Any

from trusses.analysis.compare import board_feet, pieces
from trusses.analysis.format.document import read_stored
from trusses.analysis.requirements.joints import plated_joints
from trusses.models import Job, JobRates

_CENT = Decimal("0.01")


@dataclass(frozen=True)
class Line:
    """One thing that is paid for: how much of it before and after, at which rate, and what that makes for one truss."""

    what: str
    unit: str
    quantity: tuple[Decimal, Decimal]
    rate: Decimal | None
    amount: tuple[Decimal, Decimal] | None


@dataclass(frozen=True)
class Price:
    """The lines and their sum for one truss, in the job's money; `total` is None where no rate is given."""

    currency: str
    note: str
    lines: tuple[Line, ...]
    total: tuple[Decimal, Decimal] | None

    @property
    def more(self) -> Decimal | None:
        return None if self.total is None else self.total[1] - self.total[0]


def rates_of(job: Job) -> JobRates | None:
    return getattr(job, "rates", None)


def has_price(rates: JobRates | None) -> bool:
    return rates is not None and any(one is not None for one in (rates.board_foot, rates.piece, rates.joint))


def price(rates: JobRates | None, before: dict[str, Any], after: dict[str, Any]) -> Price:
    """Board feet (to a tenth, as shown), pieces and plated joints of two truss documents, at a job's rates."""
    priced = {} if rates is None else {"board": rates.board_foot, "piece": rates.piece, "joint": rates.joint}
    lines = (
        _line("Lumber", "bd ft", _pair(before, after, board_feet), priced.get("board")),
        _line("Pieces", "pieces", _pair(before, after, pieces), priced.get("piece")),
        _line("Joints", "joints", _pair(before, after, _joints), priced.get("joint")),
    )
    amounts = [line.amount for line in lines if line.amount is not None]
    total = (sum((a for a, _ in amounts), Decimal()), sum((b for _, b in amounts), Decimal())) if amounts else None
    return Price(rates.currency if rates else "", rates.note if rates else "", lines, total)


def _joints(document: dict[str, Any]) -> int:
    return plated_joints(read_stored(document))


def _pair(before: dict[str, Any], after: dict[str, Any], count: Any) -> tuple[Decimal, Decimal]:
    one, other = (Decimal(f"{count(document):.1f}").normalize() for document in (before, after))
    return one, other


def _line(what: str, unit: str, quantity: tuple[Decimal, Decimal], rate: Decimal | None) -> Line:
    amount = None
    if rate is not None:
        one, other = ((n * rate).quantize(_CENT, ROUND_HALF_UP) for n in quantity)
        amount = (one, other)
    return Line(what, unit, quantity, rate, amount)
