"""The cautions that stand on every sheet, each with where it is published. What was not found published is not here."""

from __future__ import annotations

from dataclasses import dataclass

from trusses.analysis.verdict import LONG_SPAN_IN

STANDING_NOTICE = (
    "Nothing here authorizes cutting. Never cut, drill, notch or load a truss except where its own current sealed "
    "drawing, on site, shows just that."
)
"""It stands below a yes as well: a drawing that has come must not read as leave to cut."""


@dataclass(frozen=True)
class Caution:
    """One sentence or two for whoever builds, and the publication that it is taken from."""

    says: str
    source: str


NO_ALTERATION = Caution(
    "Trusses are engineered products. Truss members and components shall not be cut, notched, spliced or otherwise "
    "altered in any way without the approval of a registered design professional. Nothing may be added that weighs on "
    "a truss, such as HVAC equipment or a water heater, beyond its design load without verification that the truss can "
    "carry it.",
    "IRC R502.11.3 (2012)",
)
NO_HOLES = Caution(
    "Cuts, notches and holes bored in trusses are prohibited except where a registered design professional has "
    "considered their effect in the design of the member.",
    "IRC R502.8.2 and R802.7.2",
)
DAMAGE = Caution(
    "Damage, jobsite modifications or improper installation will reduce the strength of a truss. Report it at once, "
    "brace or shore to prevent further damage, and do not attempt a repair without a repair drawing. A drilled hole, a "
    "cut web and a removed plate are damage.",
    "BCSI-B5 summary sheet",
)
NO_STACKING = Caution(
    "Do not set equipment or stack materials on trusses until the assembly is properly restrained and braced.",
    "BCSI-B4 summary sheet",
)
BRACING = Caution(
    "Continuous lateral restraint works only together with diagonal bracing. Look for broken members and missing "
    "bracing before loading.",
    "Trade magazine on BCSI-B3 and B10, August 2022",
)
SETTING = Caution(
    "Trusses are unstable until they are restrained and braced, and weak when pulled sideways. A single truss is no "
    "anchor for fall arrest; use fall protection at 6 ft or more.",
    "OSHA fact sheet on reducing falls while installing roof trusses",
)
FIRST_TRUSS = Caution(
    "When one truss leans on the next, all can fall in a row: brace the first truss to the ground.",
    "Trade journal, on creating a safety program for framing",
)
LIFTING = Caution(
    "Do not lift by the banding, do not bend trusses sideways, do not store more on them than they were designed for.",
    "California state safety guidance on wood truss construction",
)
LONG_SPAN = Caution(
    "This truss spans 60 ft or more: its temporary and its permanent bracing are designed by a registered design "
    "professional.",
    "IBC 2303.4.1.3",
)
LOCAL_CODE = Caution(
    "Local code governs. Chord Change computes; it doesn't seal, and this sheet is no approval.",
    "Chord Change, the standing terms of every sheet",
)

WHEN_SETTING = (SETTING, FIRST_TRUSS, BRACING, LIFTING)
"""What whoever sets trusses needs before all else, on the first page of a sheet."""
ON_EVERY_SHEET = (NO_ALTERATION, NO_HOLES, DAMAGE, SETTING, FIRST_TRUSS, BRACING, NO_STACKING, LIFTING, LOCAL_CODE)


def when_setting(span_in: float) -> tuple[Caution, ...]:
    """Those of a sheet's first page, for a truss of that span (inches)."""
    return (LONG_SPAN, *WHEN_SETTING) if span_in >= LONG_SPAN_IN else WHEN_SETTING


def cautions(span_in: float) -> tuple[Caution, ...]:
    """The cautions of a sheet, for a truss of that span (inches)."""
    return (LONG_SPAN, *ON_EVERY_SHEET) if span_in >= LONG_SPAN_IN else ON_EVERY_SHEET
