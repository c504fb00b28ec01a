"""A truss document being changed: panel points moved, webs taken out or re-aimed, lumber and restraint raised.

Every step keeps the document legal: no joint without members, no two members between the same joints, no restraint on a
web that is gone; a load on a chord keeps its true place in the truss whatever happens to the members under it. A step
that can't be taken raises Illegal. Inches.
"""

from __future__ import annotations

import json
import math

from trusses.analysis.redesign.anchors import DECIMALS as _DECIMALS
from trusses.analysis.redesign.anchors import ON_IN as _ON_IN
from trusses.analysis.redesign.anchors import Document, Illegal, Point, anchored, placed

__all__ = ["STRAIGHT", "Document", "Draft", "Illegal", "Point"]

#: A chord whose two pieces turn by less than this (sine) at a joint runs straight on there.
STRAIGHT = 1e-4


class Draft:
    """A private copy of a document, and the steps that change it. `document()` gives the changed one."""

    def __init__(self, document: Document, names: set[str] | None = None) -> None:
        self._hold(json.loads(json.dumps(document)))
        self._anchors = tuple(anchored(self, self._source.get("loads", {})))
        self._loaded_webs = {a.member for a in self._anchors if a.role == "web"}
        # a name is never given twice, so that a new web isn't taken for the one that was taken out
        self.names = {*self.members, *self.joints, *(names or ())}

    def _hold(self, source: Document) -> None:
        self._source = source
        self.joints: dict[str, list[float]] = source["joints"]
        self.members: dict[str, Document] = {member["id"]: member for member in source["members"]}
        self.hinges: set[str] = set(source.get("hinges", ()))
        self.bearings: set[str] = {bearing["joint"] for bearing in source["bearings"]}
        self.restraint: Document = source.get("lateral_restraint", {})
        self.rows: dict[str, int] = self.restraint.get("webs", {})
        self._meeting: dict[str, list[str]] | None = None

    def copy(self) -> Draft:
        """Another draft that has come as far; the loads' places are still those of the first document."""
        twin = Draft.__new__(Draft)
        twin._hold(self._source | {"members": list(self.members.values())})
        twin.joints = {name: list(place) for name, place in self.joints.items()}
        twin.members = {name: dict(member) for name, member in self.members.items()}
        twin.restraint, twin.rows, twin.hinges = dict(self.restraint), dict(self.rows), set(self.hinges)
        twin._anchors, twin._loaded_webs = self._anchors, self._loaded_webs
        twin.names = set(self.names)
        return twin

    def loaded_as(self, document: Document) -> Draft:
        """Another draft of the same wood, with the loads of a document whose chords lie where these do."""
        twin, other = self.copy(), Draft(document)
        twin._source = twin._source | {"loads": other._source.get("loads", {})}
        twin._anchors, twin._loaded_webs = other._anchors, other._loaded_webs
        return twin

    def document(self) -> Document:
        """The changed document, whole, with every load at its true place. Raises Illegal."""
        out = self._source | {"members": list(self.members.values()), "joints": self.joints}
        if self.hinges or "hinges" in out:
            kept = [name for name in out.get("hinges", ()) if name in self.hinges]
            out["hinges"] = kept + sorted(self.hinges - set(kept))
        restraint = dict(self.restraint)
        if self.rows or "webs" in restraint:
            restraint["webs"] = self.rows
        if restraint or "lateral_restraint" in out:
            out["lateral_restraint"] = restraint
        loads = dict(out.get("loads", {}))
        for kind in loads.keys() & {"line", "point"}:
            loads[kind] = [load for a in self._anchors if a.kind == kind for load in placed(self, a)]
        if loads:
            out["loads"] = loads
        whole: Document = json.loads(json.dumps(out))
        return whole

    def wood(self) -> Document:
        """What a document says of the wood alone, not to be changed."""
        out = {"joints": self.joints, "members": list(self.members.values()), "hinges": self.hinges}
        return out | {"plies": self.plies}

    # what there is

    def at(self, joint: str) -> Point:
        x, y = self.joints[joint]
        return float(x), float(y)

    def ends(self, member: str) -> tuple[Point, Point]:
        a, b = self.members[member]["joints"]
        return self.at(a), self.at(b)

    def length(self, member: str) -> float:
        return math.dist(*self.ends(member))

    def role(self, member: str) -> str:
        return str(self.members[member]["role"])

    def meeting(self, joint: str) -> list[str]:
        if self._meeting is None:
            self._meeting = {name: [] for name in self.joints}
            for name, member in self.members.items():
                for end in member["joints"]:
                    self._meeting[end].append(name)
        return self._meeting.get(joint, [])

    def webs_at(self, joint: str) -> list[str]:
        return [name for name in self.meeting(joint) if self.role(name) == "web"]

    def webs(self) -> list[str]:
        return [name for name in self.members if self.role(name) == "web"]

    def chord_of(self, joint: str) -> str | None:
        """The role of the chord that a joint lies on; None where webs only, or both chords, meet."""
        roles = {self.role(name) for name in self.meeting(joint)} - {"web"}
        return roles.pop() if len(roles) == 1 else None

    def other_end(self, member: str, joint: str) -> str:
        a, b = self.members[member]["joints"]
        return str(b if a == joint else a)

    def joined(self, a: str, b: str) -> bool:
        return any(b == self.other_end(name, a) for name in self.meeting(a))

    def movable(self, web: str) -> bool:
        return self.role(web) == "web" and web not in self._loaded_webs

    def straight_through(self, joint: str) -> tuple[str, str] | None:
        """The two chord members that run straight on through a joint where nothing else but webs meets."""
        chords = [name for name in self.meeting(joint) if self.role(name) != "web"]
        if len(chords) != 2 or self.role(chords[0]) != self.role(chords[1]) or joint in self.bearings:
            return None
        here = self.at(joint)
        (ax, ay), (bx, by) = (self._unit(here, self.at(self.other_end(name, joint))) for name in chords)
        straight = abs(ax * by - ay * bx) < STRAIGHT and ax * bx + ay * by < 0
        return (chords[0], chords[1]) if straight else None

    def chord_joints(self, role: str) -> list[str]:
        """The joints along one chord, from left to right."""
        names = {n for m in self.members.values() if m["role"] == role for n in m["joints"]}
        return sorted(names, key=lambda name: (*self.at(name), name))

    def chord_under(self, role: str, x: float) -> tuple[str, Point] | None:
        """The member of a chord that stands at x strictly between its ends, and the point of its centreline there."""
        for name, member in self.members.items():
            if member["role"] == role:
                (ax, ay), (bx, by) = self.ends(name)
                if min(ax, bx) + _ON_IN < x < max(ax, bx) - _ON_IN:
                    y = ay + (by - ay) * (x - ax) / (bx - ax)
                    return name, (round(x, _DECIMALS), round(y, _DECIMALS))
        return None

    # steps

    def slide(self, joint: str, x: float) -> None:
        """Moves a panel point along its straight chord to another x between its neighbours."""
        through = self.straight_through(joint)
        if through is None or any(not self.movable(web) for web in self.webs_at(joint)):
            raise Illegal(f"joint {joint} can't be moved along its chord")
        (ax, ay), (bx, by) = (self.at(self.other_end(name, joint)) for name in through)
        if not min(ax, bx) + _ON_IN < x < max(ax, bx) - _ON_IN:
            raise Illegal(f"joint {joint} can't pass its neighbours")
        y = ay + (by - ay) * (x - ax) / (bx - ax)
        self.joints[joint] = [round(x, _DECIMALS), round(y, _DECIMALS)]

    def split(self, role: str, x: float) -> str:
        """A new panel point on a chord at x; its name."""
        found = self.chord_under(role, x)
        if found is None:
            raise Illegal(f"no {role} to set a panel point on at {x:g} in.")
        name, point = found
        joint = self.fresh("N")
        self.joints[joint] = list(point)
        member = self.members[name]
        far = member["joints"][1]
        half = member | {"id": self.fresh(name.rstrip("0123456789") or "C"), "joints": [joint, far]}
        member["joints"] = [member["joints"][0], joint]
        self._meeting = None
        self._insert_after(name, half)
        return joint

    def merge(self, joint: str) -> None:
        """Takes away a panel point where no web is left: its chord runs on as one member."""
        through = self.straight_through(joint)
        if through is None or self.webs_at(joint):
            raise Illegal(f"joint {joint} holds the truss's shape")
        kept, gone = (self.members[name] for name in through)
        if joint in self.hinges or any(kept.get(key) != gone.get(key) for key in ("lumber", "flat")):
            raise Illegal(f"a splice at joint {joint} would be left without a web")
        far = self.other_end(gone["id"], joint)
        if self.joined(self.other_end(kept["id"], joint), far):
            raise Illegal(f"joint {joint} holds the truss's shape")
        kept["joints"] = [far if name == joint else name for name in kept["joints"]]
        del self.members[gone["id"]]
        del self.joints[joint]
        self._meeting = None

    def take_out(self, web: str) -> None:
        """Takes a web out, and the panel points that it leaves without a web."""
        if not self.movable(web):
            raise Illegal(f"web {web} carries a load of its own")
        ends = self.members.pop(web)["joints"]
        self.rows.pop(web, None)
        self._meeting = None
        for joint in ends:
            self.tidy(joint)

    def aim(self, web: str, end: str, to: str) -> None:
        """Moves one end of a web from a joint to another one on the same chord."""
        if not self.movable(web):
            raise Illegal(f"web {web} carries a load of its own")
        member = self.members[web]
        other = self.other_end(web, end)
        if to == other or self.joined(to, other):
            raise Illegal(f"a member already joins {to} and {other}")
        member["joints"] = [to if name == end else name for name in member["joints"]]
        self._meeting = None
        self.tidy(end)

    def add_web(self, a: str, b: str, like: str) -> str:
        """A new web between two joints, of the same lumber as another web; its name."""
        if a == b or self.joined(a, b):
            raise Illegal(f"a member already joins {a} and {b}")
        web = self.fresh("W")
        kind = {key: value for key, value in self.members[like].items() if key in ("lumber", "flat")}
        self.members[web] = {"id": web, "role": "web", "joints": [a, b], **kind}
        self._meeting = None
        return web

    def put_web(self, member: Document) -> None:
        """Puts back a web that was taken, between the joints that it names now."""
        a, b = member["joints"]
        if a == b or self.joined(a, b):
            raise Illegal(f"a member already joins {a} and {b}")
        self.members[member["id"]] = member
        self._meeting = None

    def forget(self) -> None:
        """After members were taken in one go: what meets where is looked up anew."""
        self._meeting = None

    def move_splice(self, joint: str, to: str) -> None:
        """Moves a splice of a straight chord to another panel point of it."""
        if joint not in self.hinges or to in self.hinges or not all(map(self.straight_through, (joint, to))):
            raise Illegal(f"the splice at joint {joint} can't be moved to joint {to}")
        self.hinges = self.hinges - {joint} | {to}

    def set_lumber(self, member: str, key: str) -> None:
        self.members[member]["lumber"] = key

    def set_plies(self, plies: int) -> None:
        self._source = self._source | {"plies": plies}

    @property
    def plies(self) -> int:
        return int(self._source.get("plies", 1))

    def set_openings(self, openings: list[Document]) -> None:
        self._source = self._source | {"openings": openings}

    @staticmethod
    def _unit(a: Point, b: Point) -> Point:
        length = math.dist(a, b)
        return (b[0] - a[0]) / length, (b[1] - a[1]) / length

    def tidy(self, joint: str) -> None:
        """Takes a panel point away that is left without webs."""
        if not self.meeting(joint):
            del self.joints[joint]
        elif not self.webs_at(joint) and self.straight_through(joint):
            self.merge(joint)

    def _insert_after(self, name: str, member: Document) -> None:
        items = list(self.members.items())
        at = [key for key, _ in items].index(name) + 1
        self.members = dict([*items[:at], (member["id"], member), *items[at:]])
        self._meeting = None

    def fresh(self, stem: str) -> str:
        """A name that nothing had yet."""
        number = 1
        while f"{stem}{number}" in self.names:
            number += 1
        self.names.add(f"{stem}{number}")
        return f"{stem}{number}"
