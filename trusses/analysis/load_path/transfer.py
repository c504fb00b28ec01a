"""The loads that carried trusses put on their carrier, written into its truss document.

A reaction of each case is a point load on the carrier, down positive, so that uplift by wind is negative. Which loads
of a document are of what it carries stands in a record beside it (`taken_up`). Writing anew replaces what came from
these marks before; what the carrier has by itself is never taken away, whatever its note says.

Which arrangement of the carried truss meets which of the carrier's isn't known from names alone. So in each arrangement
of a case that one of them names, everyone brings its own of that name; and who has none of that name brings the
heaviest of its own that acts the same way, bearing by bearing, as a stand-in (a truss whose load has no arrangements
brings that load always). Nothing is dropped, and each stand-in says so in its note. That is this project's choice, on
the safe side for whatever the full load governs. For what a load on one part of the carrier governs, such as webs near
the middle of a span, the arrangements along the carrier that then lack are added, with what stands in them: the record
names them.
"""

from __future__ import annotations

import copy
import math
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

from trusses.analysis.analysis_document import read_back
from trusses.analysis.checks.check import Finding
from trusses.analysis.format.document import read
from trusses.analysis.format.model import CASES, Truss
from trusses.analysis.format.strict import tidy
from trusses.analysis.frame.results import Results
from trusses.analysis.load_path.landing import CarryingError, Landing
from trusses.analysis.load_path.taken_up import NOTHING_TAKEN, Taken, TakenUp, place_of
from trusses.analysis.loads.arrangements import arrange, missing
from trusses.analysis.loads.combinations import Case, cases
from trusses.analysis.loads.windows import total_lb
from trusses.analysis.words import carrying as words

Document = dict[str, Any]
Loads = list[tuple[str, Document]]  # each with the list that holds it: "area", "line" or "point"
Kind = tuple[str, bool]  # a case, and whether its loads act alone

#: What ends the name of an arrangement that is made here.
PART = " (carried)"
#: A change of a reaction below this touches no carrier, pounds.
CHANGED_LB = 0.1
_LEAST_LB = 0.005
_SIDEWAYS_LB = 0.5
_SORTS = ("area", "line", "point")
_EVERYWHERE = (-math.inf, math.inf)
_PARTED = ("live", "snow", "roof_live")


@dataclass(frozen=True)
class Carried:
    """A mark with its analysis document, and where its copies land on one copy of the carrier."""

    truss: Truss
    analysis: Mapping[str, Any]
    landings: tuple[Landing, ...]

    def down_lb(self, case: Case, joint: str) -> float:
        """What one bearing puts on what is below in a case, down positive."""
        return self.results.reaction(case.name, joint)[1]

    @cached_property
    def results(self) -> Results:
        return read_back(self.truss, self.analysis)


def carry(document: Document, carried: Sequence[Carried], taken: TakenUp = NOTHING_TAKEN) -> tuple[Document, TakenUp]:
    """A copy of the carrier's `document` with the loads of all of `carried`, in place of what they put there before,
    and the record of what stands there now for what it carries. `taken` is that of `document`."""
    written, kept = without(document, {each.truss.mark for each in carried}, taken)
    arranged = {each.truss.mark: _by_kind(each) for each in carried}
    put: list[Taken] = []
    for kind in dict.fromkeys(kind for held in arranged.values() for kind in held):
        put += _write(written, kind, [(each, arranged[each.truss.mark].get(kind, [])) for each in carried])
    return _with_parts(written, TakenUp((*kept.loads, *put)))


def without(document: Document, marks: Iterable[str], taken: TakenUp) -> tuple[Document, TakenUp]:
    """A copy of `document` without what came from these marks and without the arrangements that were made for what it
    carries, and the record of what is left."""
    gone, parts = set(marks), set(taken.parts)
    kept = copy.deepcopy(document)
    found = dict(taken.found(document))
    loads = kept.setdefault("loads", {})
    if "point" in loads:
        loads["point"] = [load for i, load in enumerate(loads["point"]) if i not in found or found[i].mark not in gone]
    for sort in [sort for sort in _SORTS if sort in loads]:
        loads[sort] = [load for load in loads[sort] if (load["case"], load.get("pattern")) not in parts]
    left = (one for one in found.values() if one.mark not in gone and (one.case, one.pattern) not in parts)
    return kept, TakenUp(tuple(left))


