"""A scene as binary glTF 2.0: metres, y up, x along the plan's x and z against its y.

A mesh for each truss document, shared by the nodes of its copies, which are named mark/copy; each vertex tells its
member by a number into the mesh's `members`. With `by_member` each member is a node of its own, mark/copy/member. What
a node stands for is told in its `extras`.
"""

from __future__ import annotations

import json
import math
import struct
from collections.abc import Iterable, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from trusses.plan.copies import marked_end
from trusses.solid.bodies import Body, Prism
from trusses.solid.covered import covered
from trusses.solid.mesh import Mesh, box, merged, prism, swept
from trusses.solid.scene import Placed, Run, Scene, Wall

METRE_PER_INCH = 0.0254
_TURNS = tuple((0.0, math.sin(n * math.pi / 4), 0.0, math.cos(n * math.pi / 4)) for n in range(4))
"""Quarter turns about the vertical, as quaternions."""
_LOOKS = {
    "wood": ([0.80, 0.64, 0.42, 1.0], 0.85),
    "wall": ([0.86, 0.85, 0.81, 1.0], 0.95),
    "opening": ([0.42, 0.18, 0.51, 0.35], 1.0),
    "run": ([0.55, 0.60, 0.64, 0.8], 0.6),
}
_MATERIALS = [
    {
        "name": name,
        **({"alphaMode": "BLEND"} if colour[3] < 1 else {}),
        "pbrMetallicRoughness": {"baseColorFactor": colour, "metallicFactor": 0, "roughnessFactor": rough},
    }
    for name, (colour, rough) in _LOOKS.items()
]
WOOD, WALL, OPENING, RUN = range(4)
_FLOAT, _SHORT, _INT = 5126, 5123, 5125
_KINDS = {_FLOAT: np.float32, _SHORT: np.uint16, _INT: np.uint32}


class _Writer:
    def __init__(self) -> None:
        self.data = bytearray()
        self.views: list[dict[str, Any]] = []
        self.accessors: list[dict[str, Any]] = []
        self.meshes: list[dict[str, Any]] = []
        self.nodes: list[dict[str, Any]] = []

    def accessor(self, values: NDArray[Any], kind: int, of: str, *, bounds: bool = False, indices: bool = False) -> int:
        array = np.ascontiguousarray(values, dtype=_KINDS[kind])
        start = len(self.data)
        self.data += array.tobytes()
        self.data += b"\0" * (-len(self.data) % 4)
        self.views.append(
            {"buffer": 0, "byteOffset": start, "byteLength": array.nbytes, "target": 34963 if indices else 34962}
        )
        told = {"bufferView": len(self.views) - 1, "componentType": kind, "count": len(array), "type": of}
        if bounds:
            told |= {"min": array.min(axis=0).tolist(), "max": array.max(axis=0).tolist()}
        self.accessors.append(told)
        return len(self.accessors) - 1

    def primitive(self, mesh: Mesh, material: int, *, members: bool = False, unseen: int = 0) -> dict[str, Any]:
        attributes = {
            "POSITION": self.accessor(_turned(mesh.points) * METRE_PER_INCH, _FLOAT, "VEC3", bounds=True),
            "NORMAL": self.accessor(_turned(mesh.normals), _FLOAT, "VEC3"),
        }
        if members:
            attributes["TEXCOORD_0"] = self.accessor(mesh.grain, _FLOAT, "VEC2")
            # padded to four bytes, as attributes have to be
            attributes["_MEMBER"] = self.accessor(mesh.parts.astype(np.float32), _FLOAT, "SCALAR")
        kind = _SHORT if len(mesh.points) < 65_536 else _INT
        indices = self.accessor(mesh.triangles.ravel(), kind, "SCALAR", indices=True)
        # how many of its last triangles nobody sees, for who draws many
        extras = {"extras": {"unseen": unseen}} if unseen else {}
        return {"attributes": attributes, "indices": indices, "material": material, **extras}

    def mesh(self, name: str, primitives: Sequence[dict[str, Any]], **extras: Any) -> int:
        self.meshes.append({"name": name, "primitives": list(primitives), **({"extras": extras} if extras else {})})
        return len(self.meshes) - 1

    def node(self, name: str, **told: Any) -> int:
        self.nodes.append({"name": name, **told})
        return len(self.nodes) - 1


