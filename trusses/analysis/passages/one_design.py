"""One design for all copies that a way changes, analysed under the loads of each.

What was found for a copy was found under its own loads. Whether it serves the others is no matter of who carries most:
a wider gap takes the repetitive member factor away, and a header presses where another copy has none. So each design
is put under every copy's loads, that of the copy which carries most first, and the first that holds on all is taken.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from trusses.analysis.analysis import Analysis, analyse
from trusses.analysis.checks.stack import SERVICEABILITY
from trusses.analysis.checks.surroundings import Surroundings
from trusses.analysis.format.document import canonical, read
from trusses.analysis.format.model import Truss
from trusses.analysis.loads import arrangements
from trusses.analysis.made_stronger import Strengthened
from trusses.analysis.passages.row import Document
from trusses.analysis.redesign.draft import Draft
from trusses.analysis.requirements import supports
from trusses.analysis.verdict import verdict

#: A truss as it would be made stronger, None where nothing passes.
Strong = Callable[[Truss], Strengthened | None]
#: Ratios of like copies differ by no more than the sums' rounding.
_ALIKE = 1e-6


def may_pass(analysis: Analysis) -> bool:
    return verdict(analysis.truss, analysis).may_be_called_passing


@dataclass(frozen=True)
class CopyUnder:
    """One copy that a way changes: what it carries, with today's wood. `candidate` where it had to be made stronger."""

    number: int
    tributary_in: float
    analysis: Analysis
    candidate: Strengthened | None = None

    @property
    def document(self) -> Document:
        return self.candidate.document if self.candidate else self.analysis.truss.document

    @property
    def passes(self) -> bool:
        return self.candidate.passes if self.candidate else may_pass(self.analysis)


@dataclass(frozen=True)
class OnCopy:
    """The one design under the loads of one copy."""

    number: int
    analysis: Analysis

    @property
    def passes(self) -> bool:
        return may_pass(self.analysis)

    @property
    def failing(self) -> dict[str, float]:
        """The rules that it is over the limit of, each with its largest ratio."""
        found: dict[str, float] = {}
        for check in self.analysis.checks:
            if not check.passes:
                found[check.rule] = max(check.ratio, found.get(check.rule, 0.0))
        return found

    @property
    def presses(self) -> tuple[float, float]:
        """The most that it presses on one of its bearings and lifts there, pounds."""
        most = supports.at_most(self.analysis.document()).values()
        return max(one["down_lb"] for one in most), max(one["uplift_lb"] for one in most)


@dataclass(frozen=True)
class OneDesign:
    """The design on each copy, in the row's order. `stronger`: it isn't today's wood."""

    copies: tuple[OnCopy, ...]
    stronger: bool

    @property
    def passes(self) -> bool:
        return all(each.passes for each in self.copies)

    @property
    def governing(self) -> OnCopy:
        """The copy whose loads the option shows: strength before deflection, then the largest ratio. No load changes a
        slenderness: of several alike the one that presses most, since others build what is below by it."""
        worst = max(_rank(on) for on in self.copies)
        alike = [on for on in self.copies if _rank(on)[0] == worst[0] and _rank(on)[1] > worst[1] - _ALIKE]
        return max(alike, key=lambda on: on.presses) if len(alike) > 1 else alike[0]

    @property
    def failing(self) -> tuple[OnCopy, ...]:
        return tuple(each for each in self.copies if not each.passes)

    @property
    def hides(self) -> bool:
        """Whether a copy is over a limit that the one whose loads are shown keeps, or over it by more: nobody accepts
        what isn't shown."""
        shown = self.governing.failing
        return any(
            ratio > shown.get(rule, 0.0) + _ALIKE for each in self.copies for rule, ratio in each.failing.items()
        )


def one_design(copies: Sequence[CopyUnder], strong: Strong, surroundings: Surroundings) -> OneDesign | None:
    """The first design, of the copy that carries most first, that holds on all; where none does, the closest made
    stronger in turn under the loads of each copy that it fails on; else that which comes closest. None where no copy
    changes."""
    tried: dict[bytes, OneDesign] = {}
    for each in sorted(copies, key=lambda copy: (copy.passes, -copy.analysis.worst_ratio)):
        wood = canonical({key: value for key, value in each.document.items() if key not in ("loads", "spacing_in")})
        if wood not in tried:
            tried[wood] = one = _on_all(each.document, each.candidate is not None, copies, surroundings)
            if one.passes:
                return one
    closest = min(tried.values(), key=_worst, default=None)
    stronger = closest
    # what stands on no copy alone, nothing makes stand on all
    for _ in copies if all(copy.passes for copy in copies) else ():
        if stronger is None or (found := strong(stronger.failing[0].analysis.truss)) is None:
            break
        stronger = _on_all(found.document, True, copies, surroundings)
        if stronger.passes:
            return stronger
    return closest


def _rank(on: OnCopy) -> tuple[bool, float]:
    return bool(on.failing.keys() - SERVICEABILITY), on.analysis.worst_ratio


def _worst(one: OneDesign) -> float:
    return max(each.analysis.worst_ratio for each in one.copies)


def _on_all(design: Document, stronger: bool, copies: Sequence[CopyUnder], surroundings: Surroundings) -> OneDesign:
    trusses = [under(design, copy.analysis.truss.document) for copy in copies]
    on = (OnCopy(copy.number, analyse(each, surroundings)) for copy, each in zip(copies, trusses, strict=True))
    return OneDesign(tuple(on), stronger)


def under(design: Document, loaded: Document) -> Truss:
    """The wood of `design` with the loads of `loaded`, the same truss as another copy carries it: each at its true
    place, and at the spacing there."""
    document = Draft(design).loaded_as(loaded).document() | {"spacing_in": loaded["spacing_in"]}
    truss = read(document)
    return read(arrangements.arrange(document)) if arrangements.missing(truss) else truss
