"""Strict JSON: text to plain values and back, with every refusal naming its place.

Whatever reads a truss document trusses/analysis/document.py reads it through `parse` and `plain`, so that no value
past this file is NaN, absurdly large, a surrogate or a key that silently replaced another.
"""

from __future__ import annotations

import hashlib
import json
import math
import unicodedata
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from trusses.analysis.words.given import LARGEST, brief, quoted
from trusses.analysis.words.refusal import Refusal

DEPTH = 16
_BIDIRECTIONAL = frozenset("\u061c\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")


class DocumentError(Refusal):
    """A truss document is refused; `place` is the path in it."""


@dataclass(frozen=True, slots=True)
class Limits:
    """How much one document may hold. Lengths in inches, forces in pounds, psf or plf, text in characters."""

    bytes: int = 1_000_000
    joints: int = 400
    members: int = 800
    loads: int = 2_000
    openings: int = 100
    plies: int = 12
    restraint_rows: int = 20
    name: int = 40
    text: int = 500
    length_in: float = 1e6
    load: float = 1e9
    apart_in: float = 0.01


LIMITS = Limits()


class _Twice(dict):
    """An object in which `key` stood more than once; kept until the walk knows where it is."""

    key: str


def _object(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    plain_object = dict(pairs)
    if len(plain_object) == len(pairs):
        return plain_object
    twice = _Twice(plain_object)
    seen: set[str] = set()
    twice.key = next(key for key, _ in pairs if key in seen or seen.add(key))  # type: ignore[func-returns-value]
    return twice


def _whole_number(digits: str) -> int | float:
    # Python refuses to read, or takes seconds over, integers of thousands of digits
    return int(digits) if len(digits) <= 20 else float(digits)


def parse(text: str | bytes, limits: Limits = LIMITS) -> dict[str, Any]:
    """The JSON object in `text`, as plain values. Raises DocumentError."""
    if len(text if isinstance(text, bytes) else text.encode("utf-8", "surrogatepass")) > limits.bytes:
        raise DocumentError("document-too-large", most=limits.bytes)
    if isinstance(text, bytes):
        try:
            text = text.decode("utf-8")
        except UnicodeDecodeError as error:
            raise DocumentError("document-not-utf8", byte=error.start) from None
    if not text.strip():
        raise DocumentError("document-empty")
    try:
        value = json.loads(text.removeprefix("\ufeff"), object_pairs_hook=_object, parse_int=_whole_number)
    except json.JSONDecodeError as error:
        problem = f"{error.msg[0].lower()}{error.msg[1:]}"
        raise DocumentError("document-not-json", problem=problem, line=error.lineno, column=error.colno) from None
    except RecursionError:
        raise DocumentError("document-too-deep", levels=DEPTH) from None
    if not isinstance(value, dict):
        raise DocumentError("document-no-object", given=brief(value))
    return plain(value)


def canonical(document: Mapping[str, Any]) -> bytes:
    """Canonical JSON: sorted keys, no spaces, UTF-8, shortest round-trip numbers, whole numbers without `.0`."""
    text = json.dumps(plain(document), sort_keys=True, separators=(",", ":"), ensure_ascii=False, allow_nan=False)
    return text.encode("utf-8")


def sha256(document: Mapping[str, Any]) -> str:
    """The document's identity: hex SHA-256 of its canonical JSON."""
    return hashlib.sha256(canonical(document)).hexdigest()


def plain(value: Any, path: tuple[str | int, ...] = ()) -> Any:
    """A deep copy of JSON values, found at `path`, in which whole floats are integers. Raises DocumentError where it
    isn't JSON."""
    texts: list[str] = []
    try:
        copy = _quick([value], DEPTH - len(path) + 1, texts)[0]
        # all texts looked at together; join refuses a key that is none
        together = "".join(texts)
    except (_OddError, TypeError):
        # what is odd anywhere is read once more, keeping track of its place
        return _plain(value, path)
    return copy if together.isascii() and together.isprintable() else _plain(value, path)


class _OddError(Exception):
    """Something that is not of the plainest kind."""


def _quick(value: Any, depth: int, texts: list[str]) -> Any:
    """What `_plain` gives of an object or a list where all is of the plainest kind; the `texts` in it are added to be
    looked at. Raises _OddError where something isn't. Leaves are copied here, without a call for each."""
    if not depth:
        raise _OddError
    if type(value) is dict:
        texts.extend(value)
        copy: Any = dict.fromkeys(value)
        items: Any = value.items()
    elif type(value) is list:
        copy = [None] * len(value)
        items = enumerate(value)
    else:
        raise _OddError
    for key, item in items:
        kind = type(item)
        if kind is str:
            texts.append(item)
            copy[key] = item
        elif kind is float or kind is int:
            if not -LARGEST <= item <= LARGEST:
                raise _OddError
            whole = int(item)
            copy[key] = whole if whole == item else item
        elif kind is bool or item is None:
            copy[key] = item
        else:
            copy[key] = _quick(item, depth - 1, texts)
    return copy


def _plain(value: Any, path: tuple[str | int, ...]) -> Any:
    if value is None or isinstance(value, bool):
        return value
    if isinstance(value, str):
        if not _printable(value):
            raise DocumentError("text-unprintable", _place(path), text=brief(value))
        return str(value)
    if isinstance(value, (int, float)):
        return _number(value, path)
    if len(path) >= DEPTH:
        raise DocumentError("document-too-deep", f"{place(path[:4])}…", levels=DEPTH)
    if isinstance(value, (list, tuple)):
        return [_plain(item, (*path, i)) for i, item in enumerate(value)]
    if isinstance(value, Mapping):
        return _members(value, path)
    raise DocumentError("not-json", _place(path), kind=type(value).__name__)


def _members(value: Mapping[str, Any], path: tuple[str | int, ...]) -> dict[str, Any]:
    if isinstance(value, _Twice):
        raise DocumentError("key-twice", _place(path), key=brief(value.key))
    copy = {}
    for key, item in value.items():
        if not isinstance(key, str):
            raise DocumentError("key-no-text", _place(path), given=brief(key))
        kept = _plain(item, (*path, key))
        if not _printable(key):
            raise DocumentError("key-unprintable", _place(path), key=brief(key))
        copy[str(key)] = kept
    return copy


def _number(value: int | float, path: tuple[str | int, ...]) -> int | float:
    if value != value:
        raise DocumentError("number-nan", _place(path))
    if abs(value) > LARGEST:
        much = "Infinity" if value in (math.inf, -math.inf) or abs(value) > 1e300 else f"{float(value):.6g}"
        raise DocumentError("number-too-large", _place(path), number=much)
    # float() and int() also shed subclasses, such as numpy's
    return int(value) if value == int(value) else float(value)


def _printable(text: str) -> bool:
    return not any(
        unicodedata.category(character) in ("Cc", "Cs", "Zl", "Zp") or character in _BIDIRECTIONAL for character in text
    )


def _place(path: tuple[str | int, ...]) -> str:
    return place(path) or "the document"


def place(path: Iterable[str | int]) -> str:
    """`members[4].joints` for ("members", 4, "joints")."""
    out = ""
    for step in path:
        if isinstance(step, int):
            out += f"[{step}]"
        else:
            word = step if step.isascii() and step.replace("_", "a").isalnum() and len(step) <= 40 else quoted(step)
            out += f".{word}" if out else word
    return out


def tidy(number: float, digits: int | None = None) -> float:
    """As a truss document writes it: a whole number without its `.0`, rounded to `digits` places where given."""
    rounded = number if digits is None else round(number, digits)
    return int(rounded) if rounded == int(rounded) else rounded
