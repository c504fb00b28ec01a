"""Two analyses of one mark side by side: member by member, bearing by bearing. Pairs are always [before, after]."""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import Any

from trusses.analysis.analysis_document import read_back
from trusses.analysis.checks.check import PASSES
from trusses.analysis.checks.deflection import IN_SPAN, IN_SPAN_BY, IN_SPAN_LIMIT
from trusses.analysis.format.document import read_stored
from trusses.analysis.lumber import board_feet as board_feet_of
from trusses.analysis.lumber import lookup
from trusses.analysis.requirements.movement import frequency
from trusses.analysis.requirements.supports import at_most
from trusses.analysis.words.checks import BUCKLES, buckles

# a force below this share of the truss's largest is nobody's sign reversal
_NEGLIGIBLE = 1e-3
_SAME_PLACE_IN = 1e-6
_STRAIGHT = 1e-4

Pair = list[Any]
Document = dict[str, Any]


def compare(before: Document, after: Document, before_truss: Document, after_truss: Document) -> dict[str, Any]:
    """What a change does, from two analysis documents and the truss documents that they belong to.

    Forces in pounds (tension positive), lengths and deflections in inches, frequencies in Hz; None where one side has
    no such thing.
    """
    analyses, trusses = (before, after), (before_truss, after_truss)
    combinations = _combinations(analyses)
    return {
        "members": _members(analyses, trusses, combinations),
        "reactions": _reactions(analyses),
        "deflection": _deflection(analyses),
        "frequency_hz": _frequency(analyses, trusses),
        "board_feet": [board_feet(truss) for truss in trusses],
        "pieces": [pieces(truss) for truss in trusses],
        "plies": [truss.get("plies", 1) for truss in trusses],
        "worst_ratio": [analysis["worst_ratio"] for analysis in analyses],
        "combinations": combinations,
    }


def _frequency(analyses: tuple[Document, Document], trusses: tuple[Document, Document]) -> Pair | None:
    """Estimates of a floor's frequency, Hz, None where there is none; None for a roof."""
    if all(truss.get("use") != "floor" for truss in trusses):
        return None
    found = [frequency(read_back(read_stored(truss), one)) for truss, one in zip(trusses, analyses, strict=True)]
    return [one.hz if one else None for one in found]


def board_feet(truss: Document) -> float:
    """Nominal board feet of all plies, members taken by their centreline lengths."""
    feet = sum(board_feet_of(lookup(member["lumber"]), _length(truss, member)) for member in truss["members"])
    return float(feet * truss.get("plies", 1))


def pieces(truss: Document) -> int:
    """Pieces of lumber in all plies: a chord runs on through a joint that is no hinge where it runs straight on."""
    piece_of = {member["id"]: member["id"] for member in truss["members"]}
    for joint in set(truss["joints"]) - set(truss.get("hinges", ())):
        for one, other in _running_on(truss, joint):
            old, new = piece_of[one["id"]], piece_of[other["id"]]
            piece_of = {member: new if piece == old else piece for member, piece in piece_of.items()}
    return len(set(piece_of.values())) * truss.get("plies", 1)


def _running_on(truss: Document, joint: str) -> Iterable[tuple[Document, Document]]:
    chords = [member for member in truss["members"] if joint in member["joints"] and member["role"] != "web"]
    for i, one in enumerate(chords):
        for other in chords[i + 1 :]:
            same = all(one.get(key) == other.get(key) for key in ("role", "lumber", "flat"))
            (ax, ay), (bx, by) = _away(truss, one, joint), _away(truss, other, joint)
            if same and abs(ax * by - ay * bx) < _STRAIGHT and ax * bx + ay * by < 0:
                yield one, other


def _away(truss: Document, member: Document, joint: str) -> tuple[float, float]:
    """Unit vector from the joint along the member."""
    far = member["joints"][1] if member["joints"][0] == joint else member["joints"][0]
    (x, y), (far_x, far_y) = truss["joints"][joint], truss["joints"][far]
    length = math.hypot(far_x - x, far_y - y)
    return (far_x - x) / length, (far_y - y) / length


def _places(truss: Document, member: Document) -> list[tuple[float, float]]:
    return sorted((float(x), float(y)) for x, y in (truss["joints"][name] for name in member["joints"]))


def _length(truss: Document, member: Document) -> float:
    return math.dist(*_places(truss, member))


def _by_id(truss: Document) -> dict[str, Document]:
    return {member["id"]: member for member in truss["members"]}


def _union(*keys: Iterable[str]) -> list[str]:
    """Keys in the order of the first side, then those that only the second has."""
    return list(dict.fromkeys(key for some in keys for key in some))


def _larger(values: Iterable[float]) -> float:
    return max(values, key=abs)


def _combinations(analyses: tuple[Document, Document]) -> dict[str, dict[str, Pair]]:
    """Each member's axial force of larger magnitude in each combination, signed."""
    sides = [
        {
            name: {member: _larger(of["axial_lb"]) for member, of in combination["members"].items()}
            for name, combination in analysis["combinations"].items()
        }
        for analysis in analyses
    ]
    return {
        name: {
            member: [side.get(name, {}).get(member) for side in sides]
            for member in _union(*(side.get(name, {}) for side in sides))
        }
        for name in _union(*sides)
    }


