"""What a truss document says, in sentences for a sheet. Every number has its unit."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from typing import Any

from trusses.analysis.format.model import AreaLoad, LineLoad, PointLoad, Truss
from trusses.analysis.load_path.taken_up import NOTHING_TAKEN, Taken, TakenUp
from trusses.analysis.piece_names import panel_names
from trusses.analysis.words.lengths import feet_inches, tape_inches
from trusses.analysis.words.phrases import much
from trusses.sealing.models import NO_STATE
from trusses.sealing.seals import Seal
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
    truss: Truss, those: Iterable[AreaLoad | LineLoad | PointLoad] | None = None, taken_up: TakenUp = NOTHING_TAKEN
) -> list[str]:
    """One sentence for each load that the truss was designed for, or for `those` of them. What a carried truss puts on
    several places alike, by the record of what is taken up, is told once."""
    hung = {id(truss.point_loads[i]): taken for i, taken in taken_up.found(truss.document)}
    said: dict[Any, tuple[str, list[str], str]] = {}
    for i, load in enumerate(truss.loads if those is None else those):
        taken = hung.get(id(load))
        if taken is None or not isinstance(load, PointLoad):
            said[i] = _load(truss, load), [], ""
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
    many = f"{len(along)} places, {', '.join(along)}" if len(along) > 1 else along[0]
    return f" {many} from the left end"


def _name(load: AreaLoad | LineLoad | PointLoad) -> str:
    case = BOTTOM_LIVE if load.case == STORAGE and load.alone else load.case.replace("_", " ").capitalize()
    return f"{case}, {load.pattern}" if load.pattern else case


def _alone(load: AreaLoad | LineLoad | PointLoad) -> str:
    return ", never together with other live loads" if load.alone else ""


def _load(truss: Truss, load: AreaLoad | LineLoad | PointLoad) -> str:
    name, alone = _name(load), _alone(load)
    if isinstance(load, AreaLoad):
        where = f"on the {ROLE[load.chord]}, {ALONG[load.along]}{_window(truss, load)}"
        return f"{name}: {much(load.psf, 'psf')} {where}{alone}"
    if isinstance(load, LineLoad):
        end = feet_inches(truss.length(truss.member(load.member)) if load.to_in is None else load.to_in)
        member = _called(truss, load.member)
        return f"{name}: {much(load.plf, 'plf')} on {member}, from {feet_inches(load.from_in)} to {end} along it{alone}"
    if joint := truss.joint_under(load):
        where = f"at joint {joint}"
    else:
        where = f"on {_called(truss, load.member)}, {feet_inches(load.at_in or 0)} along it"
    sideways = f" and {much(load.right_lb, 'lb')} to the right" if load.right_lb else ""
    note = f" ({load.note})" if load.note else ""
    way = "down" if load.down_lb >= 0 else "up"
    return f"{name}: {much(abs(load.down_lb), 'lb')} {way}{sideways} {where}{note}{alone}"


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


def sealed(seal: Seal) -> str:
    """By whom and when a drawing was sealed, reviewed, accepted, and what counts where it and a sheet differ."""
    drawing = seal.drawing
    state = "" if drawing.state == NO_STATE else f", {drawing.state}"
    said = [f"Sealed by {drawing.sealed_by}, license {drawing.licence}{state}, on {_day(drawing.sealed_on)}"]
    said += [
        f"{record.kind} by {record.name} on {_day(record.on)}"
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
    for web, rows in sorted(held.webs.items()):
        if rows:
            where = "at mid-length" if rows == 1 else f"evenly spaced, {rows + 1} equal parts"
            said.append(f"Web {web}: {rows} row{'s' if rows > 1 else ''} of lateral restraint, {where}.")
    return [line for line in said if line]


def _chord(truss: Truss, role: Any, spacing: float | None) -> str:
    if not any(member.role == role for member in truss.members):
        return ""
    name = ROLE[role].capitalize()
    if spacing is None:
        return f"{name}: held sideways at its ends only; nothing between them is counted on."
    if spacing == 0:
        return f"{name}: held sideways along its whole length, as by sheathing or ceiling board fastened to it."
    return f"{name}: held sideways at {feet_inches(spacing)} on center or closer."


def changes(compared: dict[str, Any], before: dict[str, Any], after: dict[str, Any]) -> list[str]:
    """What differs between two revisions, from `compare` and the two truss documents."""
    called = panel_names(before) | panel_names(after)
    said = [line for member in compared["members"] if (line := _member_change(member, called[member["id"]]))]
    said += _openings(before, after)
    plies = [document.get("plies", 1) for document in (before, after)]
    if plies[0] != plies[1]:
        said.append(f"Plies: {plies[1]}, were {plies[0]}.")
    for reaction in compared["reactions"]:
        was, now = reaction["down_lb"]
        if was is not None and now is not None and abs(now - was) >= 1:
            said.append(f"Bearing {reaction['joint']}: {now:,.0f} lb down, was {was:,.0f} lb.")
    if before.get("lateral_restraint") != after.get("lateral_restraint"):
        said.append("The lateral restraint to install is different; see the list on this sheet.")
    if before.get("loads") != after.get("loads"):
        said.append("The loads that it is designed for are different; see the list on this sheet.")
    return said


def _member_change(member: dict[str, Any], called: str) -> str:
    name = f"{ROLE[member['role']].capitalize()} {called}"
    was, now = member["lumber"]
    long = f"{feet_inches(member['length_in'][1])} between joints" if member["length_in"][1] is not None else ""
    return {
        "added": f"{name} is new: {now}, {long}.",
        "removed": f"{name} is gone.",
        "moved": f"{name} has moved: {long} now.",
        "resized": f"{name} is {now} now, was {was}.",
    }.get(member["change"], "")


def _openings(before: dict[str, Any], after: dict[str, Any]) -> list[str]:
    was, now = ({o["id"]: o for o in document.get("openings", ())} for document in (before, after))
    said = [f"Opening {name} is new: {opening(now[name])}." for name in now if name not in was]
    said += [f"Opening {name} is gone." for name in was if name not in now]
    said += [
        f"Opening {name} is different: {opening(now[name])}." for name in now if was.get(name, now[name]) != now[name]
    ]
    return said


def opening(asked: dict[str, Any]) -> str:
    """An opening as a truss document writes it, in words."""
    if asked["shape"] == "circle":
        size = f"{tape_inches(asked['diameter_in'])} round"
    else:
        size = f"{tape_inches(asked['width_in'])} wide and {tape_inches(asked['height_in'])} high"
    clear = asked.get("clearance_in", 0)
    return f"{size}{f', with {tape_inches(clear)} clear all round' if clear else ''}"
