"""Scenes and what is made of them, kept by what they are of: a page that is opened again builds nothing anew."""

from __future__ import annotations

import dataclasses
from typing import Any

from trusses import kept_drawings
from trusses.models import Job
from trusses.once import once
from trusses.solid.gltf import glb
from trusses.solid.heights import Height
from trusses.solid.picture import picture
from trusses.solid.scene import Scene
from trusses.solid.standing import levels_of, runs_of, scene, weights_of


def scene_of(job: Job) -> Scene:
    """The job's set as it stands, read once for a page."""
    return once(("scene", job.pk), lambda: _scene(job))


def _scene(job: Job) -> Scene:
    found = scene(job, runs=[run for added in runs_of for run in added(job)])
    return dataclasses.replace(found, weights=[block for added in weights_of for block in added(job, found)])


def heights_of(job: Job) -> dict[str, Height]:
    """How high each level bears, and whether a designer said so."""
    return levels_of(job)


def glb_of(found: Scene, *, by_member: bool = False) -> bytes:
    return kept_drawings.kept(["glb", by_member, _told(found)], lambda: glb(found, by_member=by_member))


def picture_of(found: Scene, title: str) -> str:
    return kept_drawings.kept(["solid picture", title, _told(found)], lambda: picture(found, title))


def _told(found: Scene) -> list[Any]:
    """All that a scene depends on: a body is known by its document's SHA-256."""
    return [
        sorted(found.bodies),
        [dataclasses.astuple(one) for one in found.placed],
        [dataclasses.astuple(one) for one in found.walls],
        [dataclasses.astuple(one) for one in found.runs],
        [dataclasses.astuple(one) for one in found.weights],
        found.ground,
        list(found.levels),
    ]
