"""An analysis as plain text for a designer: what it rests on, what it says, and what it doesn't say."""

from __future__ import annotations

import math
import textwrap
from collections.abc import Mapping
from typing import Any

from trusses.analysis.analysis import Analysis
from trusses.analysis.checks.check import Check
from trusses.analysis.format.model import AreaLoad, LineLoad, PointLoad, Truss
from trusses.analysis.piece_names import checked, panel_names
from trusses.analysis.requirements.supports import at_most
from trusses.analysis.verdict import FAILS, never_automatic, verdict
from trusses.analysis.words import checks
from trusses.analysis.words import verdict as words
from trusses.analysis.words.lengths import feet_inches, tape_inches
from trusses.analysis.words.phrases import much
from trusses.sheets.cautions import STANDING_NOTICE, cautions
from trusses.sheets.plain_text import WIDTH, bullets, section, table, whole
from trusses.sheets.report_facts import fact_sections

_ALONG = {"plan": "per foot in plan", "slope": "per foot of slope", "normal": "square to the member"}
_HOLDS = {"xy": "both ways", "x": "sideways", "y": "up and down"}


def report(analysis: Analysis) -> str:
    """The report as text of at most about WIDTH columns where names allow it, ending in a newline."""
    document = analysis.document()
    parts = [
        _head(analysis, document),
        _answers(analysis),
        section("Loads as the document gives them", _loads(analysis.truss)),
        section("Reactions at bearings", _reactions(analysis.truss, document)),
        section("Members", _members(analysis.truss, document)),
        section("Deflection", _deflection(document)),
        section("Bearing on the chord", _bearings(document)),
        *fact_sections(analysis.truss, document),
        section("Checks that fail", _failures(analysis.truss, document)),
        section("Openings", _openings(analysis)),
        section("Look at these", bullets(f["says"] for f in document["findings"])),
        section("Not checked here", bullets(document["not_checked"])),
        section("Combinations", _combinations(document)),
        section("Before anyone builds or cuts", _cautions(analysis.truss)),
    ]
    return "\n\n".join(part for part in parts if part) + "\n"


def _head(analysis: Analysis, document: dict[str, Any]) -> str:
    truss = analysis.truss
    plies = "1 ply" if truss.plies == 1 else f"{truss.plies} plies"
    ceiling = {"none": "no ceiling", "gypsum": "gypsum ceiling", "plaster": "plaster ceiling"}[truss.ceiling]
    spacing = f"{tape_inches(truss.spacing_in)} on center"
    span = f"{feet_inches(truss.span_in)} between outer bearings"
    lines = [
        f"{truss.mark}  {truss.title}".rstrip(),
        f"{truss.use.capitalize()} truss, {span}, {plies}, {spacing}, {ceiling}",
        f"Document {document['truss_sha256']}",
        f"Computed by {document['engine']}",
    ]
    return "\n".join([*lines, "=" * WIDTH])


def _answers(analysis: Analysis) -> str:
    found = verdict(analysis.truss, analysis)
    worst = max(analysis.checks, key=lambda check: check.ratio, default=None)
    where = f"worst ratio {_ratio(worst.ratio)}: {_what(analysis.truss, worst)}" if worst else "no check applies"
    lumber = words.state(found.lumber)
    rows = [
        ("Lumber", f"{lumber.upper() if found.lumber.state == FAILS else lumber}; {where}"),
        ("Plates", "not checked"),
        ("Restraint", "not checked: the numbers hold only with the lateral restraint that the document states"),
        ("Seal", "missing: this is a computation, not a sealed drawing; do not build from it"),
    ]
    if analysis.openings:
        blocked = [opening.id for opening in analysis.openings if not opening.fits]
        rows.append(("Openings", f"NOT CLEAR: {', '.join(blocked)}" if blocked else "clear"))
    kinds = tuple(never_automatic(analysis.truss))
    return "\n\n".join(filter(None, [table(("", ""), rows), bullets(words.reason(kind) for kind in kinds)]))


def _what(truss: Truss, check: Check) -> str:
    rule = checks.rule(checks.short(check))
    return f"{checked(truss.document, check.of, check.id)}, {rule}, {check.combination}"


def _ratio(ratio: float) -> str:
    # rounded to 1.00, a ratio of 1.002 would read as one that passes
    return f"{ratio:.2f}" if round(ratio, 2) != 1 or ratio == 1 else f"{ratio:.4f}"


def _loads(truss: Truss) -> str:
    area = [
        f"{much(load.psf, 'psf')} on the {load.chord.replace('_', ' ')}, {_ALONG[load.along]}{_window(load)}"
        for load in truss.area_loads
    ]
    called = panel_names(truss.document)
    line = [f"{much(load.plf, 'plf')} on {called[load.member]}{_stretch(load)}" for load in truss.line_loads]
    point = [_point(truss, load, called) for load in truss.point_loads]
    says = zip(truss.loads, (*area, *line, *point), strict=True)
    return bullets(f"{_case(load)}: {text}" for load, text in says)


