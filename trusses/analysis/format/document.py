"""Truss document JSON to records: every refusal in plain words that name the place.

The format is `chordchange.truss` version 1. Inches, pounds, psf and plf as the document writes them.
"""

from __future__ import annotations

from typing import Any

from trusses.analysis.format.document_loads import read_loads
from trusses.analysis.format.fields import Fields
from trusses.analysis.format.model import Truss
from trusses.analysis.format.parts import (
    check_joints,
    lengths_of,
    read_bearings,
    read_hinges,
    read_joints,
    read_members,
    read_opening,
    read_openings,
    read_restraint,
    read_service,
    read_share,
)
from trusses.analysis.format.quick import learn, quick
from trusses.analysis.format.shared_wood import clashes, refused
from trusses.analysis.format.strict import (
    LIMITS,
    DocumentError,
    Limits,
    canonical,
    parse,
    plain,
    sha256,
)
from trusses.analysis.words.given import brief

__all__ = [
    "FORMAT",
    "LIMITS",
    "VERSION",
    "DocumentError",
    "Limits",
    "canonical",
    "parse",
    "read",
    "read_opening",
    "read_stored",
    "sha256",
]

FORMAT = "chordchange.truss"
VERSION = 1
_REQUIRED = ("format", "version", "mark", "joints", "members", "bearings", "spacing_in")
_OPTIONAL = (
    "title",
    "use",
    "ceiling",
    "plies",
    "ply_fastening",
    "carries_trusses",
    "hinges",
    "loads",
    "uplift_dead_share",
    "service",
    "openings",
    "lateral_restraint",
)


def read(source: dict[str, Any] | str | bytes, limits: Limits = LIMITS) -> Truss:
    """The truss that a document describes. Raises DocumentError. The given dict is copied, never kept or changed."""
    truss = _read(source, limits)
    for clash in clashes(truss.members, truss.names, truss.xy):
        raise refused(clash, truss)
    return truss


def read_stored(document: dict[str, Any] | str) -> Truss:
    """The truss of a document that was accepted and stored once, to show it and to compute it as it stands.

    Rules that came later don't take a revision away: members in one place and dead load that has patterns or acts alone
    are read, and the findings tell of them. What is to be stored anew is read by `read`. Raises DocumentError.
    """
    return _read(document, LIMITS, stored=True)


def _read(source: dict[str, Any] | str | bytes, limits: Limits, stored: bool = False) -> Truss:
    if limits is not LIMITS:
        return read_closely(source, limits, stored)
    truss = quick(source, stored)
    if truss is None:
        truss = read_closely(source, limits, stored)
        learn(truss, source)
    return truss


def read_closely(source: dict[str, Any] | str | bytes, limits: Limits = LIMITS, stored: bool = False) -> Truss:
    """The truss of a document, each value looked at in its place; members may still be in one place."""
    document = parse(source, limits) if isinstance(source, (str, bytes)) else _checked(source, limits)
    top = Fields(document, "", _REQUIRED, _OPTIONAL, limits)
    top.choice("format", (FORMAT,))
    top.whole("version", VERSION, VERSION)
    joints = read_joints(top)
    members = read_members(top, {joint.name: joint for joint in joints})
    check_joints(joints, members, limits.apart_in)
    names = {joint.name for joint in joints}
    lengths = lengths_of(joints, members)
    area, line, points = read_loads(document.get("loads", {}), members, lengths, names, limits, stored)
    return Truss(
        mark=top.name("mark"),
        title=top.text("title", ""),
        use=top.choice("use", ("roof", "floor"), "roof"),
        ceiling=top.choice("ceiling", ("none", "gypsum", "plaster"), "gypsum"),
        plies=top.whole("plies", 1, limits.plies, 1),
        spacing_in=top.length("spacing_in", zero=False),
        joints=joints,
        members=members,
        hinges=read_hinges(top, names),
        bearings=read_bearings(top, names, members),
        area_loads=area,
        line_loads=line,
        point_loads=points,
        openings=read_openings(top),
        lateral_restraint=read_restraint(document.get("lateral_restraint", {}), members, limits),
        uplift_dead_share=read_share(top),
        ply_fastening=top.text("ply_fastening") if top.has("ply_fastening") else None,
        service=read_service(document.get("service", {}), limits),
        carries_trusses=top.flag("carries_trusses", False),
        write=lambda: document,
    )


def _checked(source: Any, limits: Limits) -> dict[str, Any]:
    if not isinstance(source, dict):
        raise DocumentError("document-no-object", given=brief(source))
    for key, most in (("joints", limits.joints), ("members", limits.members)):
        held = source.get(key)
        # counted before the copy, so that a million joints cost nothing
        if isinstance(held, (dict, list)) and len(held) > most:
            raise DocumentError("too-many", key, key=key, count=len(held), most=most)
    return plain(source)
