"""Drawings of what is stored, kept by what they are of: a page that is opened again doesn't draw them anew.

A drawing is a pure function of its arguments and of the code that draws, so both make the key; nothing is ever thrown
away because it is out of date.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Mapping, Sequence
from dataclasses import is_dataclass
from functools import lru_cache
from pathlib import Path as File
from typing import Any, TypeVar

from django.core.cache import caches

from trusses import drawing
from trusses.drawing.backdrop import Backdrop
from trusses.plan.level import Level, draw_over, taken
from trusses.plan.level import draw as draw_level
from trusses.plan.overlays import Path
from trusses.plan.plan import Row
from trusses.plan.plan import plan as draw_plan
from trusses.plan.room import Taken

T = TypeVar("T")
_MOST_BACKDROPS = 64  # each some 300 KB
_BACKDROPS: dict[str, Backdrop] = {}
_TAKEN: dict[str, Taken] = {}
_OF_AN_ANALYSIS = ("truss_sha256", "engine", "surroundings", "worst_ratio", "openings")
"""What tells two analyses apart. They are large, and a page would spend its time on reading them through."""


def elevation(document: Mapping[str, Any], **how: Any) -> str:
    """The drawing of `drawing.elevation`, from the cache where it was drawn before. Raises DrawingError."""
    return kept(_told("elevation", document, how), lambda: drawing.elevation(document, **how))


def detail(document: Mapping[str, Any], **how: Any) -> str:
    """The drawing of `drawing.detail`."""
    return kept(_told("detail", document, how), lambda: drawing.detail(document, **how))


def backdrop(document: Mapping[str, Any], **how: Any) -> Backdrop:
    """The `Backdrop` of a document, kept in this process: over one truss an opening is dragged many times."""
    key = _key(_told("backdrop", document, how))
    found = _BACKDROPS.pop(key, None) or Backdrop(document, **how)
    _BACKDROPS[key] = found  # the one that was used last stands last
    while len(_BACKDROPS) > _MOST_BACKDROPS:
        _BACKDROPS.pop(next(iter(_BACKDROPS)), None)  # another thread may have been here
    return found


def _told(what: str, document: Mapping[str, Any], how: Mapping[str, Any]) -> list[Any]:
    told = dict(how)
    if (analysis := told.get("analysis")) is not None:
        told["analysis"] = [analysis[name] for name in _OF_AN_ANALYSIS if name in analysis]
    return [what, document, sorted(told.items())]


def plan(rows: Sequence[Row], chosen: str) -> str:
    """The drawing of `placements.plan.plan`."""
    return kept(["plan", [vars(row) for row in rows], chosen], lambda: draw_plan(rows, chosen))


def level(drawn: Level) -> str:
    """The drawing of `plan.level.draw`."""
    return kept(["level", drawn], lambda: draw_level(drawn))


def over_level(drawn: Level, paths: Sequence[Path]) -> str:
    """The drawing of `plan.level.draw_over`; where the level has room is kept in this process, since a run is drawn
    over it many times."""
    if not paths:
        return draw_over(drawn, ())
    key = _key(["taken", drawn])
    there = _TAKEN.pop(key, None) or taken(drawn)
    _TAKEN[key] = there  # the one that was used last stands last
    while len(_TAKEN) > _MOST_BACKDROPS:
        _TAKEN.pop(next(iter(_TAKEN)), None)
    return draw_over(drawn, paths, there)


def kept(what: Any, draw: Callable[[], T]) -> T:
    """What `draw` makes of `what`, plain values and dataclasses that say all that it depends on but the code."""
    kept_here, key = caches["drawings"], _key(what)
    picture: T | None = kept_here.get(key)
    if picture is None:
        picture = draw()
        kept_here.set(key, picture)
    return picture


def _key(what: Any) -> str:
    # in the documents' own order, which drawings follow
    said = json.dumps(what, default=_plain, separators=(",", ":"))
    return hashlib.sha256(f"{_version()} {said}".encode()).hexdigest()


def _plain(value: Any) -> Any:
    return vars(value) if is_dataclass(value) else sorted(value)


@lru_cache(maxsize=1)
def _version() -> str:
    """Of the code that draws and of what it counts and words with: no hand has to raise it."""
    here = File(drawing.__file__).parent
    rooms = (here, here.parent / "analysis", here.parent / "plan", here.parent / "clear", here.parent / "solid")
    files = sorted(path for room in rooms for path in room.rglob("*.py"))
    return hashlib.sha256(b"\0".join(path.read_bytes() for path in files)).hexdigest()[:16]
