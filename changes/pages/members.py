"""The members of one truss before and after: what governs each of them, strength apart from slenderness, over all
combinations or under one, and every factor and number of each check."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

from changes.pages.section import Section, more
from trusses.analysis.analysis import checks_under
from trusses.analysis.checks.check import TERM_UNITS
from trusses.analysis.format.document import read_stored

SLENDERNESS = "slenderness"
"""The one rule of a member that is a limit of shape and not of strength; it doesn't depend on a load's size."""

MEANINGS = {
    "CD": "load duration",
    "CF": "size",
    "Cr": "repetitive member",
    "Cfu": "flat use",
    "CP": "column stability",
    "CL": "beam stability",
    "CT": "buckling stiffness",
    "CM": "wet service",
    "Ct": "temperature",
    "Ci": "incising",
    "lu": "compressed edge held every",
    "RB": "slenderness as a beam",
    "le in plane": "effective length in the truss's plane",
    "le out of plane": "effective length out of the plane",
    "le/d in plane": "slenderness in the truss's plane",
    "le/d out of plane": "slenderness out of the plane",
    "FcE in plane": "critical buckling stress in the truss's plane",
    "FcE out of plane": "critical buckling stress out of the plane",
    "ft": "tension stress",
    "fc": "compression stress",
    "fb": "bending stress",
    "fv": "shear stress",
    "V": "shear force",
    "Ft'": "allowed tension",
    "Fc'": "allowed compression",
    "Fc*": "allowed compression but for CP",
    "Fb'": "allowed bending",
    "Fb*": "allowed bending but for CL",
    "Fb**": "allowed bending, with CL",
    "eq. 3.9-1": "tension and bending together",
    "eq. 3.9-2": "bending less tension, on the compressed edge",
    "eq. 3.9-4": "compression and bending across, at most 1",
}
"""What the letters of the National Design Specification stand for."""

Check = dict[str, Any]
Pair = list[Any]


@dataclass(frozen=True)
class Rule:
    """One check on a member, [before, after]; None where that side has no such check."""

    name: str
    sides: list[Check | None]

    @property
    def most(self) -> float:
        return max(side["ratio"] for side in self.sides if side)

    @property
    def source(self) -> str:
        return next(side["source"] for side in self.sides if side)

    @property
    def stressed(self) -> bool:
        """Whether demand and capacity are stresses; those of interactions and slenderness are plain numbers."""
        return self.name in ("tension", "compression", "bending", "shear", "bearing on the chord")

    @property
    def terms(self) -> list[tuple[str, str, list[str]]]:
        """(letter, meaning, [before, after]) of every factor, length, stress and force that went in."""
        names = dict.fromkeys(name for side in self.sides if side for name in side["terms"])
        return [
            (
                name,
                MEANINGS.get(name, ""),
                [_told(name, (side or {}).get("terms", {}).get(name)) for side in self.sides],
            )
            for name in names
        ]


def _told(name: str, value: object) -> str:
    if value is None:
        return "—"
    if not isinstance(value, int | float):
        return str(value)
    unit = TERM_UNITS.get(name, "")
    digits = {"psi": 0, "lb": 0, "in.": 1}.get(unit, 3)
    return f"{value:,.{digits}f}{' ' if unit else ''}{unit}".replace("-", "−")


@dataclass
class Row:
    """A member in the table: its line of the comparison, and what governs it."""

    member: dict[str, Any]
    rules: list[Rule]
    force_lb: Pair
    delta_lb: float | None

    @property
    def change_lb(self) -> float | None:
        """The change as it is told beside the two forces: of these as they stand there, in whole pounds."""
        before, after = self.force_lb
        return None if self.delta_lb is None else round(after or 0.0) - round(before or 0.0)

    @property
    def role(self) -> str:
        return self.member["role"].replace("_", " ")

    @cached_property
    def strength(self) -> Pair:
        """The governing check of strength and stability, [before, after]."""
        return [
            _worst(side for rule in self.rules if rule.name != SLENDERNESS for side in [rule.sides[k]]) for k in (0, 1)
        ]

    @cached_property
    def slender(self) -> Pair:
        return next((rule.sides for rule in self.rules if rule.name == SLENDERNESS), [None, None])

    @property
    def by_strength(self) -> list[Rule]:
        return sorted((rule for rule in self.rules if rule.name != SLENDERNESS), key=lambda rule: -rule.most)

    @property
    def by_slenderness(self) -> list[Rule]:
        return [rule for rule in self.rules if rule.name == SLENDERNESS]


def _worst(checks: Iterable[Check | None]) -> Check | None:
    return max((check for check in checks if check), key=lambda check: check["ratio"], default=None)


@dataclass
class Members:
    """Every member of a section's two trusses, under one `combination` or, where it is empty, over all of them."""

    section: Section
    combination: str = ""
    rows: list[Row] = field(init=False)

    def __post_init__(self) -> None:
        option, revision = self.section.chosen, self.section.revision
        comparison = option.comparison if option else None
        if not comparison or self.combination not in comparison["combinations"]:
            self.combination = ""
        if option is None or not comparison:
            self.rows = []
            return
        sides = [self._checks(revision.document, revision.analysis), self._checks(option.document, option.analysis)]
        under = comparison["combinations"].get(self.combination, {})
        self.rows = [self._row(member, sides, under) for member in self.section.changed]

    def _checks(self, document: dict[str, Any], analysis: dict[str, Any] | None) -> dict[str, list[Check]]:
        """{member: its checks}: the stored ones or, under one combination, worked out from the stored document."""
        found: dict[str, list[Check]] = {}
        if analysis is None or (self.combination and self.combination not in analysis["combinations"]):
            return found
        checks = [check for check in analysis["checks"] if check["of"] == "member"]
        if self.combination:
            checks = [_plain(check) for check in checks_under(read_stored(document), analysis, self.combination)]
        for check in checks:
            found.setdefault(check["id"], []).append(check)
        return found

    def _row(self, member: dict[str, Any], sides: list[dict[str, list[Check]]], under: dict[str, Pair]) -> Row:
        name = member["id"]
        own = [{check["rule"]: check for check in side.get(name, [])} for side in sides]
        rules = [Rule(rule, [side.get(rule) for side in own]) for rule in dict.fromkeys([*own[0], *own[1]])]
        if not self.combination:
            return Row(member, rules, member["force_lb"], member["delta_lb"])
        force = under.get(name, [None, None])
        return Row(member, rules, force, more(force))

    @property
    def all_alike(self) -> bool:
        """Whether no member differs, by itself or, in whole pounds, by what it carries at most."""
        return all(row.member["change"] == "kept" and not row.change_lb for row in self.rows) and not self.combination

    @property
    def in_short(self) -> str:
        """How many members there are, and of how many what bites is told."""
        told = [
            (sum(row.member["change"] != "kept" for row in self.rows), "new, changed or taken out"),
            (sum(row.member["reverses"] for row in self.rows), "sign reversed"),
            (sum(row.member["crosses_limit"] for row in self.rows), "limit crossed"),
        ]
        return ", ".join([f"{len(self.rows)} members", *(f"{n} {what}" for n, what in told if n)])

    def row(self, name: str) -> Row | None:
        return next((row for row in self.rows if row.member["id"] == name), None)


def _plain(check: Any) -> Check:
    names = ("id", "rule", "source", "combination", "at_in", "demand", "capacity", "ratio", "passes")
    return {**{name: getattr(check, name) for name in names}, "terms": dict(check.terms)}
