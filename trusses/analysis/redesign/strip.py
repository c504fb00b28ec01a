"""A truss as a strip between two chords, parted by webs that follow each other from left to right.

A web is then a pair of panel points, one on each chord, and the next web goes on from one of its ends, or from both
where a panel is open.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

from trusses.analysis.redesign.draft import Draft


@dataclass(frozen=True)
class Web:
    """A web of today's, by its ends in the chains of panel points; `name` is None for the truss's own end."""

    name: str | None
    top: str
    bottom: str


@dataclass(frozen=True)
class Strip:
    """The panel points of both chords that webs may go to, and today's webs, all from left to right."""

    draft: Draft
    top: tuple[str, ...]
    bottom: tuple[str, ...]
    webs: tuple[Web, ...]

    @property
    def whole(self) -> tuple[Web, ...]:
        """The webs between the two ends, which are no webs where the chords meet."""
        ends = [Web(None, self.top[i], self.bottom[i]) for i in (0, -1)]
        out = list(self.webs)
        if (out[0].top, out[0].bottom) != (ends[0].top, ends[0].bottom):
            out.insert(0, ends[0])
        if (out[-1].top, out[-1].bottom) != (ends[1].top, ends[1].bottom):
            out.append(ends[1])
        return tuple(out)


def strip(draft: Draft) -> Strip | None:
    """The strip that a truss is; None where its webs cross, meet each other away from the chords, or can't be moved."""
    xs = [draft.at(joint)[0] for joint in draft.bearings]
    chains = {}
    hidden = _under_beams(draft)
    for role in ("top_chord", "bottom_chord"):
        joints = [j for j in draft.chord_joints(role) if min(xs) - 1e-6 <= draft.at(j)[0] <= max(xs) + 1e-6]
        joints = [joint for joint in joints if joint not in hidden]
        places = [draft.at(joint)[0] for joint in joints]
        if len(joints) < 2 or any(b - a < 1e-6 for a, b in pairwise(places)):
            return None
        chains[role] = joints
    top, bottom = chains["top_chord"], chains["bottom_chord"]
    number = ({name: i for i, name in enumerate(top)}, {name: i for i, name in enumerate(bottom)})
    webs = []
    for name in draft.webs():
        a, b = draft.members[name]["joints"]
        if a in number[0] and b in number[1] and not (b in number[0] and a in number[1]):
            webs.append(Web(name, a, b))
        elif b in number[0] and a in number[1]:
            webs.append(Web(name, b, a))
        elif not (a in number[0] and b in number[0]):
            return None
    webs.sort(key=lambda web: (number[0][web.top] + number[1][web.bottom], number[0][web.top]))
    for one, other in pairwise(webs):
        if number[0][other.top] < number[0][one.top] or number[1][other.bottom] < number[1][one.bottom]:
            return None
    return Strip(draft, tuple(top), tuple(bottom), tuple(webs)) if webs else None


def _under_beams(draft: Draft) -> set[str]:
    """The panel points of the top chord above webs from top chord to top chord, such as a straining beam."""
    joints = draft.chord_joints("top_chord")
    out: set[str] = set()
    for name in draft.webs():
        a, b = draft.members[name]["joints"]
        if a in joints and b in joints and {draft.chord_of(a), draft.chord_of(b)} == {"top_chord"}:
            i, j = sorted((joints.index(a), joints.index(b)))
            out |= {joint for joint in joints[i + 1 : j] if not draft.webs_at(joint)}
    return out
