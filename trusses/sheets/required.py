"""The list of what a truss design drawing must contain, and where a sheet has it.

IRC R802.10.1, and R502.11.4 with the same list, as state regulations reproduce it: twelve items. The sheet of a
revision is no truss design drawing; this tells what of one it holds, and names what it doesn't.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from trusses.analysis.checks.member_properties import fastened
from trusses.analysis.format.model import CHORDS, AreaLoad, LineLoad, PointLoad
from trusses.analysis.format.model import Truss as Design
from trusses.analysis.load_path.taken_up import TakenUp
from trusses.analysis.lumber import ORDINARY_F
from trusses.analysis.words.lengths import feet_inches, tape_inches
from trusses.analysis.words.phrases import much
from trusses.models import Revision
from trusses.sheets import words
from trusses.sheets.sheet_facts import Deflection, Facts

HERE, PARTLY, MISSING = "here", "partly", "missing"
_SAID_THERE = {
    "loads": "Loads it is designed for",
    "lumber": "Lumber",
    "movement": "How far it moves",
    "restraint": "Restraint, and what each row holds",
    "supports": "What it puts on what is below",
}
_PITCHED = 0.25  # in 12: less is drainage, not a pitch
_STEEPEST = 60.0


@dataclass(frozen=True)
class Item:
    """One item of the list: what it asks for, what the sheet says to it, what is missing, and the section's id."""

    number: int
    asks: str
    says: tuple[str, ...]
    lacks: tuple[str, ...]
    section: str

    @property
    def state(self) -> str:
        if not self.lacks:
            return HERE
        return PARTLY if self.says else MISSING

    @property
    def tone(self) -> str:
        return {HERE: "good", PARTLY: "look", MISSING: "stop"}[self.state]

    @property
    def stands_under(self) -> str:
        """The heading under which all of it stands on the sheet already, so that paper needn't say it twice."""
        return _SAID_THERE.get(self.section, "") if self.says else ""

    @property
    def content(self) -> str:
        """All of it in one text; what lacks begins with `missing: `."""
        return " ".join([*self.says, *(f"missing: {lack}" for lack in self.lacks)])


def required(revision: Revision, design: Design, facts: Facts, *, alone: bool = False) -> tuple[Item, ...]:
    """The twelve items in the list's order, each with its content or what is missing. `alone`: it is one truss, which
    has no spacing to others of its mark."""
    return (
        _shape(design, alone=alone),
        Item(2, "Location of all joints", (f"All {len(design.joints)} are listed with their places.",), (), "places"),
        _bearings(facts),
        _loads(design, TakenUp.read(revision.taken_up)),
        _adjustments(revision, design),
        _reactions(facts),
        _connectors(facts),
        _lumber(design),
        _connections(design, facts),
        _deflection(facts),
        _compression(facts),
        _bracing(design, facts),
    )


def besides(design: Design, facts: Facts) -> tuple[Item, ...]:
    """What the building code's list has on top of the residential code's, in the same form."""
    stands = [f"{one.joint} at {feet_inches(along)}" for one, along in facts.bearings_along]
    return (
        Item(1, "Number of plies", (f"{design.plies}.",), (), "elevation"),
        Item(2, "Support locations", (f"From the left bearing: {', '.join(stands)}.",), (), "places"),
        _tension(facts),
        _uplift(facts),
        Item(5, "Environmental design criteria, with wind speed and exposure", (), (_NO_SITE,), "loads"),
        Item(6, "Lateral and drag loads", (), ("loads along the building: no part of this computation.",), "loads"),
    )


_NO_SITE = "the site's wind speed, exposure and seismic category: a truss document holds the loads that came of them."


def _tension(facts: Facts) -> Item:
    worst = max(facts.forces, key=lambda member: member["tension_lb"])
    if not worst["tension_by"]:
        says = "No member is in tension under any combination."
    else:
        says = f"Listed for every member; the largest is {worst['tension_lb']:,.0f} lb in {worst['called']}."
    return Item(3, "Largest tension in the members", (says,), (), "forces")


def _uplift(facts: Facts) -> Item:
    worst = max(facts.supports, key=lambda one: one.uplift.lb)
    says = f"{worst.uplift.lb:,.0f} lb at {worst.joint} ({worst.uplift.told})." if worst.uplift.by else "None."
    lacks = () if facts.has_wind else ("uplift by wind: the document has no wind load.",)
    return Item(4, "Largest uplift reaction", (says,), lacks, "supports")


