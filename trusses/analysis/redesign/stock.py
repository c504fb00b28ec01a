"""Lumber that a job has in stock: what is new in a draft is of that, what is there today may stay."""

from __future__ import annotations

from functools import lru_cache

from trusses.analysis.lumber import LUMBER, lookup
from trusses.analysis.redesign.building import Building
from trusses.analysis.redesign.changes import was
from trusses.analysis.redesign.draft import Draft
from trusses.analysis.redesign.strengthen import replaces, strengths


def stocked(draft: Draft, start: Draft, building: Building) -> Draft | None:
    """The draft with all that is new of the job's stock: the same draft where it is so, None where it can't be."""
    if building.lumber is None:
        return draft
    out = draft
    for name, member in draft.members.items():
        before = was(start, draft, name)
        if building.stocks(member["lumber"]) or (before and before["lumber"] == member["lumber"]):
            continue
        key = from_stock(member["lumber"], member.get("flat", False), building.lumber)
        if key is None:
            return None
        out = draft.copy() if out is draft else out
        out.set_lumber(name, key)
    return out


@lru_cache(maxsize=1024)
def from_stock(key: str, flat: bool, stock: frozenset[str]) -> str | None:
    """The least lumber of `stock` that serves for `key`: of its species and size, in nothing weaker; None: there is
    none."""
    now, found = strengths(lookup(key), flat), []
    for other in (LUMBER[name] for name in stock if name in LUMBER):
        if replaces(lookup(key), other, flat, may_grow=False):
            then = strengths(other, flat)
            if all(then[name] >= 0.999 * now[name] for name in now):
                found.append((sum(then[name] / now[name] for name in now), other.key))
    return min(found)[1] if found else None