def _case(load: AreaLoad | LineLoad | PointLoad) -> str:
    case = load.case.replace("_", " ") + (f"/{load.pattern}" if load.pattern else "")
    return f"{case}, acting alone" if load.alone else case


def _window(load: AreaLoad) -> str:
    ends = [(load.from_x_in, "from x"), (load.to_x_in, "to x")]
    given = [f"{word} {feet_inches(x)}" for x, word in ends if math.isfinite(x)]
    return f", {' '.join(given)}" if given else ""


def _stretch(load: LineLoad) -> str:
    if load.to_in is None and not load.from_in:
        return ""
    end = feet_inches(load.to_in) if load.to_in is not None else "its end"
    return f", {feet_inches(load.from_in)} to {end} from its first joint"


def _point(truss: Truss, load: PointLoad, called: Mapping[str, str]) -> str:
    right = f" and {load.right_lb:,g} lb to the right" if load.right_lb else ""
    joint = truss.joint_under(load)
    on = f"on {called.get(load.member or '', '')}, {feet_inches(load.at_in or 0.0)} along it"
    at = f"at joint {joint}" if joint else on
    return f"{load.down_lb:,g} lb down{right} {at}" + (f" ({load.note})" if load.note else "")


def _reactions(truss: Truss, document: dict[str, Any]) -> str:
    rows, most = [], at_most(document)
    for bearing in truss.bearings:
        of = most[bearing.joint]
        rows.append(
            (
                bearing.joint,
                tape_inches(bearing.width_in),
                _HOLDS[bearing.restrains],
                whole(of["down_lb"]),
                of["down_by"] or "-",
                whole(of["uplift_lb"]),
                of["uplift_says"] or "-",
            )
        )
    return table(("joint", "width", "holds", ">down lb", "under", ">uplift lb", "under"), rows)


def _worst(document: dict[str, Any], of: str) -> dict[str, dict[str, Any]]:
    worst: dict[str, dict[str, Any]] = {}
    for check in document["checks"]:
        if check["of"] == of and (check["id"] not in worst or check["ratio"] > worst[check["id"]]["ratio"]):
            worst[check["id"]] = check
    return worst


def _members(truss: Truss, document: dict[str, Any]) -> str:
    worst = _worst(document, "member")
    called = panel_names(truss.document)
    rows = []
    for member in truss.members:
        forces = document["envelope"]["members"][member.id]
        check = worst.get(member.id)
        rows.append(
            (
                called[member.id],
                member.role.replace("_", " "),
                member.lumber + (" flat" if member.flat else ""),
                feet_inches(truss.length(member)),
                whole(forces["tension_lb"]),
                whole(forces["compression_lb"]),
                _ratio(check["ratio"]) + ("" if check["passes"] else " FAILS") if check else "-",
                checks.rule(check) if check else "-",
                check["combination"] if check else "-",
            )
        )
    head = ("member", "role", "lumber", ">length", ">tension lb", ">compr. lb", "ratio", "governed by", "under")
    return table(head, rows)


def _deflection(document: dict[str, Any]) -> str:
    rows = [
        (
            check["rule"],
            f"{check['demand']:.3f}",
            f"{check['capacity']:.3f}",
            _ratio(check["ratio"]) + ("" if check["passes"] else " FAILS"),
            check["combination"],
        )
        for check in document["checks"]
        if check["of"] == "truss"
    ]
    return table(("", ">in.", ">limit in.", "ratio", "under"), rows)


def _bearings(document: dict[str, Any]) -> str:
    rows = [
        (
            check["id"],
            f"{check['demand']:,.0f}",
            f"{check['capacity']:,.0f}",
            _ratio(check["ratio"]) + ("" if check["passes"] else " FAILS"),
            check["combination"],
        )
        for check in document["checks"]
        if check["of"] == "bearing"
    ]
    return table(("joint", ">pressure psi", ">allowed psi", "ratio", "under"), rows)


def _failures(truss: Truss, document: dict[str, Any]) -> str:
    failing = sorted((c for c in document["checks"] if not c["passes"]), key=lambda check: -check["ratio"])
    return table(
        ("of", "rule", "source", "ratio", "under", "at"),
        [
            (
                checked(truss.document, check["of"], check["id"]),
                checks.rule(check),
                check["source"],
                _ratio(check["ratio"]),
                check["combination"],
                feet_inches(check["at_in"]) if check["at_in"] is not None else "-",
            )
            for check in failing
        ],
    )


def _openings(analysis: Analysis) -> str:
    return bullets(f"{fit.id}: {fit.says}" for fit in analysis.openings)


def _combinations(document: dict[str, Any]) -> str:
    names = [f"{name} (CD {of['load_duration']:g})" for name, of in document["combinations"].items()]
    return textwrap.fill("; ".join(names), WIDTH)


def _cautions(truss: Truss) -> str:
    return bullets([STANDING_NOTICE, *(f"{c.says} ({c.source})" for c in cautions(truss.span_in))])