def stand_ins(taken: TakenUp, carrier: str) -> list[Finding]:
    """What stands in for an arrangement that a carried truss lacks, one finding for each mark, case and arrangement."""
    found: dict[tuple[str, str, str | None], set[str]] = {}
    for one in taken.loads:
        if one.stands_in is not None and (one.case, one.pattern) not in taken.parts:
            found.setdefault((one.mark, one.case, one.pattern), set()).add(one.stands_in)
    return [
        _stands_in(carrier, {"mark": mark, "case": case, "pattern": pattern, "used": sorted(used)})
        for (mark, case, pattern), used in found.items()
    ]


def lent(before: Document, taken_before: TakenUp, after: Document, taken: TakenUp) -> list[Finding]:
    """The same for the carrier's own load, which `carry` made of the arrangements of the document `before`."""
    alone_before, _ = without(before, taken_before.marks, taken_before)
    alone_after, _ = without(after, taken.marks, taken)
    found = []
    for case in CASES:
        old, new = _own(alone_before, (case, False)), _own(alone_after, (case, False))
        found += [
            _stands_in(str(after["mark"]), {"mark": str(after["mark"]), "case": case, "pattern": name, "used": []})
            for name in new
            if old and name not in old
        ]
    return found


def _stands_in(carrier: str, values: dict[str, Any]) -> Finding:
    return Finding("stands-in", carrier, values)


def sideways(carried: Carried) -> list[Finding]:
    """Which cases push a carried truss along its own span, which its carrier isn't checked for."""
    found = []
    for joint in dict.fromkeys(landing.joint for landing in carried.landings):
        rows = {name: abs(carried.results.reaction(name, joint)[0]) for name in carried.results.cases}
        name, most = max(rows.items(), key=lambda row: row[1], default=("", 0.0))
        if most >= _SIDEWAYS_LB:
            values = {"mark": carried.truss.mark, "joint": joint, "case": name, "force_lb": most}
            found.append(Finding("pushes-sideways", carried.truss.mark, values))
    return found


def changed(before: Mapping[str, Any], after: Mapping[str, Any], joints: Iterable[str]) -> bool:
    """Whether two analysis documents put something else, by more than CHANGED_LB in some case, on these bearings."""
    names = dict.fromkeys([*before["cases"], *after["cases"]])
    return any(
        abs(_down(before, name, joint) - _down(after, name, joint)) > CHANGED_LB for name in names for joint in joints
    )


def _down(analysis: Mapping[str, Any], case: str, joint: str) -> float:
    return float(analysis["cases"].get(case, {}).get("reactions_lb", {}).get(joint, (0.0, 0.0))[1])


def _by_kind(carried: Carried) -> dict[Kind, list[Case]]:
    found: dict[Kind, list[Case]] = {}
    for case in cases(carried.truss):
        found.setdefault((case.case, case.alone), []).append(case)
    return found


def _write(document: Document, kind: Kind, carried: Sequence[tuple[Carried, list[Case]]]) -> list[Taken]:
    """Writes one case's loads of all that is carried, and the carrier's own stand-ins beside them: what was put in."""
    own = _own(document, kind)
    patterns = [case.pattern for _, of in carried for case in of]
    names = [name for name in dict.fromkeys([*own, *patterns]) if name is not None]
    truss = read(document)
    totals = {name: total_lb(truss, held, _EVERYWHERE) for name, held in own.items()}
    ways = {name: _way(name, totals, carried) for name in names}
    for name in names:
        if own and name not in own and (heaviest := _heaviest(totals, ways[name])):
            for sort, load in [held for held in own[heaviest] if "pattern" in held[1]]:
                document["loads"].setdefault(sort, []).append({**load, "pattern": name})
    points = document["loads"].setdefault("point", [])
    put = []
    for each, of in carried:
        for load, taken in _points(document, each, of, names, ways):
            points.append(load)
            put.append(taken)
    return put


def _own(document: Document, kind: Kind) -> dict[str, Loads]:
    """The carrier's loads of a case by pattern, pattern-less ones in each; empty where none has a pattern."""
    held = [
        (sort, load)
        for sort in _SORTS
        for load in document["loads"].get(sort, ())
        if (load["case"], "acts" in load) == kind
    ]
    names = dict.fromkeys(load["pattern"] for _, load in held if "pattern" in load)
    return {name: [one for one in held if one[1].get("pattern", name) == name] for name in names}


