"""Which loads of a carrier's document stand there for what it carries: a record beside the document, never its notes.

A truss document has no key for where a load comes from. So the record says of each load that was put in which mark it
is of, and finds it again by what it is and where it stands: its case and arrangement, its pounds, its place.
A redesign moves panel points under a load and never the load itself. What was typed by hand is in no record.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

Document = dict[str, Any]

#: A load that is farther than this from its record, or differs by more, is another load.
_SAME_PLACE_IN, _SAME_LB = 0.05, 0.006


@dataclass(frozen=True, slots=True)
class Taken:
    """One point load that what stands on a carrier puts there.

    `place_in` is x and y in the carrier, `along_in` how far from its left bearing; `stands_in` names the arrangement of
    the carried truss that was taken in place of one of `pattern`, where it has none of that name.
    """

    mark: str
    case: str
    pattern: str | None
    alone: bool
    down_lb: float
    place_in: tuple[float, float]
    along_in: float
    stands_in: str | None = None

    def is_load(self, document: Document, load: Document) -> bool:
        """Whether a point load of a document is this one."""
        if (load["case"], load.get("pattern"), "acts" in load) != (self.case, self.pattern, self.alone):
            return False
        if load.get("right_lb") or abs(load["down_lb"] - self.down_lb) > _SAME_LB:
            return False
        here = place_of(document, load)
        return here is not None and math.dist(here, self.place_in) <= _SAME_PLACE_IN


@dataclass(frozen=True, slots=True)
class TakenUp:
    """All of them, and the arrangements (case, name) that were made along the carrier for them, made anew each time."""

    loads: tuple[Taken, ...] = ()
    parts: tuple[tuple[str, str], ...] = ()

    @property
    def marks(self) -> list[str]:
        """The marks whose loads stand in the document, each once."""
        return list(dict.fromkeys(taken.mark for taken in self.loads))

    def found(self, document: Document) -> list[tuple[int, Taken]]:
        """(which of the document's point loads, its record), each load and each record once."""
        left = list(self.loads)
        found = []
        for i, load in enumerate(document.get("loads", {}).get("point", ())):
            taken = next((one for one in left if one.is_load(document, load)), None)
            if taken is not None:
                left.remove(taken)
                found.append((i, taken))
        return found

    def still_in(self, document: Document) -> TakenUp:
        """The record of what of it a changed document still has."""
        loads = document.get("loads", {})
        patterns = {(load["case"], load.get("pattern")) for held in loads.values() for load in held}
        return TakenUp(
            tuple(taken for _, taken in self.found(document)), tuple(part for part in self.parts if part in patterns)
        )

    def without(self, marks: Iterable[str]) -> TakenUp:
        gone = set(marks)
        return TakenUp(tuple(taken for taken in self.loads if taken.mark not in gone), self.parts)

    def written(self) -> Document:
        """As plain JSON, for `read`."""
        return {
            "loads": [
                {
                    "mark": taken.mark,
                    "case": taken.case,
                    "pattern": taken.pattern,
                    "alone": taken.alone,
                    "down_lb": taken.down_lb,
                    "place_in": list(taken.place_in),
                    "along_in": taken.along_in,
                    "stands_in": taken.stands_in,
                }
                for taken in self.loads
            ],
            "parts": [list(part) for part in self.parts],
        }

    @classmethod
    def read(cls, written: Mapping[str, Any]) -> TakenUp:
        return cls(
            tuple(
                Taken(**{**load, "place_in": (load["place_in"][0], load["place_in"][1])})
                for load in written.get("loads", ())
            ),
            tuple((case, name) for case, name in written.get("parts", ())),
        )


NOTHING_TAKEN = TakenUp()


def place_of(document: Document, load: Mapping[str, Any]) -> tuple[float, float] | None:
    """x and y of a point load; None where what it stands on isn't there."""
    joints = document["joints"]
    if "joint" in load:
        held = joints.get(load["joint"])
        return None if held is None else (held[0], held[1])
    member = next((one for one in document["members"] if one["id"] == load["member"]), None)
    if member is None:
        return None
    (ax, ay), (bx, by) = (joints[end] for end in member["joints"])
    share = load["at_in"] / math.dist((ax, ay), (bx, by))
    return ax + (bx - ax) * share, ay + (by - ay) * share