def _shape(design: Design, *, alone: bool) -> Item:
    slopes = {role: _slopes(design, role) for role in ("top_chord", "bottom_chord")}
    says = [f"{words.ROLE[role].capitalize()} {' and '.join(found)} in 12." for role, found in slopes.items() if found]
    ys = [joint.y for joint in design.joints]
    says.append(f"{feet_inches(max(ys) - min(ys))} high between the outermost joints.")
    wide = feet_inches(design.spacing_in)
    apart = f"; one truss, its area loads taken over a width of {wide}" if alone else f", {wide} on center"
    says.append(f"Span {feet_inches(design.span_in)} between bearing joints{apart}.")
    return Item(1, "Slope or depth, span and spacing", tuple(says), (), "elevation")


def _slopes(design: Design, role: str) -> list[str]:
    found: dict[str, None] = {}
    for member in design.members:
        a, b = design.ends(member)
        if member.role == role and abs(b.x - a.x) > 1e-6:
            rise = abs(12 * (b.y - a.y) / (b.x - a.x))
            if _PITCHED < rise < _STEEPEST:
                found[f"{rise:.2f}".rstrip("0").rstrip(".")] = None
    return list(found)


def _bearings(facts: Facts) -> Item:
    pressed = [one for one in facts.supports if one.required_width_in is not None]
    says = tuple(
        f"{one.joint}: {tape_inches(one.required_width_in or 0)} needed{f' by the {one.governs}' if one.plate else ''},"
        f" {tape_inches(one.width_in)} given."
        for one in pressed
    )
    lacks = [f"more bearing at {one.joint}: less is given than is needed." for one in pressed if not one.wide_enough]
    if unsaid := [one.joint for one in pressed if one.plate is None]:
        lacks.append(f"what the wall plate below needs at {', '.join(unsaid)}: its lumber isn't said.")
    if not pressed:
        lacks = ["any width: no load presses on a bearing."]
    return Item(3, "Required bearing widths", says, tuple(lacks), "supports")


def _loads(design: Design, taken_up: TakenUp) -> Item:
    on = {role: [load for load in design.area_loads if load.chord == role and load.case != "wind"] for role in CHORDS}
    groups = {
        "top chord live load, snow included": _areas(on["top_chord"], dead=False),
        "top chord dead load": _areas(on["top_chord"], dead=True),
        "bottom chord live load": _areas(on["bottom_chord"], dead=False),
        "bottom chord dead load": _areas(on["bottom_chord"], dead=True),
        "wind": _alike([load for load in design.area_loads if load.case == "wind"]),
    }
    says = [f"{what[0].upper()}{what[1:]}: {'; '.join(found)}." for what, found in groups.items() if found]
    one_by_one: list[LineLoad | PointLoad] = [*design.line_loads, *design.point_loads]
    says += [f"{told}." for told in words.loads(design, one_by_one, taken_up)]
    says += [] if one_by_one else ["No concentrated load."]
    lacks = [f"{what}: the document states none." for what, found in groups.items() if not found]
    lacks.append("earthquake loads: no part of this computation.")
    return Item(4, "Design loads, with concentrated, wind and earthquake loads", tuple(says), tuple(lacks), "loads")


def _areas(loads: Sequence[AreaLoad], *, dead: bool) -> list[str]:
    return _alike([load for load in loads if (load.case == "dead") == dead])


def _alike(loads: Sequence[AreaLoad]) -> list[str]:
    """Loads that differ only in their arrangement, told once: snow 25 psf (balanced, left, right)."""
    found: dict[tuple[str, float, str], list[str]] = {}
    for load in loads:
        case = words.BOTTOM_LIVE.lower() if load.alone and load.case == words.STORAGE else load.case
        patterns = found.setdefault((case, load.psf, words.ALONG[load.along]), [])
        patterns += [load.pattern] if load.pattern and load.pattern not in patterns else []
    return [
        f"{case.replace('_', ' ')} {much(psf, 'psf')} {along}" + (f" ({', '.join(patterns)})" if patterns else "")
        for (case, psf, along), patterns in found.items()
    ]


def _service(design: Design) -> str:
    service = design.service
    terms = [
        "wet service CM" if service.wet else "",
        f"a temperature of {service.temperature_f:g} °F Ct" if service.temperature_f > ORDINARY_F else "",
        "incising Ci" if service.incised else "",
    ]
    if not any(terms):
        return f"Dry service up to {ORDINARY_F:g} °F is taken: no other adjustment."
    return f"Of service: {', '.join(filter(None, terms))}, in the terms of each check."


