"""A search by chance, for measuring the product's by: it shares none of its moves, and knows nothing of its order.

Webs in and beside the opening are taken out; panel points along both chords slide, come and go; then webs are thrown
in again, between any two panel points of the two chords, in an order drawn by lot, as long as nothing is crossed. Half
of the drafts go on from the best that failed so far. Each is judged by the analysis with the best lumber of its sizes,
all rows and one to three plies; what passes is made lighter again, by lot. Alike is only what must be: the document's
editor, the analysis, `fit`, the limits of building.
"""

from __future__ import annotations

import math
import random
import time

import numpy as np

from trusses.analysis.analysis import PASSES, Mechanism, analyse_many
from trusses.analysis.clearance.free_space import TOUCH_IN, spares
from trusses.analysis.clearance.openings import fits
from trusses.analysis.format.document import DocumentError, read
from trusses.analysis.format.model import CHORDS, Opening, Truss
from trusses.analysis.format.shared_wood import depth_of
from trusses.analysis.loads import arrangements, attic
from trusses.analysis.lumber import LUMBER, lookup
from trusses.analysis.redesign.building import USUAL, grown, keeps_off
from trusses.analysis.redesign.changes import measure
from trusses.analysis.redesign.draft import Draft, Illegal
from trusses.analysis.redesign.layouts import FLATTEST, buildable, crossings
from trusses.analysis.redesign.search import written
from trusses.analysis.redesign.splices import barred, within_stock

Size = tuple[int, float]
_ELITE = 6
_STEPS_IN = np.arange(-36.0, 36.25, 0.25)


def random_search(truss: Truss, opening: Opening, seconds: float, seed: int = 1) -> list[Size]:
    """Members touched and board feet of all that passes, found in so many seconds of the processor."""
    return _Chance(truss, opening, seed).run(time.process_time() + seconds)


