"""What a check and a finding say."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Any

from trusses.analysis.words import checks as words

#: A ratio up to this passes: 1, and what arithmetic may add to it.
PASSES = 1 + 1e-9

#: The unit of each term that has one; the rest are plain numbers.
TERM_UNITS: Mapping[str, str] = MappingProxyType(
    dict.fromkeys(
        ("ft", "fb", "fc", "fv", "Ft'", "Fb'", "Fb*", "Fb**", "Fc*", "Fc'", "FcE in plane", "FcE out of plane"), "psi"
    )
    | dict.fromkeys(("lu", "le in plane", "le out of plane", "x", "span", "deflection with Kcr 2.0"), "in.")
    | dict.fromkeys(("between bearings", "between bearings, allowed"), "in.")
    | dict.fromkeys(("V", "R"), "lb")
    | {"area": "in²", "Fc-perp'": "psi"}
)


#: The code of the finding that a bearing is lifted by more where weights, which may be gone, are gone.
HOLD_DOWN = "weights-hold-down"
#: The term, and what it says, of a member whose fc has reached FcE.
BUCKLES = (words.BUCKLES, "fc is at or over FcE, where eq. 3.9-3 has no value")


@dataclass(frozen=True, slots=True)
class Check:
    """One rule's governing case on one object.

    `of` is "member", "bearing" or "truss"; `id` the member's name, the bearing's joint, the truss's mark. `demand`
    and `capacity` are psi, inches for deflection, plain numbers for slenderness and interactions. `at_in` is inches
    from the member's first joint, None where the rule has no place along a member. `terms` are the factors, stresses
    and lengths that went in (`TERM_UNITS`).
    """

    of: str
    id: str
    rule: str
    source: str
    combination: str
    at_in: float | None
    demand: float
    capacity: float
    ratio: float
    passes: bool
    terms: Mapping[str, float | str]


@dataclass(frozen=True, slots=True)
class Finding:
    """Something that a person must look at: a fixed `code`, the place in the truss, and the values that the sentences
    of the code are made with (`words.findings`): plain JSON values in inches, pounds and psf."""

    code: str
    where: str
    values: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Unchecked:
    """Something that an analysis doesn't cover or takes for granted: a code, and the values of its phrase."""

    code: str
    values: Mapping[str, Any] = field(default_factory=dict)


def terms(items: Iterable[tuple[str, object]]) -> dict[str, float | str]:
    """Terms that JSON can carry: an infinite one (nothing can buckle there) says nothing and is left out."""
    kept: dict[str, float | str] = {}
    for name, value in items:
        if isinstance(value, str):
            kept[name] = value
        elif math.isfinite(plain := float(value)):  # type: ignore[arg-type]
            kept[name] = plain
    return kept
