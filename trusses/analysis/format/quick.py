"""Documents that have much in common with others that were read, as candidates of a search and marks of a job have.

What of a document doesn't depend on where its joints are (members, bearings, restraint …) is told by its bytes, and is
taken from a document that was read with the same; joints are looked at in columns. Whatever is odd, or new, is left to
`document`, which names the place.
"""

from __future__ import annotations

import json
import marshal
import math
import re
import sys
from collections.abc import Iterable
from itertools import chain, pairwise
from typing import Any, NamedTuple, NoReturn

import numpy as np
from numpy.typing import NDArray

from trusses.analysis.format.document_loads import read_loads
from trusses.analysis.format.fields import Fields, check_name
from trusses.analysis.format.model import Joint, Truss
from trusses.analysis.format.parts import lengths_of, read_openings
from trusses.analysis.format.strict import LIMITS, DocumentError, plain

#: Read for each document; all other keys tell its shape.
_OWN = frozenset(("joints", "members", "mark", "title", "spacing_in", "loads", "openings"))
_KEPT = 512
_LISTS, _PAIRS, _NUMBERS, _TEXTS = {list}, {2}, {int, float}, {str}
#: Nearer to the limit than rounding, a length is measured as `document` measures it.
_APART_IN = LIMITS.apart_in * (1 + 1e-9)
_MEMBERS_END = re.compile(r"\}\s*\]")
_ODD = (DocumentError, KeyError, TypeError, ValueError, AttributeError, OverflowError, RecursionError)


class _Part(NamedTuple):
    """A part of a document: its record, its plain values as bytes, and how many texts stand in these."""

    record: Any
    plain: bytes
    texts: int


class _Shape(NamedTuple):
    """What a document says besides its own keys: a truss that was read with the same, and the values as bytes."""

    truss: Truss
    members: _Part
    rest: _Part


_shapes: dict[Any, _Shape] = {}
_written: dict[str, bytes] = {}
"""Members as they stood in a text, and the same in bytes: mostly the larger part of it, and not parsed again."""
_loads: dict[Any, _Part] = {}
_openings: dict[bytes, _Part] = {}


def quick(source: Any, stored: bool) -> Truss | None:
    """The truss that `document` would read from `source`; None where somebody has to look closer."""
    try:
        if isinstance(source, (str, bytes)):
            return _truss(*_parsed(source), stored)
        return _truss(source, None, None, stored)
    except _ODD:
        return None


def learn(truss: Truss, source: Any) -> None:
    """Keeps what other documents may have in common with a truss that has been read from `source`."""
    document = truss.document
    rest = {key: value for key, value in document.items() if key not in _OWN}
    shape = _Shape(truss, _part(None, document["members"]), _part(None, rest))
    members = _bytes(document["members"])
    _keep(_shapes, (truss.names, members, _bytes(rest)), shape)
    if isinstance(source, str) and "\\\\" not in source and source.count('"members"') == 1:
        start = source.index('"members"')
        if (last := _MEMBERS_END.search(source, start)) and _alone(source[start : last.end()], members):
            _keep(_written, source[start : last.end()], members)


def _alone(written: str, members: bytes) -> bool:
    """Whether a piece of text says these members and nothing else."""
    try:
        return _bytes(json.loads(f"{{{written}}}")["members"]) == members
    except ValueError:
        return False


def _parsed(text: str | bytes) -> tuple[Any, int, bytes | None]:
    """The values in a text, how many texts stand among them, and the members' bytes where they are known: then they are
    left out of the values. Raises ValueError."""
    if isinstance(text, bytes):
        text = text.decode("utf-8")
    if (len(text) if text.isascii() else len(text.encode("utf-8"))) > LIMITS.bytes or "\\\\" in text:
        raise ValueError
    texts, members = (text.count('"') - text.count('\\"')) // 2, None
    if (start := text.find('"members"')) >= 0 and (last := _MEMBERS_END.search(text, start)):
        # its end is one of JSON's arrays too, or the members aren't known
        members = _written.get(text[start : last.end()])
    if members is not None and last is not None:
        text = f'{text[:start]}"members":0{text[last.end() :]}'
    return json.loads(text), texts, members


def _truss(document: Any, texts: int | None, members: bytes | None, stored: bool) -> Truss:
    """Raises one of _ODD where it can't tell; also where fewer than `texts` are left, since a key stood twice."""
    if type(document) is not dict or set(map(type, document)) != _TEXTS:
        raise TypeError
    if members is None:
        members = _bytes(document["members"])
    elif document["members"] != 0:
        raise ValueError
    shape = _shape(document, members)
    like, names = shape.truss, shape.truss.names
    joints, numbers = _joints(document["joints"], shape)
    loads = _loads_of(document.get("loads", {}), stored, like, joints)
    openings = _openings_of(document.get("openings", []))
    if texts is not None:
        parts = shape.members.texts + shape.rest.texts + loads.texts + openings.texts
        # the keys of its own among all; the mark, and the title where there is one
        own_keys = len(_OWN & document.keys())
        if texts != own_keys + len(names) + parts + 1 + ("title" in document):
            raise ValueError
    area_loads, line_loads, point_loads = loads.record
    mark, title, spacing = _mark(document["mark"]), _title(document.get("title", "")), _spacing(document["spacing_in"])
    keys, own = tuple(document), {"mark": mark, "title": title, "spacing_in": spacing}
    return Truss(
        mark=mark,
        title=title,
        use=like.use,
        ceiling=like.ceiling,
        plies=like.plies,
        spacing_in=float(spacing),
        joints=joints,
        members=like.members,
        hinges=like.hinges,
        bearings=like.bearings,
        area_loads=area_loads,
        line_loads=line_loads,
        point_loads=point_loads,
        openings=openings.record,
        lateral_restraint=like.lateral_restraint,
        uplift_dead_share=like.uplift_dead_share,
        ply_fastening=like.ply_fastening,
        service=like.service,
        carries_trusses=like.carries_trusses,
        write=lambda: _write(keys, own, numbers, shape, loads, openings),
    )