class _Chance:
    def __init__(self, truss: Truss, opening: Opening, seed: int) -> None:
        self.truss, self.opening, self.dice = truss, opening, random.Random(seed)
        self.start = Draft(truss.document)
        self.start.set_openings([written(opening)])
        self.crossed, self.room = crossings(self.start), attic.lacking(truss)
        self.wide = grown(opening, USUAL.tolerance_in)
        half = opening.size[0] / 2 + opening.clearance_in
        web = next(self.start.members[name] for name in self.start.webs())
        self.deep = depth_of(web["lumber"], web.get("flat", False))
        self.low, self.high = opening.centre[0] - half, opening.centre[0] + half
        self.elite: list[tuple[float, Draft]] = []
        self.found: set[Size] = set()
        self.seen: set[str] = set()

    def run(self, until: float) -> list[Size]:
        while time.process_time() < until:
            onward = bool(self.elite) and self.dice.random() < 0.5
            try:
                draft = self._thrown(self.dice.choice(self.elite)[1] if onward else self.start)
            except Illegal:
                continue
            key = repr(sorted((m["role"], *sorted(draft.at(j) for j in m["joints"])) for m in draft.members.values()))
            if draft.webs() and key not in self.seen and self._stands(draft):
                self.seen.add(key)
                self._judge(draft)
        return sorted(self.found)

    def _stands(self, draft: Draft) -> bool:
        return (
            buildable(draft, self.start, self.crossed)
            and keeps_off(draft, self.start, [self.opening], USUAL)
            and not (draft.hinges and barred(draft, self.start) & draft.hinges)
            and within_stock(draft, self.start, USUAL.longest_piece_in)
        )

    # a draft by lot

    def _thrown(self, parent: Draft) -> Draft:
        dice, draft = self.dice, parent.copy()
        beside = dice.choice((0.0, 12.0, 30.0, 60.0))
        low, high = self.low - beside * dice.random(), self.high + beside * dice.random()
        pool, webs = {}, draft.webs()
        free = self._free([draft.ends(web) for web in webs])
        for web, spare in zip(webs, free, strict=True):
            ends = sorted(x for x, _ in draft.ends(web))
            within = low < ends[1] and ends[0] < high
            if not draft.movable(web) or not (spare < -TOUCH_IN or (within and dice.random() < 0.6)):
                continue
            pool[web] = dict(draft.members.pop(web))
            draft.rows.pop(web, None)
        draft.forget()
        reach = max(beside, 24.0)
        for role in CHORDS:
            self._points(draft, role, low - reach, high + reach)
        self._brace(draft, pool, low - 1.5 * reach, high + 1.5 * reach)
        for role in CHORDS:
            for joint in draft.chord_joints(role):
                if not draft.webs_at(joint) and draft.straight_through(joint):
                    self._merged(draft, joint)
        bars = barred(draft, self.start) if draft.hinges else set()
        for joint in sorted(bars & draft.hinges):
            self._spliced(draft, joint, bars)
        return draft

    def _free(self, lines):
        """How much room webs along these lines leave around the opening."""
        return spares(np.array(lines), np.full(len(lines), self.deep), self.wide)

    def _points(self, draft: Draft, role: str, low: float, high: float) -> None:
        dice = self.dice
        for joint in draft.chord_joints(role):
            if low < draft.at(joint)[0] < high and draft.straight_through(joint) and dice.random() < 0.35:
                try:
                    draft.slide(joint, round((draft.at(joint)[0] + float(dice.choice(_STEPS_IN))) * 4) / 4)
                except Illegal:
                    continue
        edges = (self.low - 3.0, self.high + 3.0, self.opening.centre[0])
        for _ in range(dice.choice((0, 0, 1, 1, 2))):
            x = dice.choice(edges) + dice.choice((-1, 1)) * dice.expovariate(1 / 8)
            try:
                draft.split(role, round((x if dice.random() < 0.7 else dice.uniform(low, high)) * 4) / 4)
            except Illegal:
                continue

    def _brace(self, draft: Draft, pool, low: float, high: float) -> None:
        dice = self.dice
        top, bottom = ([j for j in draft.chord_joints(role) if low < draft.at(j)[0] < high] for role in CHORDS)
        like = next(web for web in self.start.webs())
        pairs = [(a, b) for a in top for b in bottom if a != b and not draft.joined(a, b)]
        if not pairs:
            return
        lines = [(draft.at(a), draft.at(b)) for a, b in pairs]
        free, skip = self._free(lines), dice.choice((0.0, 0.0, 0.15, 0.4))
        steps = {joint: self._ways(draft, joint) for joint in {*top, *bottom}}
        order = [
            (dice.random() * math.dist(*line), i)
            for i, line in enumerate(lines)
            if free[i] >= -TOUCH_IN and dice.random() >= skip and _steep(line, *(steps[joint] for joint in pairs[i]))
        ]
        webs = np.array([draft.ends(web) for web in draft.webs()]).reshape(-1, 2, 2)
        for _, i in sorted(order):
            line = np.array(lines[i])
            if len(webs) and _crosses(line, webs):
                continue
            a, b = pairs[i]
            again = [name for name, held in pool.items() if {a, b} & set(held["joints"])] or list(pool)
            if again:
                name = dice.choice(again)
                draft.put_web(pool.pop(name) | {"joints": [a, b]})
                if name in self.start.rows:
                    draft.rows[name] = self.start.rows[name]
            else:
                draft.put_web(self.start.members[like] | {"id": draft.fresh("W"), "joints": [a, b]})
            webs = np.concatenate([webs, line[None]])

    def _ways(self, draft: Draft, joint: str) -> list[float]:
        """In which directions the chords leave a joint, radians."""
        x, y = draft.at(joint)
        others = [draft.at(draft.other_end(n, joint)) for n in draft.meeting(joint) if draft.role(n) != "web"]
        return [math.atan2(b - y, a - x) for a, b in others]

    def _merged(self, draft: Draft, joint: str) -> None:
        """Takes a panel point away; a splice that stood there goes to another one, by lot."""
        if joint in draft.hinges:
            self._spliced(draft, joint, set())
        draft.merge(joint)

    def _spliced(self, draft: Draft, joint: str, bars: set[str]) -> None:
        joints = draft.chord_joints(str(draft.chord_of(joint)))
        there = [j for j in joints if draft.webs_at(j) and j not in draft.hinges | bars and draft.straight_through(j)]
        if not there:
            raise Illegal("no place for the splice")
        draft.move_splice(joint, self.dice.choice(there))

    # judged

    def _judge(self, draft: Draft) -> None:
        strong = [self._strong(draft, plies) for plies in (1, 2, 3) if plies >= draft.plies]
        worst = self._worst(strong)
        good = [i for i, ratio in enumerate(worst) if ratio <= PASSES]
        if good:
            self._lighter(strong[good[0]])
        elif worst and min(worst) < 50:
            self.elite.append((min(worst), draft))
            self.elite = sorted(self.elite, key=lambda one: one[0])[:_ELITE]

    def _strong(self, draft: Draft, plies: int) -> Draft:
        out, grow = draft.copy(), self.dice.random() < 0.3
        flat = any(member.get("flat") for member in out.members.values())
        for name, member in out.members.items():
            out.set_lumber(name, _best(member["lumber"], grow and not flat and member["role"] == "web"))
        for web in out.webs() if not flat else ():
            out.rows[web] = 2
        out.restraint |= {"top_chord_in": 24.0, "bottom_chord_in": 24.0}
        for key in ("top_chord_in", "bottom_chord_in"):
            if key in self.start.restraint:
                out.restraint[key] = min(24.0, float(self.start.restraint[key]))
        out.set_plies(plies)
        return out

    def _worst(self, drafts: list[Draft]) -> list[float]:
        """The largest ratio of each; a thousand where it is no document, moves or isn't clear."""
        out, ready = [1000.0] * len(drafts), []
        for i, draft in enumerate(drafts):
            try:
                document = draft.document()
                truss = read(document)
                if arrangements.missing(truss):
                    truss = read(document := arrangements.arrange(document))
                if windows := attic.opened(truss, self.room):
                    truss = read(attic.with_storage(document, windows))
            except (Illegal, DocumentError):
                continue
            if all(one.fits for one in fits(truss)):
                ready.append((i, truss))
        for (i, _), found in zip(ready, analyse_many([truss for _, truss in ready]), strict=True):
            if not isinstance(found, Mechanism):
                out[i] = found.worst_ratio
        return out

    def _lighter(self, draft: Draft) -> None:
        """Takes back what isn't needed, in an order by lot, and notes what is left."""
        dice = self.dice
        least = sum(web not in self.start.members or self.start.ends(web) != draft.ends(web) for web in draft.webs())
        if self.found and least > min(self.found)[0] + 1 and dice.random() < 0.8:
            return
        backs = [("chord", role) for role in CHORDS] + [("web", web) for web in draft.webs()] + [("rows", "")]
        backs += [("rows", web) for web in draft.rows] + [("held", f"{role}_in") for role in CHORDS]
        for kind, name in dice.sample(backs, len(backs)):
            lighter = draft.copy()
            if kind == "held":
                lighter.restraint.pop(name, None)
                lighter.restraint |= {k: v for k, v in self.start.restraint.items() if k == name}
            elif kind == "rows":
                for web in [name] if name else list(lighter.rows):
                    lighter.rows.pop(web, None)
                    lighter.rows |= {k: v for k, v in self.start.rows.items() if k == web}
            else:
                for member in (
                    lighter.webs() if kind == "web" else [m for m in lighter.members if lighter.role(m) == name]
                ):
                    if kind == "chord" or member == name:
                        lighter.set_lumber(member, self._lumber_today(lighter, member))
            if self._worst([lighter])[0] <= PASSES:
                draft = lighter
        whole = measure(self.truss.document, draft.document(), ())
        self.found.add((whole.size[0], whole.size[3]))

    def _lumber_today(self, draft: Draft, member: str) -> str:
        if member in self.start.members:
            return str(self.start.members[member]["lumber"])
        role = draft.role(member)
        (ax, _), (bx, _) = draft.ends(member)
        under = self.start.chord_under(role, (ax + bx) / 2) if role != "web" else None
        return str(self.start.members[under[0] if under else self.start.webs()[0]]["lumber"])


