"""The loads that carried trusses put on their carrier, written into its truss document.

A reaction of each case is a point load on the carrier, down positive, so that uplift by wind is negative. Each names in
its note the mark that it comes from and how far along the carrier it stands: `from R5 at 6'-0"`. Writing anew replaces
what came from these marks before; what the carrier has by itself is never taken away.

Which arrangement of the carried truss meets which of the carrier's isn't known from names alone. So in each arrangement
of a case that one of them names, everyone brings its own of that name; and who has none of that name brings the
heaviest of its own that acts the same way, bearing by bearing, as a stand-in (a truss whose load has no arrangements
brings that load always). Nothing is dropped, and each stand-in says so in its note. That is this project's choice, on
the safe side for whatever the full load governs. For what a load on one part of the carrier governs, such as webs near
the middle of a span, the arrangements along the carrier that then lack are added, with what stands in them: their names
end in `PART`.
"""

from __future__ import annotations

import copy
import math
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from trusses.analysis.format.document import read
from trusses.analysis.format.lengths import feet_inches
from trusses.analysis.format.model import CASES, Truss
from trusses.analysis.load_path.landing import CarryingError, Landing
from trusses.analysis.loads.arrangements import arrange, missing
from trusses.analysis.loads.combinations import Case, cases
from trusses.analysis.loads.windows import total_lb

Document = dict[str, Any]
Loads = list[tuple[str, Document]]  # each with the list that holds it: "area", "line" or "point"
Kind = tuple[str, bool]  # a case, and whether its loads act alone

#: What ends the name of an arrangement that is made here, and made anew each time.
PART = " (carried)"
#: A change of a reaction below this touches no carrier, pounds.
CHANGED_LB = 0.1
_LEAST_LB = 0.005
_SIDEWAYS_LB = 0.5
_SORTS = ("area", "line", "point")
_FROM = re.compile(r"from (?P<mark>.+) at (?P<along>-?[0-9][-0-9' /]*\")(?:, its (?P<pattern>.+) standing in)?")
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
        return float(self.analysis["cases"][case.name]["reactions_lb"][joint][1])


def carry(document: Document, carried: Sequence[Carried]) -> Document:
    """A copy of the carrier's `document` with the loads of all of `carried`, in place of what they put there before."""
    written = without(document, {each.truss.mark for each in carried})
    arranged = {each.truss.mark: _by_kind(each) for each in carried}
    for kind in dict.fromkeys(kind for held in arranged.values() for kind in held):
        _write(written, kind, [(each, arranged[each.truss.mark].get(kind, [])) for each in carried])
    return _with_parts(written)


def without(document: Document, marks: Iterable[str]) -> Document:
    """A copy of `document` without what came from these marks and without the arrangements that were made here."""
    gone = set(marks)
    kept = copy.deepcopy(document)
    loads = kept.setdefault("loads", {})
    for sort in [sort for sort in _SORTS if sort in loads]:
        loads[sort] = [
            load for load in loads[sort] if origin(load) not in gone and not str(load.get("pattern", "")).endswith(PART)
        ]
    return kept


def origin(load: Mapping[str, Any]) -> str | None:
    """The mark that a load of a document comes from; None where it is the truss's own."""
    found = told(str(load.get("note", "")))
    return found[0] if found else None


def told(note: str) -> tuple[str, str, str] | None:
    """(mark, how far along the carrier in words, the arrangement that stands in or nothing) of a load's note."""
    found = _FROM.fullmatch(note)
    return (found["mark"], found["along"], found["pattern"] or "") if found else None


def carries(document: Document) -> list[str]:
    """The marks whose loads stand in the document, each once: a truss with any of them is a girder with hangers."""
    loads = document.get("loads", {}).get("point", ())
    return list(dict.fromkeys(mark for load in loads if (mark := origin(load))))


def stand_ins(document: Document) -> list[str]:
    """What stands in for an arrangement that a carried truss lacks, one sentence for each mark and case."""
    found: dict[tuple[str, str, str], set[str]] = {}
    for load in document.get("loads", {}).get("point", ()):
        mark, _, used = told(str(load.get("note", ""))) or ("", "", "")
        if used and not str(load.get("pattern", "")).endswith(PART):
            found.setdefault((mark, load["case"].replace("_", " "), load["pattern"]), set()).add(used)
    return [_stands_in(mark, case, pattern, sorted(used)) for (mark, case, pattern), used in found.items()]