def _members(
    analyses: tuple[Document, Document],
    trusses: tuple[Document, Document],
    combinations: dict[str, dict[str, Pair]],
) -> list[dict[str, Any]]:
    members = [_by_id(truss) for truss in trusses]
    governing = [_governing(analysis, "member") for analysis in analyses]
    least = _negligible(combinations)
    rows = []
    for name in _union(*members):
        pair = [side.get(name) for side in members]
        envelopes = [analysis["envelope"]["members"].get(name) for analysis in analyses]
        governs = [side.get(name) for side in governing]
        rows.append(
            {
                "id": name,
                "role": (pair[1] or pair[0] or {})["role"],
                "lumber": [member and member["lumber"] for member in pair],
                "change": _change(trusses, pair),
                "length_in": [member and _length(truss, member) for truss, member in zip(trusses, pair, strict=True)],
                "tension_lb": [envelope and envelope["tension_lb"] for envelope in envelopes],
                "compression_lb": [envelope and envelope["compression_lb"] for envelope in envelopes],
                "force_lb": [envelope and _force(envelope) for envelope in envelopes],
                "governs": governs,
                "ratio": [check and check["ratio"] for check in governs],
                "reverses": bool(reverses_in := _reverses_in(name, combinations, least)),
                "reverses_in": reverses_in,
                "crosses_limit": _crosses(pair, governs),
            }
        )
    return rows


def _force(envelope: Document) -> float:
    """The axial force of largest magnitude in pounds, tension positive."""
    tension, compression = envelope["tension_lb"], envelope["compression_lb"]
    return tension if tension >= compression else -compression


def _change(trusses: tuple[Document, Document], pair: list[Document | None]) -> str:
    before, after = pair
    if before is None:
        return "added"
    if after is None:
        return "removed"
    if before.get("flat", False) != after.get("flat", False):
        return "resized"
    if before["lumber"] != after["lumber"]:
        return "resized" if _size(before) != _size(after) else "regraded"
    ends = zip(_places(trusses[0], before), _places(trusses[1], after), strict=True)
    return "moved" if any(math.dist(*end) > _SAME_PLACE_IN for end in ends) else "kept"


def _size(member: Document) -> tuple[float, float]:
    lumber = lookup(member["lumber"])
    return lumber.thickness_in, lumber.width_in


def _governing(analysis: Document, of: str) -> dict[str, Document]:
    """The check of largest ratio of each object, shortened."""
    worst: dict[str, Document] = {}
    for check in analysis["checks"]:
        if check["of"] == of and (check["id"] not in worst or check["ratio"] > worst[check["id"]]["ratio"]):
            governs = {key: check[key] for key in ("rule", "combination", "ratio")}
            worst[check["id"]] = governs | {BUCKLES: True} if buckles(check) else governs
    return worst


def _negligible(combinations: dict[str, dict[str, Pair]]) -> float:
    every = (abs(force) for forces in combinations.values() for pair in forces.values() for force in pair if force)
    return _NEGLIGIBLE * max(every, default=0.0)


def _reverses_in(member: str, combinations: dict[str, dict[str, Pair]], least: float) -> list[str]:
    """The combinations in which the member's axial force has turned from pull to push or back."""
    out = []
    for name, forces in combinations.items():
        before, after = forces.get(member, [None, None])
        if before is not None and after is not None and min(abs(before), abs(after)) > least and before * after < 0:
            out.append(name)
    return out


def _crosses(pair: list[Document | None], governs: list[Document | None]) -> bool:
    """Over its limit on one side only; a piece that was taken out crosses nothing."""
    over = [check is not None and check["ratio"] > PASSES for check in governs]
    return pair[1] is not None and over[0] != over[1]


def _reactions(analyses: tuple[Document, Document]) -> list[dict[str, Any]]:
    sides = [at_most(analysis) for analysis in analyses]
    keys = ("down_lb", "down_by", "uplift_lb", "uplift_by")
    return [
        {"joint": joint} | {key: [side.get(joint, {}).get(key) for side in sides] for key in keys}
        for joint in _union(*sides)
    ]


def _overhangs(check: Document | None) -> bool:
    return check is not None and "overhang" in check.get("terms", {})


def _between_bearings(check: Document) -> Document:
    if not _overhangs(check):
        return check
    demand, limit, by = (check["terms"].get(term) for term in (IN_SPAN, IN_SPAN_LIMIT, IN_SPAN_BY))
    ratio = demand / limit if demand is not None and limit else None
    return {"demand": demand, "capacity": limit, "ratio": ratio, "combination": by}


def _deflection(analyses: tuple[Document, Document]) -> list[dict[str, Any]]:
    sides = [{check["rule"]: check for check in a["checks"] if check["of"] == "truss"} for a in analyses]
    # where an overhang governs on either side, the span between the bearings is told beside it
    for rule in [rule for rule in _union(*sides) if any(_overhangs(side.get(rule)) for side in sides)]:
        for side in sides:
            if rule in side:
                side[f"{rule} between bearings"] = _between_bearings(side[rule])
    keys = {"demand_in": "demand", "limit_in": "capacity", "ratio": "ratio", "combination": "combination"}
    return [
        {"rule": rule} | {key: [side.get(rule, {}).get(of) for side in sides] for key, of in keys.items()}
        for rule in _union(*sides)
    ]