def _write(
    keys: Iterable[str], own: dict[str, Any], numbers: Iterable[float], shape: _Shape, loads: _Part, openings: _Part
) -> dict[str, Any]:
    """The document of these keys, in their order, as `plain` leaves it."""
    whole = [int(value) if value == int(value) else value for value in numbers]
    places = map(list, zip(whole[::2], whole[1::2], strict=True))
    values = {
        "joints": dict(zip(shape.truss.names, places, strict=True)),
        "members": marshal.loads(shape.members.plain),
        "loads": marshal.loads(loads.plain),
        "openings": marshal.loads(openings.plain),
        **own,
        **marshal.loads(shape.rest.plain),
    }
    return {key: values[key] for key in keys}


def _shape(document: dict[str, Any], members: bytes) -> _Shape:
    names = tuple(document["joints"])
    rest = {key: value for key, value in document.items() if key not in _OWN}
    key = names, members, _bytes(rest)
    found = _shapes.get(key)
    if found is None:
        # written with whole numbers as 24.0
        found = _shapes[names, members, _bytes(plain(rest))]
        _keep(_shapes, key, found)
    return found


def _joints(held: Any, shape: _Shape) -> tuple[tuple[Joint, ...], list[float]]:
    """The joints' records, and x and y of each in turn."""
    places = list(held.values())
    if set(map(type, places)) != _LISTS or set(map(len, places)) != _PAIRS:
        raise TypeError
    numbers = list(chain.from_iterable(places))
    if not set(map(type, numbers)) <= _NUMBERS:
        raise TypeError
    if max(numbers) > LIMITS.length_in or min(numbers) < -LIMITS.length_in:
        raise ValueError
    z = np.array(numbers, dtype=np.float64).view(np.complex128) + 0.0  # 0 has no sign
    if math.isnan(sum(numbers)) or not _apart(z):  # then no member is too short either
        raise ValueError
    return tuple(map(Joint, shape.truss.names, z.real.tolist(), z.imag.tolist())), numbers


def _apart(z: NDArray[np.complex128]) -> bool:
    """Whether no two points are at one place; False also where some stand nearly, not quite, above each other."""
    ordered = sorted(zip(z.real.tolist(), z.imag.tolist(), strict=True))
    return not any(
        bx - ax < _APART_IN and (bx != ax or by - ay < _APART_IN) for (ax, ay), (bx, by) in pairwise(ordered)
    )


def _loads_of(held: Any, stored: bool, like: Truss, joints: tuple[Joint, ...]) -> _Part:
    key = _bytes(held), stored
    if found := _loads.get(key):
        return found
    values = plain(held, ("loads",))
    placed = bool(values.get("line") or values.get("point"))
    members = like.members if placed else ()
    lengths = lengths_of(joints, members)
    records = read_loads(values, members, lengths, set(like.names), LIMITS, stored)
    found = _part(records, values)
    if not placed:
        _keep(_loads, key, found)
    return found


def _openings_of(held: Any) -> _Part:
    key = _bytes(held)
    if found := _openings.get(key):
        return found
    values = plain(held, ("openings",))
    found = _part(read_openings(Fields({"openings": values}, "", (), ("openings",))), values)
    _keep(_openings, key, found)
    return found


def _mark(value: Any) -> str:
    check_name(_text(value), "", None, LIMITS)
    return str(value)


def _title(value: Any) -> str:
    if len(_text(value)) > LIMITS.text:
        raise ValueError
    return str(value)


def _text(value: Any) -> str:
    if type(value) is not str or not (value.isascii() and value.isprintable()):
        return str(plain({"": value})[""]) if type(value) is str else _odd()
    return value


def _spacing(value: Any) -> float:
    if type(value) not in _NUMBERS or not 0 < value <= LIMITS.length_in:
        raise ValueError
    whole = int(value)
    return whole if whole == value else value


def _odd() -> NoReturn:
    raise TypeError


def _bytes(values: Any) -> bytes:
    """Of plain values alone, whatever is alike having the same: version 2 doesn't tell what is one object."""
    return marshal.dumps(values, 2)


def _part(record: Any, values: Any) -> _Part:
    # texts that many documents have in common are held once
    return _Part(record, marshal.dumps(_interned(values)), _count(values))


def _interned(values: Any) -> Any:
    if isinstance(values, dict):
        return {sys.intern(key): _interned(value) for key, value in values.items()}
    if isinstance(values, list):
        return [_interned(value) for value in values]
    return sys.intern(values) if isinstance(values, str) else values


def _count(values: Any) -> int:
    """How many texts stand in values, keys among them."""
    if isinstance(values, dict):
        return len(values) + sum(map(_count, values.values()))
    return sum(map(_count, values)) if isinstance(values, list) else isinstance(values, str)


def _keep(where: dict[Any, Any], key: Any, what: Any) -> None:
    if len(where) >= _KEPT:
        where.clear()
    where[key] = what
