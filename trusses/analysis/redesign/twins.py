"""The symmetric twin of a candidate: what is changed on one side of midspan is changed on the other side as well.

Such a truss can't be set the wrong way round, its webs are sawn in pairs at one set-up a side, and it is often the
stronger one. There is one where today's truss is its own mirror image and the change keeps to one side. Inches.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from trusses.analysis.redesign.changes import moved
from trusses.analysis.redesign.draft import Draft
from trusses.analysis.redesign.layouts import Note

#: What stands within this of midspan stands on it, and images this near are the same place.
_HAIR_IN = 1e-2


@dataclass(frozen=True)
class Mirror:
    """Today's truss as its own image about the middle between the outer bearings: which joint and member are whose."""

    start: Draft
    middle: float
    joints: dict[str, str]
    members: dict[str, str]
    hinged_alike: bool

    def beyond(self, draft: Draft, joint: str) -> float:
        """How far right of midspan a joint stands."""
        off = draft.at(joint)[0] - self.middle
        return 0.0 if abs(off) <= _HAIR_IN else off


def mirror(start: Draft) -> Mirror | None:
    """None where the wood of a truss, or its rows of restraint, isn't symmetric; hinges and loads need not be."""
    xs = [start.at(joint)[0] for joint in start.bearings]
    middle = (min(xs) + max(xs)) / 2
    there = {_place(*start.at(name)): name for name in start.joints}
    joints = {name: there.get(_place(2 * middle - start.at(name)[0], start.at(name)[1]), "") for name in start.joints}
    wood = {_wood(start, name, {one: one for one in joints}): name for name in start.members}
    members = {name: wood.get(_wood(start, name, joints), "") for name in start.members}
    if "" in joints.values() or "" in members.values() or {joints[name] for name in start.bearings} != start.bearings:
        return None
    return Mirror(start, middle, joints, members, {joints[name] for name in start.hinges} == start.hinges)


def twin(draft: Draft, about: Mirror) -> tuple[Draft, Note] | None:
    """The draft with its change on both sides, and the step that says so; None where it isn't on one side alone."""
    side = _side(draft, about)
    if not side:
        return None
    off = {name: side * about.beyond(draft, name) for name in draft.joints}
    out = draft.copy()
    image = _images(draft, out, about, off)
    out.joints = {name: list(draft.at(name)) for name in draft.joints if off[name] >= 0}
    for name, to in image.items():
        x, y = draft.at(name)
        out.joints[to] = [round(2 * about.middle - x, 6), y]
    copied = _copied(draft, out, about, off, image)
    if copied is None or not _spliced(draft, out, about, off, image):
        return None
    images = set(copied.values())
    out.rows = {name: rows for name, rows in draft.rows.items() if name in out.members and name not in images}
    out.rows |= {to: draft.rows[name] for name, to in copied.items() if name in draft.rows}
    webs = tuple(sorted(moved(draft, out) | (set(draft.webs()) - set(out.webs()))))
    return (out, Note("twin", webs, {"webs": webs})) if webs else None


def _side(draft: Draft, about: Mirror) -> int:
    """1 where the change is right of midspan alone, -1 where it is left of it; 0 where it is on both, or nowhere."""
    start, sides = about.start, set()
    gone = [web for web in start.webs() if web not in draft.members]
    stands = moved(start, draft)
    for which, names in ((start, [*gone, *(web for web in stands if web in start.members)]), (draft, stands)):
        sides |= {about.beyond(which, joint) for web in names for joint in which.members[web]["joints"]}
    for hinges, which, other in ((start.hinges, start, draft), (draft.hinges, draft, start)):
        there = {other.at(name) for name in other.hinges}
        sides |= {about.beyond(which, name) for name in hinges if which.at(name) not in there}
    signs = {off > 0 for off in sides if off}
    return 0 if len(signs) != 1 else 1 if signs.pop() else -1


def _images(draft: Draft, out: Draft, about: Mirror, off: dict[str, float]) -> dict[str, str]:
    """The name of each joint's image: that of its fellow of today's, where it has one."""
    used = {name for name in draft.joints if off[name] >= 0}
    image = {}
    for name in (one for one in draft.joints if off[one] > 0):
        fellow = about.joints.get(name, "")
        image[name] = fellow if fellow and fellow not in used else out.fresh("N")
        used.add(image[name])
    return image


def _copied(
    draft: Draft, out: Draft, about: Mirror, off: dict[str, float], image: dict[str, str]
) -> dict[str, str] | None:
    """Writes the members of the other side into `out`; {member: its image}. None where a web crosses midspan that has
    no image in itself."""
    kept, copied = {}, {}
    used = {name for name, member in draft.members.items() if min(off[joint] for joint in member["joints"]) >= 0}
    for name, member in draft.members.items():
        near, far = sorted(member["joints"], key=lambda joint: -off[joint])
        if off[near] > 0 > off[far]:
            if member["role"] == "web" and about.members.get(name) != name:
                return None
            kept[name] = dict(member) | {"joints": [j if off[j] > 0 else image[near] for j in member["joints"]]}
        elif off[far] >= 0:
            kept[name] = dict(member)
            if off[near] > 0:
                fellow = about.members.get(name, "")
                fellow = fellow if fellow and fellow not in used else out.fresh(name.rstrip("0123456789") or "W")
                used.add(fellow)
                copied[name] = fellow
    images = {
        to: draft.members[name] | {"id": to, "joints": [image.get(j, j) for j in draft.members[name]["joints"]]}
        for name, to in copied.items()
    }
    every = kept | images
    in_order = [
        *(name for name in draft.members if name in every),
        *(name for name in every if name not in draft.members),
    ]
    out.members = {name: every[name] for name in in_order}
    out.forget()
    return copied


def _in_order(draft: Draft) -> Callable[[str], int]:
    """The members in the document's order, new ones last."""
    number = {name: i for i, name in enumerate(draft.members)}
    return lambda name: number.get(name, len(number))


def _spliced(draft: Draft, out: Draft, about: Mirror, off: dict[str, float], image: dict[str, str]) -> bool:
    """Writes the hinges; whether each has its place. Where today's differ from side to side, those that stay, stay."""
    hinges = {name for name in draft.hinges if off[name] >= 0}
    for name in draft.hinges - hinges if not about.hinged_alike else ():
        if name not in out.joints or (out.straight_through(name) and not out.webs_at(name)):
            return False
        hinges.add(name)
    if about.hinged_alike:
        hinges |= {image[name] for name in hinges if name in image}
    out.hinges = hinges
    return True


def _place(x: float, y: float) -> tuple[int, int]:
    return round(x / _HAIR_IN), round(y / _HAIR_IN)


def _wood(draft: Draft, name: str, joints: dict[str, str]) -> tuple[object, ...]:
    member = draft.members[name]
    ends = frozenset(joints[joint] for joint in member["joints"])
    return ends, member["role"], member["lumber"], member.get("flat", False), draft.rows.get(name, 0)