def _adjustments(revision: Revision, design: Design) -> Item:
    combined = revision.analysis["combinations"].values()
    durations = sorted({row["load_duration"] for row in combined})
    says = [f"Load duration CD {' to '.join(f'{cd:g}' for cd in dict.fromkeys((durations[0], durations[-1])))}."]
    for name, what in (
        ("Cr", "repetitive use Cr"),
        ("CF", "size CF"),
        ("Cfu", "flat use Cfu"),
        ("CT", "sheathed chords CT"),
    ):
        found = sorted({check["terms"][name] for check in revision.analysis["checks"] if name in check["terms"]})
        if any(value != 1 for value in found):
            says.append(
                f"{what[0].upper()}{what[1:]} {' to '.join(f'{v:g}' for v in dict.fromkeys((found[0], found[-1])))}."
            )
    says.append(_service(design))
    lacks = ("adjustments to the values of plates: none are used.",)
    return Item(5, "Adjustments to lumber and connector values for conditions of use", tuple(says), lacks, "unchecked")


def _reactions(facts: Facts) -> Item:
    says = []
    for one in facts.supports:
        forces = [(one.down, "down"), (one.uplift, "up"), (one.sideways, "sideways")]
        told = [f"{force.lb:,.0f} lb {way}" for force, way in forces if force.by]
        says.append(f"{one.joint}: {', '.join(told) or 'nothing'}.")
    return Item(6, "Each reaction and its direction", tuple(says), (), "supports")


def _connectors(facts: Facts) -> Item:
    lacks = ("type, size, gage and place of the plates: none are chosen here, and none are checked.",)
    says = (f"What the plates of {len(facts.joint_needs)} joints must carry is listed.",) if facts.joint_needs else ()
    return Item(7, "Joint connectors: type, size, gage and place", says, lacks, "joints")


def _lumber(design: Design) -> Item:
    kinds = dict.fromkeys(member.lumber for member in design.members)
    says = f"Size, species and grade of all {len(design.members)} members are listed: {', '.join(kinds)}."
    return Item(8, "Lumber of each member", (says,), (), "lumber")


def _connections(design: Design, facts: Facts) -> Item:
    says, lacks = [], ["connections of the truss to what carries it, and of what it carries: none are designed here."]
    if design.plies == 1:
        says.append("One ply: no plies to fasten.")
    elif fastened(design):
        says.append(f"Ply to ply, as the document states it, not checked: {design.ply_fastening}.")
    else:
        stated = (
            f" (“{design.ply_fastening}” tells no nailing or bolting of 2 to 5 plies)" if design.ply_fastening else ""
        )
        lacks.append(f"how the {design.plies} plies are fastened to each other{stated}.")
    if facts.splices:
        where = ", ".join(splice.joint for splice in facts.splices)
        says.append(f"Chords are spliced at {where}; the forces that cross are listed.")
        lacks.append("the splices themselves, and whether any is made in the field.")
    else:
        says.append("No chord is spliced between bends.")
    asks = "Connections: truss to girder, ply to ply, field splices"
    return Item(9, asks, tuple(says), tuple(lacks), "joints")


def _deflection(facts: Facts) -> Item:
    says = tuple(
        f"{one.rule.capitalize()} {one.inches:.2f} in.: {one.share}; L is {_length(one)} ({one.by})."
        if one.span_over
        else f"{one.rule.capitalize()} {one.inches:.2f} in."
        for one in facts.deflections
    )
    told = {one.rule.split()[0] for one in facts.deflections}
    lacks = tuple(
        f"{which} deflection: nothing computed asks for it." for which in ("live", "total") if which not in told
    )
    return Item(10, "Deflection, live and total", says, lacks, "movement")


def _length(one: Deflection) -> str:
    return "twice the overhang" if one.overhang else "the span"


def _compression(facts: Facts) -> Item:
    worst = max(facts.forces, key=lambda member: member["compression_lb"])
    if not worst["compression_by"]:
        says = "No member is in compression under any combination."
    else:
        says = f"Listed for every member; the largest is {worst['compression_lb']:,.0f} lb in {worst['called']}."
    return Item(11, "Largest compression in the members, for their bracing", (says,), (), "forces")


def _bracing(design: Design, facts: Facts) -> Item:
    held = design.lateral_restraint
    named = held.top_chord_in is not None or held.bottom_chord_in is not None or any(held.webs.values())
    says = tuple(words.restraints(design)) if named else ()
    lacks = [
        f"rows of restraint on {row.web}: it needs {'more than can be told' if row.needed is None else row.needed},"
        f" {row.stated} stated."
        for row in facts.webs
        if row.needed is None or row.needed > row.stated
    ]
    lacks += [] if named else ["any lateral restraint: the truss document names none."]
    lacks.append("the diagonal bracing that holds the rows, and how it is fastened.")
    return Item(12, "Where permanent bracing is required", says, tuple(lacks), "restraint")
