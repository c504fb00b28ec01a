"""What a truss document says, in sentences for a sheet. Every number has its unit."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from typing import Any

from trusses.analysis.format.model import AreaLoad, LineLoad, PointLoad, Truss
from trusses.analysis.load_path.taken_up import NOTHING_TAKEN, Taken, TakenUp
from trusses.analysis.piece_names import panel_names
from trusses.analysis.requirements.row_edges import row_edges
from trusses.analysis.words.lengths import feet_inches, tape_inches
from trusses.analysis.words.phrases import as_counted, listed, much
from trusses.sealing.models import NO_STATE
from trusses.sealing.seals import Seal, own_name
from trusses.words import COVERED

ROLE = {"top_chord": "top chord", "bottom_chord": "bottom chord", "web": "web"}
STORAGE, BOTTOM_LIVE = "attic_storage", "Bottom chord live"
"""What is written as attic storage and acts alone is the live load that every bottom chord takes, stored or not."""
ALONG = {
    "plan": "per level foot",
    "slope": "per foot along the chord",
    "normal": "square to the chord",
}


def loads(
    truss: Truss,
    those: Iterable[AreaLoad | LineLoad | PointLoad] | None = None,
    taken_up: TakenUp = NOTHING_TAKEN,
    *,
    by_piece: bool = True,
) -> list[str]:
    """One sentence for each load that the truss was designed for, or for `those` of them; not `by_piece` it doesn't
    name the panel, which a redesign calls otherwise. What a carried truss puts on
    several places alike, by the record of what is taken up, is told once."""
    hung = {id(truss.point_loads[i]): taken for i, taken in taken_up.found(truss.document)}
    said: dict[Any, tuple[str, list[str], str]] = {}
    for i, load in enumerate(truss.loads if those is None else those):
        taken = hung.get(id(load))
        if taken is None or not isinstance(load, PointLoad):
            said[i] = _load(truss, load, by_piece), [], ""
            continue
        key = load.case, load.pattern, load.alone, load.down_lb, taken.mark, taken.stands_in
        along = feet_inches(taken.along_in)
        said.setdefault(key, (_hung(load, taken), [], _alone(load)))[1].append(along)
    return [f"{first}{_places(along)}{last}" for first, along, last in said.values()]


def _hung(load: PointLoad, taken: Taken) -> str:
    way, lb = ("down", load.down_lb) if load.down_lb >= 0 else ("up", -load.down_lb)
    instead = f", its {taken.stands_in} standing in," if taken.stands_in else ""
    return f"{_name(load)}: {lb:g} lb {way} from {taken.mark}{instead} hung at"


def _places(along: list[str]) -> str:
    if not along:
        return ""
    many = f"each of {len(along)} places, {', '.join(along)}" if len(along) > 1 else along[0]
    return f" {many} from the left end"


def _name(load: AreaLoad | LineLoad | PointLoad) -> str:
    case = BOTTOM_LIVE if load.case == STORAGE and load.alone else load.case.replace("_", " ").capitalize()
    return f"{case}, {load.pattern}" if load.pattern else case


def _alone(load: AreaLoad | LineLoad | PointLoad) -> str:
    return ", never together with other live loads" if load.alone else ""


def _load(truss: Truss, load: AreaLoad | LineLoad | PointLoad, by_piece: bool) -> str:
    name, alone = _name(load), _alone(load)
    if isinstance(load, AreaLoad):
        where = f"on the {ROLE[load.chord]}, {ALONG[load.along]}{_window(truss, load)}"
        return f"{name}: {much(load.psf, 'psf')} {where}{alone}"
    if isinstance(load, LineLoad):
        to_in = truss.length(truss.member(load.member)) if load.to_in is None else load.to_in
        return f"{name}: {much(load.plf, 'plf')} {_from_to(truss, load.member, load.from_in, to_in, by_piece)}{alone}"
    if joint := truss.joint_under(load):
        where = _at_joint(truss, joint)
    else:
        where = _on_piece(truss, load.member or "", load.at_in or 0.0, by_piece)
    sideways = f" and {much(load.right_lb, 'lb')} to the right" if load.right_lb else ""
    note = f" ({load.note})" if load.note else ""
    way = "down" if load.down_lb >= 0 else "up"
    return f"{name}: {much(abs(load.down_lb), 'lb')} {way}{sideways} {where}{note}{alone}"


def _on_piece(truss: Truss, name: str, at_in: float, by_piece: bool) -> str:
    """Where a tape finds a place on a chord: level along the span, from the left bearing; on a web from its lower
    end."""
    member = truss.member(name)
    first, second = truss.ends(member)
    if member.role == "web":
        up = at_in if (first.y, first.x) <= (second.y, second.x) else truss.length(member) - at_in
        return f"on web {_called(truss, name)}, {feet_inches(up)} from its lower end"
    x = first.x + (second.x - first.x) * at_in / truss.length(member)
    piece = f" ({_called(truss, name)})" if by_piece else ""
    return f"on the {ROLE[member.role]}{piece}, {from_left(truss, x)}"


def _at_joint(truss: Truss, joint: str) -> str:
    roles = {member.role for member in truss.members if joint in member.joints} - {"web"}
    role = f"on the {ROLE[min(roles)]}" if roles else f"at joint {joint}"
    return f"{role}, {from_left(truss, truss.joint(joint).x)}"


def _from_to(truss: Truss, name: str, from_in: float, to_in: float, by_piece: bool) -> str:
    member = truss.member(name)
    first, second = truss.ends(member)
    if member.role == "web":
        end = feet_inches(to_in)
        return f"on web {_called(truss, name)}, from {feet_inches(from_in)} to {end} along it from joint {first.name}"
    steps = (
        truss.joint(member.joints[0]).x + (second.x - first.x) * at / truss.length(member) for at in (from_in, to_in)
    )
    low, high = sorted(steps)
    piece = f" ({_called(truss, name)})" if by_piece else ""
    left = _left(truss)
    return f"on the {ROLE[member.role]}{piece}, from {feet_inches(low - left)} to {from_left(truss, high)}"


def _left(truss: Truss) -> float:
    return min(truss.joint(bearing.joint).x for bearing in truss.bearings)


def from_left(truss: Truss, x: float) -> str:
    """A place along the span, from the middle of the left bearing."""
    along = x - _left(truss)
    return (
        f"{feet_inches(along)} from the left bearing"
        if along >= 0
        else f"{feet_inches(-along)} left of the left bearing"
    )


LACKS = {
    "reviewed": "the building designer's review",
    "accepted": "the building department's acceptance",
    "carried out": "that the repair is carried out",
    **{one: f"that it covers {says}" for one, says in COVERED.items()},
}
"""What may be missing of a sealed drawing that is attached."""


def lacking(seal: Seal) -> str:
    """What keeps it from counting, in words; empty where there is nothing."""
    return " and ".join(LACKS[step] for step in seal.missing)


_ACTS = ("reviewed", "accepted", "carried out")


def sealed_but(seal: Seal) -> str:
    """The same in a few words, for a badge: sealed, not reviewed or accepted."""
    acts = [one for one in _ACTS if one in seal.missing]
    covers = [one for one in seal.missing if one not in _ACTS]
    said = [f"not {', '.join(acts[:-1])}{' or ' if acts[1:] else ''}{acts[-1]}"] if acts else []
    return ", ".join(["sealed", *said, *([f"{' and '.join(covers)} not covered"] if covers else [])])


def sealed(seal: Seal) -> str:
    """By whom and when a drawing was sealed, reviewed, accepted, and what counts where it and a sheet differ."""
    drawing = seal.drawing
    state = "" if drawing.state == NO_STATE else f", {drawing.state}"
    said = [f"Sealed by {drawing.sealed_by}, license {drawing.licence}{state}, on {_day(drawing.sealed_on)}"]
    said += [
        f"{record.kind} by {record.name} on {_day(record.on)}, recorded by {own_name(record.by)}"
        for record in seal.records.values()
        if record.kind in (record.Kind.REVIEWED, record.Kind.ACCEPTED)
    ]
    return f"{'; '.join(said)}. Where this sheet and the sealed drawing differ, stop and call the designer."


def _day(on: date) -> str:
    return f"{on:%b} {on.day}, {on.year}"


def _called(truss: Truss, member: str | None) -> str:
    return panel_names(truss.document).get(member or "", member or "")


def _window(truss: Truss, load: AreaLoad) -> str:
    xs = [joint.x for joint in truss.joints]
    walls = [truss.joint(bearing.joint).x for bearing in truss.bearings]
    start, end = feet_inches(load.from_x_in - min(walls)) if load.from_x_in > min(xs) else "", ""
    if load.to_x_in < max(xs):
        end = feet_inches(load.to_x_in - min(walls))
    if start and end:
        return f", from {start} to {end} from the left bearing"
    if start or end:
        return f", {'beyond' if start else 'up to'} {start or end} from the left bearing"
    return ""


def restraints(truss: Truss) -> list[str]:
    """The out-of-plane restraint that the checks count on and that someone has to install."""
    held = truss.lateral_restraint
    said = [_chord(truss, role, held.spacing(role)) for role in ("top_chord", "bottom_chord")]
    for rows in sorted({rows for rows in held.webs.values() if rows}):
        webs = sorted((web for web, its in held.webs.items() if its == rows), key=as_counted)
        where = "at mid-length" if rows == 1 else f"evenly spaced, {rows + 1} equal parts"
        each = f"{rows} row{'s' if rows > 1 else ''} of lateral restraint{' each' if len(webs) > 1 else ''}"
        said.append(f"Web{'s' if len(webs) > 1 else ''} {listed(webs)}: {each}, {where}.")
    said += beside_openings(truss)
    return [line for line in said if line]


def beside_openings(truss: Truss, opening: str | None = None) -> list[str]:
    """Of each row that an opening of the truss is in the way of, or `opening` alone, which edge of its web is left."""
    found = [row for row in row_edges(truss) if opening is None or opening in row.in_the_way]
    return [row.says for row in found if row.says]


def _chord(truss: Truss, role: Any, spacing: float | None) -> str:
    if not any(member.role == role for member in truss.members):
        return ""
    name = ROLE[role].capitalize()
    if spacing is None:
        return f"{name}: held sideways at its ends only; nothing between them is counted on."
    if spacing == 0:
        return f"{name}: held sideways along its whole length, as by sheathing or ceiling board fastened to it."
    return f"{name}: held sideways at {feet_inches(spacing)} on center or closer."


def opening(asked: dict[str, Any]) -> str:
    """An opening as a truss document writes it, in words."""
    if asked["shape"] == "circle":
        size = f"{tape_inches(asked['diameter_in'])} round"
    else:
        size = f"{tape_inches(asked['width_in'])} wide and {tape_inches(asked['height_in'])} high"
    clear = asked.get("clearance_in", 0)
    return f"{size}{f', with {tape_inches(clear)} clear all round' if clear else ''}"
