"""Why a truss document is refused. `given` is what stands there (`given.brief`); `key` is a key of the format."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from trusses.analysis.words.given import quoted, told
from trusses.analysis.words.phrases import Says

_UNITS = {
    "in": "inches",
    "psf": "psf",
    "plf": "plf",
    "lb": "pounds",
    "F": "degrees Fahrenheit",
    "share": "dead load's share",
}
_ITEMS = {
    "joints": "two joint names",
    "hinges": "joint names",
    "area": "area loads",
    "line": "line loads",
    "point": "point loads",
}
"""What a list holds where its key doesn't say it."""


def _name(key: str | None) -> str:
    return "a joint's name" if key is None else key


def _unknown_key(key: str, meant: str | None) -> str:
    return f"unknown key {quoted(key)}" + (f"; did you mean {quoted(meant)}?" if meant else "")


def _choice(key: str, choices: Sequence[str], given: Any) -> str:
    apart = [quoted(one) for one in choices] if any("," in one for one in choices) else choices
    only = " or ".join(filter(None, [", ".join(apart[:-1]), apart[-1]]))
    return f"{key} must be {only}, not {quoted(given) if isinstance(given, str) else told(given)}"


def _number(key: str, unit: str, given: Any) -> str:
    return f"{key} must be a number of {_UNITS[unit]}, not {told(given)}"


def _too_much(key: str, unit: str, given: Any, most: float) -> str:
    return f"{key} is {told(given)} {_UNITS[unit]}; no truss has more than {most:,.0f}"


def _whole(key: str, least: int, most: int, given: Any) -> str:
    return f"{key} must be {least if least == most else f'from {least} to {most}'}, not {told(given)}"


def _window(from_in: float, to_in: float | None) -> str:
    end = "the member's end" if to_in is None else f"to_in {told(to_in)}"
    return f"the window is reversed or empty: from_in {told(from_in)} is not before {end}"


DOCUMENT: Mapping[str, Says] = {
    # files and JSON
    "file-unreadable": "the file can't be read: {problem}",
    "document-too-large": "the document is larger than {most:,} bytes",
    "document-not-utf8": "the document is not UTF-8 text: byte {byte} can't be read",
    "document-empty": "the document is empty",
    "document-not-json": "the document is not JSON: {problem} at line {line}, column {column}",
    "document-too-deep": "the document is nested deeper than {levels} levels",
    "document-no-object": "the document must be an object in braces, not {given:told}",
    "not-json": "must be JSON, not {kind}",
    "key-twice": "{key:text} stands twice",
    "key-no-text": "every key must be text, not {given:told}",
    "key-unprintable": "the key {key:text} holds a character that can't be printed",
    "text-unprintable": "the text {text:text} holds a character that can't be printed",
    "number-nan": "must be a number, not NaN",
    "number-too-large": "{number} is far too large a number",
    # objects and their values
    "no-object": "must be an object in braces, not {given:told}",
    "key-of-a-cut": "{key:text}: lumber is not drilled or notched here, so no check counts what that leaves",
    "key-unknown": _unknown_key,
    "key-missing": "{key:text} is missing",
    "no-text": "{key} must be text, not {given:told}",
    "text-too-long": "{key} is longer than {most} characters",
    "name-empty": lambda key: f"{_name(key)} must not be empty",
    "name-padded": lambda key, name: f"{_name(key)} {quoted(name)} must not begin or end with a space",
    "name-unseen": lambda key, name: f"{_name(key)} {quoted(name)} holds a character that can't be seen",
    "name-too-long": lambda key, name, most: f"{_name(key)} {quoted(name)} is longer than {most} characters",
    "no-choice": _choice,
    "no-flag": "{key} must be true or false, not {given:told}",
    "no-number": _number,
    "number-too-much": _too_much,
    "inches-below-0": "{key} must be 0 or more inches, not {given:told}",
    "inches-not-over-0": "{key} must be more than 0 inches, not {given:told}",
    "no-whole-number": "{key} must be a whole number, not {given:told}",
    "whole-number-bounds": _whole,
    "no-list": lambda key, given: f"{key} must be a list of {_ITEMS.get(key, key)}, not {told(given)}",
    "list-too-long": lambda key, count, most: f"{key} holds {count:,} {_ITEMS.get(key, key)}; the limit is {most:,}",
    "too-many": "{count:,} {key} are more than the limit of {most:,}",
    "no-point": "must be two numbers [x, y] in inches, not {given:told}",
    "no-coordinate": "must be two numbers [x, y] in inches, but holds {given:told}",
    "coordinate-too-large": "{given:told} inches is outside of any building",
    # joints and members
    "no-joints": "joints must be an object of names and [x, y] in inches, not {given:told}",
    "joint-unknown": "joint {joint:text} does not exist",
    "joint-unused": "no member ends at joint {joint:text}",
    "joints-at-one-place": "joint {joint:text} is at the same place as joint {other:text}",
    "no-members": "the truss has no members",
    "no-two-joints": "joints must be two joint names",
    "member-id-twice": "{other} has the same id",
    "member-beside-member": "joins the same two joints as {other}",
    "member-at-one-joint": "has no length: both ends are at joint {joint:text}",
    "member-without-length": "has no length: joints {joints[0]:text} and {joints[1]:text} are at the same place",
    "joint-in-wood": "joint {joint:text} lies in the wood of {member}, which doesn't end there",
    "along-wood": "lies in the wood of {member} from joint {joint:text} on, hardly ever beside it",
    "through-wood": (
        "goes through the wood of {member} {away_in:feet} from joint {joint:text}, and they share no joint"
    ),
    # hinges, bearings, openings, restraint
    "no-joint-name": "must be a joint's name, not {given:told}",
    "hinge-twice": "joint {joint:text} is already a hinge",
    "no-bearings": "the truss has no bearings",
    "bearing-twice": "joint {joint:text} already has a bearing",
    "bearing-without-chord": "joint {joint:text} has webs only; a bearing must hold a chord",
    "opening-id-twice": "another opening has the same id",
    "no-rows": "webs must be an object of web names and rows, not {given:told}",
    "web-unknown": "web {web:text} does not exist",
    "no-web": "{member:text} is a {role:plain}, not a web",
    "temperature-bounds": "temperature_f must be from {least:g} to {most:g} °F, not {given:told}",
    "share-bounds": "uplift_dead_share must be from 0 to 1, not {given:told}",
    # loads
    "pattern-alone": 'pattern must not be named "alone"; write "acts": "alone" for a load that acts alone',
    "dead-load-in-part": ("dead load is always there as a whole, so {key:text} is not for it; leave that out"),
    "member-unknown": "member {member:text} does not exist",
    "beyond-member": "{key} {given:told} is beyond the end of member {member:text}, which is {length_in:.6g} in. long",
    "window-empty-in-plan": (
        "the window is reversed or empty: from_x_in {from_in:told} is not left of to_x_in {to_in:told}"
    ),
    "window-empty": _window,
    "point-load-nowhere": (
        "a point load stands on a member or at a joint, and this one names neither a member nor a joint"
    ),
    "point-load-at-both": (
        "a point load stands on a member or at a joint, and this one names both a member and a joint"
    ),
    "at-in-without-member": "at_in is for a load on a member, not for one at a joint",
}
