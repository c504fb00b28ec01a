"""What a check is called where its ratio is told; past the pole of eq. 3.9-3 always with what happens there.

A check comes as an analysis document writes it, or shortened, as `short` keeps it among the values of a code;
`object` in it is what it is of as people call it (`piece_names.told`).
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

#: The term of a check whose member's fc has reached FcE, and the key of what is shortened.
BUCKLES = "buckles"
_SHORT = ("of", "id", "rule", "source", "combination", "ratio")


def short(check: Mapping[str, Any] | Any) -> dict[str, Any]:
    """What sentences need of a check of an analysis or of its document, as plain JSON values."""
    if isinstance(check, Mapping):
        return {key: check[key] for key in _SHORT} | {BUCKLES: buckles(check)}
    return {key: getattr(check, key) for key in _SHORT} | {BUCKLES: BUCKLES in check.terms}


def buckles(check: Mapping[str, Any]) -> bool:
    return bool(check.get(BUCKLES)) or BUCKLES in check.get("terms", ())


def worst_buckles(analysis: Mapping[str, Any]) -> bool:
    """Whether the check that an analysis document's worst ratio is of is past the pole."""
    return buckles(max(analysis["checks"], key=lambda check: check["ratio"], default={}))


def rule(check: Mapping[str, Any]) -> str:
    """compression and bending (it buckles)"""
    return f"{check['rule']} (it buckles)" if buckles(check) else str(check["rule"])


def rule_of(check: Mapping[str, Any]) -> str:
    """compression and bending of member T1 (it buckles)"""
    what = check.get("object") or f"{check['of']} {check['id']}".strip()
    says = f"{check['rule']} of {what}"
    return f"{says} (it buckles)" if buckles(check) else says