def _steep(line, first, second) -> bool:
    """Whether a web would stand steep enough on the chords at both ends, radians."""
    (ax, ay), (bx, by) = line
    along = math.atan2(by - ay, bx - ax)
    least = math.radians(FLATTEST)
    return all(abs(math.remainder(way - along, math.tau)) > least for way in first) and all(
        abs(math.remainder(way - along - math.pi, math.tau)) > least for way in second
    )


def _crosses(line, webs) -> bool:
    """Whether a line (2, 2) crosses any of the webs (n, 2, 2) away from an end that they share."""
    a, d = line[0], line[1] - line[0]
    b, e = webs[:, 0], webs[:, 1] - webs[:, 0]
    cross = d[0] * e[:, 1] - d[1] * e[:, 0]
    cross[cross == 0] = np.nan
    gap = b - a
    s = (gap[:, 0] * e[:, 1] - gap[:, 1] * e[:, 0]) / cross
    t = (gap[:, 0] * d[1] - gap[:, 1] * d[0]) / cross
    inside = (s > -1e-6) & (s < 1 + 1e-6) & (t > -1e-6) & (t < 1 + 1e-6)
    shared = (np.abs(s - np.round(s)) < 1e-6) & (np.abs(t - np.round(t)) < 1e-6)
    return bool((inside & ~shared).any())


def _best(key: str, grow: bool) -> str:
    now = lookup(key)
    widths = (now.width_in, 5.5) if grow and now.width_in < 5.5 else (now.width_in,)
    same = [
        one
        for one in LUMBER.values()
        if (one.species, one.thickness_in) == (now.species, now.thickness_in) and one.width_in == max(widths)
    ]
    return max(same, key=lambda one: (one.fb + one.fc + one.ft, one.e)).key
