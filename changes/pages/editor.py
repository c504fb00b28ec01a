"""A designer's edit of an option: what the form shows of a truss document, and the document that comes back.

The form never holds the whole document, only what may be edited: joint positions, lumber, webs in and out, plies,
lateral restraint. Everything else (loads, bearings, openings) is carried over from the option that it departs from.
"""

from __future__ import annotations

import copy
import re
from collections.abc import Mapping
from dataclasses import dataclass, field

from trusses.analysis.format.document import DocumentError, read
from trusses.analysis.format.lengths import UnitsError, parse_length
from trusses.analysis.lumber import LUMBER
from trusses.analysis.piece_names import panel_names
from trusses.analysis.words.lengths import feet_inches, tape_inches
from trusses.analysis.words.phrases import listed
from trusses.forms import number_of

NEW_WEBS = 3
"""Rows for webs that are not there yet."""

WAYS = {"x": "along", "y": "up"}

FARTHEST_IN = 120.0
"""How far past the option's own outermost joints one can be moved. Our own bound: farther is a slip of the keys."""


WHOLE = "document"
"""Where a refusal of the edited document as a whole stands among those of fields."""


@dataclass(frozen=True)
class Trouble:
    """A sentence, and the names of the fields that it is about; none where it is about nothing that was typed."""

    says: str
    fields: list[str]


@dataclass
class Edit:
    """The edited document, or what is wrong with the form: one sentence for each field."""

    document: dict
    called: Mapping[str, str] = field(default_factory=dict)
    """What the drawing of the option calls each member."""
    errors: dict[str, str] = field(default_factory=dict)
    changed: list[str] = field(default_factory=list)
    typed: dict[str, str] = field(default_factory=dict)
    """Each field that was typed over, and the joint or member that it is of; of the whole truss empty."""
    about: list[str] = field(default_factory=list)
    """The fields that a refusal of the whole document is about."""

    @property
    def troubles(self) -> list[Trouble]:
        return [Trouble(says, self.about if name == WHOLE else [name]) for name, says in self.errors.items()]

    def refuse(self, error: DocumentError) -> None:
        """Tells what is wrong with the whole, by the names of the drawing, and which of the fields that were typed over
        that is about: those of the piece or joint at its place, else all of them."""
        piece = re.match(r"members\[(\d+)\]", error.place)
        named = re.match(r"joints\.([^.\[]+)", error.place)
        own: set[str] = {named[1]} if named else set()
        says = str(error)
        if piece:
            member = self.document["members"][int(piece[1])]
            own = {member["id"], *member["joints"]}
            says = f"{self.called.get(member['id'], member['id'])}: {error.says}"
        self.errors[WHOLE] = says
        self.about = [name for name, of in self.typed.items() if of in own] or list(self.typed)


def rows(document: dict, posted: Mapping[str, str] | None = None) -> dict:
    """What the form shows: the document's own values, or what was typed when there is something typed."""
    typed = posted or {}

    def shown(name: str, value: object) -> str:
        return typed.get(name, "" if value is None else str(value))

    restraint = document.get("lateral_restraint", {})
    called = panel_names(document)
    return {
        "joints": [
            {
                "name": name,
                "x_field": f"x-{name}",
                "x": shown(f"x-{name}", feet_inches(x)),
                "y_field": f"y-{name}",
                "y": shown(f"y-{name}", feet_inches(y)),
            }
            for name, (x, y) in sorted(document["joints"].items(), key=lambda item: (item[1][0], item[1][1]))
        ],
        "members": [
            {
                "id": member["id"],
                "called": called[member["id"]],
                "role": member["role"].replace("_", " "),
                "joints": " – ".join(member["joints"]),
                "lumber_field": f"lumber-{member['id']}",
                "lumber": shown(f"lumber-{member['id']}", member["lumber"]),
                "is_web": member["role"] == "web",
                "out_field": f"out-{member['id']}",
                "out": typed.get(f"out-{member['id']}") == "on",
                "rows_field": f"rows-{member['id']}",
                "rows": shown(f"rows-{member['id']}", restraint.get("webs", {}).get(member["id"], 0)),
            }
            for member in document["members"]
        ],
        "new_webs": [
            {
                part: {"field": f"new{number}-{part}", "value": typed.get(f"new{number}-{part}", "")}
                for part in ("from", "to", "lumber")
            }
            for number in range(1, NEW_WEBS + 1)
        ],
        "plies": shown("plies", document.get("plies", 1)),
        "top_chord_in": shown("top_chord_in", _spacing(restraint, "top_chord_in")),
        "bottom_chord_in": shown("bottom_chord_in", _spacing(restraint, "bottom_chord_in")),
        "lumber_keys": list(LUMBER),
    }


