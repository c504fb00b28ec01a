"""Which triangles of a truss lie on another of its pieces, where nobody sees them: ends of webs, chords that butt."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import NDArray

from trusses.solid.bodies import Prism
from trusses.solid.mesh import Mesh

_OUT_IN = 0.05  # how far before a face its samples lie
_ALONG = (0.05, 0.5, 0.95)


def covered(wood: Sequence[Prism], mesh: Mesh) -> NDArray[np.bool_]:
    """(t,): the triangles, in the `mesh` of all the `wood`, of edges that lie on other pieces from end to end."""
    corners = mesh.points[mesh.triangles]
    normals = mesh.normals[mesh.triangles[:, 0]]
    flat = corners[:, :, [0, 2]]
    # a side's triangle has two corners above each other in w: its edge runs to whichever other one is farther
    start, (one, other) = flat[:, 0], (flat[:, 1], flat[:, 2])
    farther = np.hypot(*(one - start).T) > np.hypot(*(other - start).T)
    end = np.where(farther[:, None], one, other)
    before = start + normals[:, [0, 2]] * _OUT_IN
    samples = np.stack([before + share * (end - start) for share in _ALONG], axis=1)
    tree = shapely.STRtree([shapely.Polygon(prism.outline) for prism in wood])
    which, piece = tree.query(shapely.points(samples.reshape(-1, 2)), predicate="within")
    near, far = np.array([[prism.near, prism.far] for prism in wood]).T
    lies, reaches = corners[:, :, 1].min(axis=1), corners[:, :, 1].max(axis=1)
    triangle = which // len(_ALONG)
    over = (near[piece] <= lies[triangle] + 1e-6) & (far[piece] >= reaches[triangle] - 1e-6)
    found = np.zeros(len(samples) * len(_ALONG), dtype=bool)
    found[which[over]] = True
    return found.reshape(-1, len(_ALONG)).all(axis=1) & (np.abs(normals[:, 1]) < 0.5)