def lent(before: Document, after: Document) -> list[str]:
    """The same for the carrier's own load, which `carry` made of the arrangements of the document `before`."""
    said = []
    for case in CASES:
        old, new = (
            {name: held for name, held in _own(_own_alone(each), (case, False)).items() if not name.endswith(PART)}
            for each in (before, after)
        )
        said += [
            _stands_in(str(after["mark"]), case.replace("_", " "), name, []) for name in new if old and name not in old
        ]
    return said


def _stands_in(mark: str, case: str, pattern: str, used: list[str]) -> str:
    heaviest = f"its {used[0]}" if len(used) == 1 else "the heaviest of those that it has"
    return f"{mark} has no arrangement “{pattern}” of its own {case} load: {heaviest} stands in for it."


def _own_alone(document: Document) -> Document:
    return without(document, carries(document))


def sideways(carried: Carried) -> list[str]:
    """Which cases push a carried truss along its own span, which its carrier isn't checked for; a sentence each."""
    said = []
    for joint in dict.fromkeys(landing.joint for landing in carried.landings):
        rows = {name: abs(row["reactions_lb"][joint][0]) for name, row in carried.analysis["cases"].items()}
        name, most = max(rows.items(), key=lambda row: row[1], default=("", 0.0))
        if most >= _SIDEWAYS_LB:
            said.append(
                f"{carried.truss.mark} pushes {most:,.0f} lb along its span at bearing {joint} ({name}): across the"
                " carrier, where nothing here checks it."
            )
    return said


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


def _write(document: Document, kind: Kind, carried: Sequence[tuple[Carried, list[Case]]]) -> None:
    """Writes one case's loads of all that is carried, and the carrier's own stand-ins beside them."""
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
    for each, of in carried:
        points += _points(each, of, names, ways)


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


def _points(carried: Carried, of: Sequence[Case], names: Sequence[str], ways: Mapping[str, int]) -> Iterator[Document]:
    by_name = {case.pattern: case for case in of}
    for landing in carried.landings:
        if None in by_name:
            yield from _point(carried, by_name[None], landing)
            continue
        for name in names if of else ():
            if name in by_name:
                yield from _point(carried, by_name[name], landing, name)
                continue
            heaviest = max(of, key=lambda case: ways[name] * carried.down_lb(case, landing.joint))
            if ways[name] * carried.down_lb(heaviest, landing.joint) > 0:
                yield from _point(carried, heaviest, landing, name)


def _point(carried: Carried, case: Case, landing: Landing, name: str | None = None) -> Iterator[Document]:
    down = carried.down_lb(case, landing.joint)
    if abs(down) < _LEAST_LB:
        return
    note = f"from {carried.truss.mark} at {feet_inches(landing.along_in)}"
    load: Document = {"case": case.case, "member": landing.member, "at_in": _tidy(landing.at_in)}
    load |= {"down_lb": _tidy(round(down, 2))}
    if name is not None:
        load["pattern"] = name
    if case.alone:
        load["acts"] = "alone"
    load["note"] = note if name == case.pattern else f"{note}, its {case.pattern} standing in"
    yield load


def _with_parts(document: Document) -> Document:
    """`document` with the arrangements along the carrier that it lacks, each named to be made anew the next time."""
    if not missing(read(document)):
        return document
    arranged = arrange(document)
    loads: Document = dict(document["loads"])
    for case in _PARTED:
        old, new = (_named_patterns(each, case) for each in (document, arranged))
        # a load that had no arrangement at all would lose that by being given one: it stays, and a finding says so
        if not old:
            continue
        for sort in _SORTS:
            loads[sort] = [*loads.get(sort, ())]
            loads[sort] += [
                {**load, "pattern": f"{load['pattern'].removesuffix(' too')}{PART}"}
                for load in arranged["loads"].get(sort, ())
                if load["case"] == case and load.get("pattern") in new - old and "acts" not in load
            ]
    return {**document, "loads": {sort: held for sort, held in loads.items() if held}}


def _named_patterns(document: Document, case: str) -> set[str]:
    loads = [load for sort in _SORTS for load in document["loads"].get(sort, ())]
    return {load["pattern"] for load in loads if load["case"] == case and "pattern" in load and "acts" not in load}


def _tidy(number: float) -> float:
    return int(number) if number == int(number) else number


__all__ = [
    "CHANGED_LB",
    "PART",
    "Carried",
    "CarryingError",
    "carries",
    "carry",
    "changed",
    "lent",
    "origin",
    "sideways",
    "stand_ins",
    "told",
    "without",
]
