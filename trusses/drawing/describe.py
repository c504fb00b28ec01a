"""The drawing in words: what a screen reader says instead of the picture."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from trusses.drawing.bearings import AskedBearing
from trusses.drawing.borne import Load
from trusses.drawing.differences import Differences
from trusses.drawing.forces import Force
from trusses.drawing.gaps import size_of
from trusses.drawing.measures import height, reach, rise
from trusses.drawing.outline import Outline
from trusses.drawing.pitch import pitches, rise_in_12
from trusses.drawing.shape import Gap, Shape
from trusses.drawing.text import TAG_LETTERS, clean, magnitude, spoken, twelfths

_MOST_NAMED = 12


def title_of(shape: Shape) -> str:
    mark = clean(shape.document.get("mark", ""), 40)
    title = clean(shape.document.get("title", ""))
    return f"Elevation of {shape.use} truss {mark}" + (f": {title}" if title else "")


def describe(
    shape: Shape,
    outlines: dict[str, Outline],
    gaps: list[Gap],
    marks: Differences | None,
    forces: dict[str, Force] | None,
    combination: str | None,
    loads: Sequence[Load] = (),
    bearings: Sequence[AskedBearing] = (),
    before: Shape | None = None,
) -> str:
    """`marks` are what differs from `before`. Members are told as they are called."""
    parts = [_whole(shape, outlines), _counts(shape), _supports(shape)]
    parts += [_opening(shape, outlines, gap) for gap in gaps[:_MOST_NAMED]]
    parts += [_load(load) for load in loads[:_MOST_NAMED]]
    parts += [_asked_bearing(one) for one in bearings[:_MOST_NAMED]]
    if marks is not None:
        parts.append(_change(marks, {**(before.called if before is not None else {}), **shape.called}))
    if forces:
        parts.append(_forces({shape.called[name]: force for name, force in forces.items()}, combination))
    return " ".join(part for part in parts if part)


def _whole(shape: Shape, outlines: dict[str, Outline]) -> str:
    base, top = height(shape, outlines)
    held = [s.at[0] for s in shape.held_up]
    span = f"spans {spoken(held[-1] - held[0])} between bearings and " if len(held) > 1 else ""
    slopes = [twelfths(rise_in_12(piece)) for piece in pitches(shape, "top_chord")]
    pitch = f"; the top chord rises {_and(dict.fromkeys(slopes))} in 12" if slopes else ""
    plies = shape.document.get("plies", 1)
    many = f", {plies} plies," if plies != 1 else ""
    mark = clean(shape.document.get("mark", ""), 40)
    return f"{shape.use.capitalize()} truss {mark}{many} {span}stands {spoken(top - base)} high{pitch}."


def _counts(shape: Shape) -> str:
    words = []
    for role, one, many in (
        ("top_chord", "top chord member", "top chord members"),
        ("bottom_chord", "bottom chord member", "bottom chord members"),
        ("web", "web", "webs"),
    ):
        count = len(shape.chords(role))
        if count:
            words.append(f"{count} {one if count == 1 else many}")
    return f"It has {_and(words)}."


def _supports(shape: Shape) -> str:
    said = [f"{clean(s.joint, TAG_LETTERS)} ({spoken(s.width)} wide)" for s in shape.held_up]
    return f"It bears at {_and(said)}." if said else ""


def _opening(shape: Shape, outlines: dict[str, Outline], gap: Gap) -> str:
    name = clean(gap.id, TAG_LETTERS)
    words = f"Opening {name}, {size_of(gap).replace(chr(34), ' inches')}"
    tape = reach(shape, gap)
    if tape is not None:
        point = "its center" if tape.to_centre else "its near edge"
        words += f": {point} is {spoken(tape.distance)} from the face of the bearing at {clean(tape.support.joint, 14)}"
        up = rise(shape, outlines, gap)
        if up is not None:
            edge = "its center" if gap.round else "its bottom edge"
            below = "above" if up.distance >= 0 else "below"
            words += f", {edge} {spoken(abs(up.distance))} {below} the top of the bottom chord"
    if gap.clearance:
        words += f", with {spoken(gap.clearance)} clear all round"
    return words + "."


def _load(load: Load) -> str:
    where = f"along {spoken(load.xs[-1] - load.xs[0])} from" if load.band else "at"
    at = _and(spoken(x) for x in (load.xs[:1] if load.band else load.xs[:_MOST_NAMED]))
    said = {"added": "New: ", "asked": "Asked for: "}.get(load.state, "It bears ")
    on = "top chord" if load.role == "top_chord" else "bottom chord"
    return f"{said}{', '.join(load.words)}, {where} {at} on the {on}."


def _asked_bearing(asked: AskedBearing) -> str:
    if asked.from_in is not None:
        return f"Asked for: the bearing at {spoken(asked.from_in)} moved to {spoken(asked.x_in)}."
    what = "the bearing taken away" if asked.gone else f"a bearing {spoken(asked.width_in)} wide"
    return f"Asked for: {what} at {spoken(asked.x_in)}."


def _change(marks: Differences, called: Mapping[str, str]) -> str:
    said = []
    for ids, what in ((marks.added, "added"), (marks.changed, "changed"), (marks.removed, "taken out")):
        if ids:
            named = [clean(name, TAG_LETTERS) for name in sorted((called[one] for one in ids), key=natural)]
            more = f" and {len(named) - _MOST_NAMED} more" if len(named) > _MOST_NAMED else ""
            said.append(f"{what} {', '.join(named[:_MOST_NAMED])}{more}")
    return f"Compared with the truss before: {'; '.join(said)}." if said else "No member differs from the truss before."


def _forces(forces: dict[str, Force], combination: str | None) -> str:
    where = f"In {clean(combination)}" if combination is not None else "Over all load combinations"
    pull = max(forces.items(), key=lambda item: item[1].tension)
    push = max(forces.items(), key=lambda item: item[1].compression)
    said = []
    if pull[1].tension >= 0.5:
        said.append(f"the largest tension is {magnitude(pull[1].tension)} in {clean(pull[0], TAG_LETTERS)}")
    if push[1].compression >= 0.5:
        said.append(f"the largest compression is {magnitude(push[1].compression)} in {clean(push[0], TAG_LETTERS)}")
    return f"{where} {_and(said) or 'no member carries an axial force'}."


def _and(words: Iterable[str]) -> str:
    listed = list(words)
    return listed[0] if len(listed) == 1 else ", ".join(listed[:-1]) + " and " + listed[-1] if listed else ""


def natural(name: str) -> tuple[str, int, str]:
    head = name.rstrip("0123456789")
    digits = name[len(head) :]
    return (head, int(digits[:9] or 0), name)
