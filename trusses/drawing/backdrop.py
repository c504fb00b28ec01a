"""A truss as it stands, drawn once, and an opening that is dragged over it, drawn anew each time.

Labels of the truss stay where they are, so that they don't dance under a thumb; only those that the opening, its
dimensions or its frame come over, and those of members that it touches, are placed again among the others.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable
from copy import copy

from trusses.drawing.dimensions import tiers
from trusses.drawing.elevation import below_wood, draw, draw_below, notes, paper_for
from trusses.drawing.enlarged import draw_frame_lines, enlarge, framed, letter_frame
from trusses.drawing.gaps import define_hatch, draw_gaps, label_gaps
from trusses.drawing.heights import draw_rises
from trusses.drawing.layers import finish
from trusses.drawing.legend import draw_legend
from trusses.drawing.paper import Label, Paper
from trusses.drawing.placing import Taken
from trusses.drawing.scene import Scene
from trusses.drawing.shape import Document
from trusses.drawing.tags import Tags
from trusses.drawing.wood import Row, draw_row, flag_rows, rows_beside, rows_of

_NEAR = 240  # spots: a name that has to make way is told on tap rather than led far across the drawing
_PLACES = 400  # spots that the opening's own name or height tries before others make way for it
_STANDING = '<g class="standing" />'


class Backdrop:
    """The truss of a document that has been read, for a drawing of one size; arguments as of `elevation`."""

    def __init__(
        self,
        document: Document,
        *,
        detail: str = "sheet",
        width_px: float | None = None,
        prefix: str = "elevation",
        theirs: Collection[str] = (),
    ) -> None:
        self._scene = Scene(document)
        self._scene.of_others(theirs)
        self._paper = paper = paper_for(self._scene, detail, width_px, prefix, {})
        _, self._shown = draw(paper, self._scene, still=True)
        layers = [layer for layer in paper.svg.elements if layer is not paper.svg.defs]
        self._text = "".join(layer.tostring() for layer in layers)
        self._written = {id(label): label.element.tostring() for label in paper.labels}
        self._rows = rows_of(self._scene.after)
        self._members: dict[str, tuple[str, str]] = {}
        (members,) = (layer for layer in layers if layer["class"] == "members")
        for group in members.elements:
            plain = group.tostring()
            group["class"] += " touched"
            self._members[group["data-member"]] = plain, group.tostring()

    def elevation(
        self, ask: Document | None, ask_from: tuple[str, int] | None = None, touched: Collection[str] = ()
    ) -> str:
        """As `elevation` with that opening, but for where labels stand."""
        scene, still = self._asked(ask, ask_from, touched), self._paper
        paper = Paper(still.view, still.pens, still.width, still.prefix)
        paper.legend, paper.room = list(still.legend), still.room.copy()
        paper.group("standing")
        for theirs in {gap.theirs for gap in scene.gaps}:
            define_hatch(paper, theirs=theirs)
        text, shown = self._text, self._shown
        below = below_wood(paper, scene)
        below.clear_arrows(scene.loads)
        if scene.gaps:
            opening = scene.gaps[-1:] if ask is not None else []
            scene.frame = framed(scene.enlarged(None, None), paper.view) if opening else None
            brief = not paper.pens.dimensions
            mine = [tier for tier in tiers(scene.after, scene.gaps, brief=brief) if tier.opening]
            shown = [*mine, *shown]
            below.keep_clear(mine)
            draw_gaps(paper, opening, {})
            text, flags = self._move_rows(paper, scene, text)
            frame = draw_frame_lines(paper, scene.frame) if scene.frame is not None else None
            moved = self._in_the_way(paper, scene.touched, flags)
            if frame is not None and scene.frame is not None:
                letter_frame(paper, scene.frame, frame)
            moved += self._make_way(paper, moved, lambda: draw_rises(paper, scene.after, scene.wood, opening))
            tags = Tags(paper, scene.after, scene.marks, None, scene.touched)
            tags.draw(tag for tag in tags.all() if scene.touched.intersection(tag.panels))
            moved += self._make_way(paper, moved, lambda: label_gaps(paper, opening))
            paper.room.patience = _NEAR
            flag_rows(paper, flags.values())
            for label in (label for label in moved if id(label) not in flags):
                text = text.replace(self._written[id(label)], "", 1)
                if not scene.touched & label.about:
                    label.again(paper)
        for name in scene.touched:
            text = text.replace(*self._members[name], 1)
        said = notes(scene, shown, brief=not paper.pens.dimensions)  # a phone shows the answer below it too
        bottom = draw_legend(paper, draw_below(paper, below, shown), said)
        finish(paper, scene, min(0.0, paper.room.highest_label - paper.pens.small * 0.5), bottom + paper.pens.margin)
        return str(paper.svg.tostring()).replace(_STANDING, text, 1)

    def detail(
        self,
        ask: Document | None,
        ask_from: tuple[str, int] | None = None,
        touched: Collection[str] = (),
        prefix: str = "detail",
    ) -> str:
        """As `detail` with that opening."""
        scene = self._asked(ask, ask_from, touched)
        window = scene.enlarged(None, None)
        return enlarge(scene, window, prefix, moves=True) if window is not None else ""

    def _asked(self, ask: Document | None, ask_from: tuple[str, int] | None, touched: Collection[str]) -> Scene:
        scene = copy(self._scene)
        scene.gaps = list(scene.gaps)
        scene.ask(ask, ask_from)
        scene.touched = frozenset(touched) & scene.after.pieces.keys()
        return scene

    def _move_rows(self, paper: Paper, scene: Scene, text: str) -> tuple[str, dict[int, Row]]:
        """Draws anew the rows of restraint whose edge the opening takes; returns the text without them and their flags,
        and these rows by the ids of their flags."""
        flags: dict[int, Row] = {}
        for row, now in zip(self._scene.rows, rows_beside(self._rows, scene.gaps), strict=True):
            if (row.on, row.has_room) == (now.drawn_on.called, now.has_room):
                continue
            text = text.replace(row.block.tostring(), "", 1)
            moved = draw_row(paper, scene.after, paper.group("restraint"), now)
            flags |= {id(one): moved for one in self._paper.labels if one.element in row.block.elements}
        return text, flags

    def _in_the_way(self, paper: Paper, touched: frozenset[str], flags: Collection[int]) -> list[Label]:
        """The labels that what was drawn since comes over, or that are about what is touched, or by their id flags of
        rows that moved; their room is given back."""
        new = paper.room.since(self._paper.room)
        found = [
            label for label in self._paper.labels if touched & label.about or id(label) in flags or _meet(label, new)
        ]
        paper.room = paper.room.copy(without=_taken(found))
        return found

    def _make_way(self, paper: Paper, moved: list[Label], draw: Callable[[], None]) -> list[Label]:
        """Draws a label of the opening; returns the labels that had to make way for it, where no place near was
        free."""
        drawn = len(paper.labels)
        paper.room.patience = _PLACES
        draw()
        if len(paper.labels) > drawn:
            return []
        crowded, standing = paper.room, [label for label in self._paper.labels if label not in moved]
        paper.room = crowded.copy(without=_taken(standing))
        draw()
        if len(paper.labels) == drawn:
            paper.room = crowded
            return []
        stands = paper.room.settled
        pushed = [label for label in standing if _meet(label, stands)]
        paper.room = crowded.copy(without=_taken(pushed))
        for taken in stands:
            paper.room.take(taken.outline, taken.owner)
        return pushed


def _meet(label: Label, others: Iterable[Taken]) -> bool:
    return any(other.meets(taken.outline, taken.bounds) for taken in label.taken for other in others)


def _taken(labels: Iterable[Label]) -> list[Taken]:
    return [taken for label in labels for taken in label.taken]