def _spacing(restraint: Mapping[str, float], chord: str) -> str:
    """The spacing of a chord's lateral restraint as the form writes it; empty where none is stated."""
    return "" if restraint.get(chord) is None else tape_inches(restraint[chord])


def apply(document: dict, posted: Mapping[str, str]) -> Edit:
    """The document with the form's edits written in and read again. Nothing is stored here."""
    edit = Edit(copy.deepcopy(document), panel_names(document))
    _move_joints(edit, posted)
    _swap_lumber(edit, posted)
    _take_out_webs(edit, posted)
    _put_in_webs(edit, posted)
    _set_plies_and_restraint(edit, posted)
    if not edit.errors:
        try:
            read(edit.document)
        except DocumentError as error:
            edit.refuse(error)
    return edit


def _move_joints(edit: Edit, posted: Mapping[str, str]) -> None:
    ends = [(min(values), max(values)) for values in zip(*edit.document["joints"].values(), strict=True)]
    for name, place in edit.document["joints"].items():
        before = list(place)
        for axis, label in ((0, "x"), (1, "y")):
            field_name = f"{label}-{name}"
            typed = posted.get(field_name)
            # An untouched field shows a rounded figure; writing that back would move the joint by a hair.
            if typed is None or typed.strip() == feet_inches(place[axis]):
                continue
            edit.typed[field_name] = name
            try:
                length = parse_length(typed, negative=True, feet_to_in=max(map(abs, ends[axis])))
            except UnitsError as error:
                edit.errors[field_name] = f"joint {name}, {WAYS[label]}: {error}"
                continue
            if trouble := _too_far(length, ends[axis]):
                edit.errors[field_name] = f"joint {name}, {WAYS[label]}: {trouble}"
                continue
            place[axis] = length
        if place != before:
            edit.changed.append(f"joint {name} to {feet_inches(place[0])} along, {feet_inches(place[1])} up")


def _too_far(length: float, ends: tuple[float, float]) -> str:
    """A sentence where a joint would lie far beyond the truss; else empty."""
    low, high = ends
    if low - FARTHEST_IN <= length <= high + FARTHEST_IN:
        return ""
    return (
        f"{feet_inches(length)} is far beyond this truss, whose joints lie from {feet_inches(low)} to "
        f"{feet_inches(high)}; a joint can be moved at most {feet_inches(FARTHEST_IN)} past them."
    )


def _swap_lumber(edit: Edit, posted: Mapping[str, str]) -> None:
    swapped: dict[str, list[str]] = {}
    for member in edit.document["members"]:
        typed = posted.get(f"lumber-{member['id']}", member["lumber"]).strip()
        if typed == member["lumber"]:
            continue
        edit.typed[f"lumber-{member['id']}"] = member["id"]
        if typed not in LUMBER:
            edit.errors[f"lumber-{member['id']}"] = (
                f"{edit.called[member['id']]}: “{typed[:60]}” is not in the lumber table."
            )
            continue
        member["lumber"] = typed
        swapped.setdefault(typed, []).append(edit.called[member["id"]])
    edit.changed += [f"{listed(names)} to {lumber}" for lumber, names in swapped.items()]