def glb(scene: Scene, *, by_member: bool = False) -> bytes:
    """The scene as one file."""
    out = _Writer()
    roots = [*_trusses(out, scene, by_member), *_walls(out, scene.walls), *_runs(out, scene.runs)]
    roots += _walls(out, scene.weights, RUN, "weight")
    told = {
        "asset": {"version": "2.0", "generator": "Chord Change"},
        "scene": 0,
        "scenes": [{"nodes": roots, "extras": {"levels": list(scene.levels), "ground_in": scene.ground}}],
        "nodes": out.nodes,
        "meshes": out.meshes,
        "materials": _MATERIALS,
        "accessors": out.accessors,
        "bufferViews": out.views,
        "buffers": [{"byteLength": len(out.data)}],
    }
    if not roots:
        # a file without anything may name no empty lists
        told = {"asset": told["asset"], "scene": 0, "scenes": [{"extras": told["scenes"][0]["extras"]}]}  # type: ignore[index]
    text = json.dumps(told, separators=(",", ":"), allow_nan=False).encode()
    text += b" " * (-len(text) % 4)
    chunks = struct.pack("<II", len(text), 0x4E4F534A) + text
    if out.data:
        chunks += struct.pack("<II", len(out.data), 0x004E4942) + bytes(out.data)
    return struct.pack("<III", 0x46546C67, 2, 12 + len(chunks)) + chunks


def _trusses(out: _Writer, scene: Scene, by_member: bool) -> Iterable[int]:
    whole: dict[str, int] = {}
    parts: dict[str, list[tuple[str, int]]] = {}
    for key, body in scene.bodies.items():
        if by_member:
            parts[key] = list(_member_meshes(out, body))
        else:
            names = list(dict.fromkeys(one.name for one in body.wood))
            mesh = merged([prism(one, names.index(one.name)) for one in body.wood])
            hidden = covered(body.wood, mesh)
            mesh = mesh._replace(triangles=np.concatenate([mesh.triangles[~hidden], mesh.triangles[hidden]]))
            called = {one.name: one.called for one in body.wood}
            primitives = [out.primitive(mesh, WOOD, members=True, unseen=int(hidden.sum()))]
            if body.openings:
                primitives.append(out.primitive(merged([prism(one) for one in body.openings]), OPENING))
            whole[key] = out.mesh(key[:12], primitives, members=names, called=[called[name] for name in names])
    for one in scene.placed:
        turn = {"rotation": list(_TURNS[one.quarters])} if one.quarters else {}
        place = {"translation": [value * METRE_PER_INCH for value in (one.x, one.z, -one.y)], **turn}
        children: dict[str, Any]
        if by_member:
            children = {"children": [out.node(f"{one.name}/{name}", mesh=mesh) for name, mesh in parts[one.body]]}
        else:
            children = {"mesh": whole[one.body]}
        yield out.node(one.name, **place, **children, extras=_extras(one))


def _member_meshes(out: _Writer, body: Body) -> Iterable[tuple[str, int]]:
    by_name: dict[str, list[Prism]] = {}
    for one in body.wood:
        by_name.setdefault(one.name, []).append(one)
    for name, those in by_name.items():
        yield name, out.mesh(name, [out.primitive(merged([prism(one) for one in those]), WOOD)])
    for one in body.openings:
        yield f"opening {one.name}", out.mesh(one.name, [out.primitive(prism(one), OPENING)])


def _extras(one: Placed) -> dict[str, Any]:
    return {
        "kind": "truss",
        "truss": one.truss,
        "mark": one.mark,
        "copy": one.number,
        "level": one.level,
        "along": one.along,
        "turns": one.quarters,
        "marked_end": marked_end(one.along, one.turned),
        "stage": one.stage,
        "shown": one.shown,
        "href": one.href,
        "sha256": one.body,
    }


def _walls(out: _Writer, walls: Sequence[Wall], look: int = WALL, kind: str = "wall") -> Iterable[int]:
    for wall in walls:
        mesh = out.mesh(wall.label, [out.primitive(box(wall), look)])
        yield out.node(wall.label, mesh=mesh, extras={"kind": kind, "level": wall.level})


def _runs(out: _Writer, runs: Sequence[Run]) -> Iterable[int]:
    for run in runs:
        mesh = out.mesh(run.name, [out.primitive(swept(run), RUN)])
        path = (_turned(np.array(run.points, dtype=np.float64)) * METRE_PER_INCH).tolist()
        yield out.node(run.name, mesh=mesh, extras={"kind": "run", "level": run.level, "href": run.href, "path": path})


def _turned(points: NDArray[np.float64]) -> NDArray[np.float64]:
    """(n, 3) of plan x, plan y and height to x, y up, z."""
    return np.stack([points[:, 0], points[:, 2], -points[:, 1]], axis=1)