def _way(name: str, own: Mapping[str, float], carried: Sequence[tuple[Carried, list[Case]]]) -> int:
    """1 where what has an arrangement of that name presses down in all, -1 where it lifts."""
    total = own.get(name, 0.0)
    for each, of in carried:
        for case in of:
            if case.pattern == name:
                total += sum(each.down_lb(case, landing.joint) for landing in each.landings)
    return -1 if total < 0 else 1


def _heaviest(totals: Mapping[str, float], way: int) -> str | None:
    name = max(totals, key=lambda name: way * totals[name])
    return name if way * totals[name] > 0 else None


def _points(
    document: Document, carried: Carried, of: Sequence[Case], names: Sequence[str], ways: Mapping[str, int]
) -> Iterator[tuple[Document, Taken]]:
    by_name = {case.pattern: case for case in of}
    for landing in carried.landings:
        if None in by_name:
            yield from _point(document, carried, by_name[None], landing)
            continue
        for name in names if of else ():
            if name in by_name:
                yield from _point(document, carried, by_name[name], landing, name)
                continue
            heaviest = max(of, key=lambda case: ways[name] * carried.down_lb(case, landing.joint))
            if ways[name] * carried.down_lb(heaviest, landing.joint) > 0:
                yield from _point(document, carried, heaviest, landing, name)


def _point(
    document: Document, carried: Carried, case: Case, landing: Landing, name: str | None = None
) -> Iterator[tuple[Document, Taken]]:
    down = carried.down_lb(case, landing.joint)
    if abs(down) < _LEAST_LB:
        return
    load: Document = {"case": case.case, "member": landing.member, "at_in": tidy(landing.at_in)}
    load |= {"down_lb": tidy(round(down, 2))}
    if name is not None:
        load["pattern"] = name
    if case.alone:
        load["acts"] = "alone"
    place = place_of(document, load)
    if place is None:
        raise CarryingError("carrier-without-member", carrier=document["mark"], member=landing.member)
    stands_in = None if name == case.pattern else case.pattern
    # for whoever reads the document; nothing here reads it back
    load["note"] = words.hung(carried.truss.mark, landing.along_in, stands_in)
    yield (
        load,
        Taken(carried.truss.mark, case.case, name, case.alone, load["down_lb"], place, landing.along_in, stands_in),
    )


def _with_parts(document: Document, taken: TakenUp) -> tuple[Document, TakenUp]:
    """`document` with the arrangements along the carrier that it lacks, and the record of them: they are made anew the
    next time."""
    if not missing(read(document)):
        return document, taken
    arranged = arrange(document)
    loads: Document = dict(document["loads"])
    parts: dict[tuple[str, str], None] = {}
    for case in _PARTED:
        old, new = (_named_patterns(each, case) for each in (document, arranged))
        # a load that had no arrangement at all would lose that by being given one: it stays, and a finding says so
        if not old:
            continue
        for sort in _SORTS:
            loads[sort] = [*loads.get(sort, ())]
            for load in arranged["loads"].get(sort, ()):
                if load["case"] == case and load.get("pattern") in new - old and "acts" not in load:
                    name = _free(load["pattern"].removesuffix(" too") + PART, old)
                    loads[sort].append({**load, "pattern": name})
                    parts[case, name] = None
    written = {**document, "loads": {sort: held for sort, held in loads.items() if held}}
    return written, _of_parts(written, taken, tuple(parts))


def _free(name: str, taken: Collection[str]) -> str:
    while name in taken:
        name += PART
    return name


def _of_parts(document: Document, taken: TakenUp, parts: tuple[tuple[str, str], ...]) -> TakenUp:
    """The record with those loads of the arrangements that were made here which are of what is carried."""
    also = []
    for case, name in parts:
        mine = tuple(replace(one, pattern=name) for one in taken.loads if one.case == case)
        also += [one for _, one in TakenUp(mine).found(document)]
    return TakenUp((*taken.loads, *also), parts)


def _named_patterns(document: Document, case: str) -> set[str]:
    loads = [load for sort in _SORTS for load in document["loads"].get(sort, ())]
    return {load["pattern"] for load in loads if load["case"] == case and "pattern" in load and "acts" not in load}