def _take_out_webs(edit: Edit, posted: Mapping[str, str]) -> None:
    out = {m["id"] for m in edit.document["members"] if m["role"] == "web" and posted.get(f"out-{m['id']}") == "on"}
    if not out:
        return
    edit.document["members"] = [m for m in edit.document["members"] if m["id"] not in out]
    edit.typed |= {f"out-{web}": web for web in sorted(out)}
    restraint = edit.document.get("lateral_restraint", {})
    if "webs" in restraint:
        restraint["webs"] = {web: count for web, count in restraint["webs"].items() if web not in out}
    edit.changed.append("taken out: " + ", ".join(sorted(edit.called[web] for web in out)))


def _put_in_webs(edit: Edit, posted: Mapping[str, str]) -> None:
    used = {m["id"] for m in edit.document["members"]}
    flat = any(m.get("flat") for m in edit.document["members"] if m["role"] == "web")
    for number in range(1, NEW_WEBS + 1):
        start, end, lumber = (posted.get(f"new{number}-{part}", "").strip() for part in ("from", "to", "lumber"))
        if not (start or end):
            continue
        missing = {part: name for part, name in (("from", start), ("to", end)) if name not in edit.document["joints"]}
        for part, joint in missing.items():
            lacks = f"there is no joint “{joint[:40]}”" if joint else f"choose the joint that it goes {part}"
            edit.errors[f"new{number}-{part}"] = f"new web {number}: {lacks}."
        if missing:
            continue
        if lumber not in LUMBER:
            edit.errors[f"new{number}-lumber"] = f"new web {number}: “{lumber[:60]}” is not in the lumber table."
            continue
        name = next(f"W{n}" for n in range(1, 10_000) if f"W{n}" not in used)
        used.add(name)
        edit.typed |= {f"new{number}-{part}": name for part in ("from", "to", "lumber")}
        web = {"id": name, "role": "web", "joints": [start, end], "lumber": lumber}
        edit.document["members"].append({**web, "flat": True} if flat else web)
        edit.changed.append(f"{name} from {start} to {end}")


def _set_plies_and_restraint(edit: Edit, posted: Mapping[str, str]) -> None:
    document = edit.document
    plies = posted.get("plies", "").strip()
    if plies and plies != str(document.get("plies", 1)):
        edit.typed["plies"] = ""
        count = number_of(plies)
        if count is None or not 1 <= count <= 6:
            edit.errors["plies"] = "Plies: a whole number from 1 to 6."
        else:
            document["plies"] = count
            edit.changed.append(f"{plies} plies")
    restraint = copy.deepcopy(document.get("lateral_restraint", {}))
    for key, label in (("top_chord_in", "top chord"), ("bottom_chord_in", "bottom chord")):
        typed = posted.get(key)
        if typed is None or typed.strip() == _spacing(restraint, key):
            continue
        edit.typed[key] = ""
        if not typed.strip():
            restraint.pop(key, None)
            edit.changed.append(f"{label} held only at its ends")
            continue
        try:
            restraint[key] = parse_length(typed)
        except UnitsError as error:
            edit.errors[key] = f"restraint of the {label}: {error}"
            continue
        edit.changed.append(f"{label} restrained every {typed.strip()}")
    _set_web_rows(edit, restraint, posted)
    if restraint != document.get("lateral_restraint", {}):
        document["lateral_restraint"] = restraint


def _set_web_rows(edit: Edit, restraint: dict, posted: Mapping[str, str]) -> None:
    for member in edit.document["members"]:
        typed = posted.get(f"rows-{member['id']}", "").strip()
        before = restraint.get("webs", {}).get(member["id"], 0)
        if member["role"] != "web" or not typed or typed == str(before):
            continue
        edit.typed[f"rows-{member['id']}"] = member["id"]
        called = edit.called.get(member["id"], member["id"])
        rows = number_of(typed)
        if rows is None or rows > 5:
            edit.errors[f"rows-{member['id']}"] = f"{called}: restraints are a whole number from 0 to 5."
            continue
        webs = restraint.setdefault("webs", {})
        webs[member["id"]] = rows
        edit.changed.append(f"{rows} row{'' if rows == 1 else 's'} of restraint on {called}")
