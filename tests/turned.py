"""A truss document mirrored, moved, listed otherwise: the same truss said another way."""

from __future__ import annotations

import copy
import math
from typing import Any

import numpy as np

_Document = dict[str, Any]


def mirrored(document: _Document) -> _Document:
    """Left and right exchanged, about x = 0; patterns keep their names."""
    mirror = copy.deepcopy(document)
    for xy in mirror["joints"].values():
        xy[0] = -xy[0]
    for load in mirror["loads"]["area"]:
        left, right = load.pop("from_x_in", None), load.pop("to_x_in", None)
        load |= {} if right is None else {"from_x_in": -right}
        load |= {} if left is None else {"to_x_in": -left}
    for load in mirror["loads"]["point"]:
        load["right_lb"] = -load.get("right_lb", 0.0)
    return mirror


def moved(document: _Document, right: float, up: float) -> _Document:
    """Elsewhere, inches."""
    there = copy.deepcopy(document)
    for xy in there["joints"].values():
        xy[0] += right
        xy[1] += up
    for load in there["loads"]["area"]:
        load |= {key: load[key] + right for key in ("from_x_in", "to_x_in") if key in load}
    return there


def turned_about(document: _Document, names: set[str]) -> _Document:
    """Some members listed from their other joint."""
    other = copy.deepcopy(document)
    lengths = {m["id"]: math.dist(*(document["joints"][j] for j in m["joints"])) for m in document["members"]}
    for member in other["members"]:
        if member["id"] in names:
            member["joints"].reverse()
    for load in other["loads"]["line"]:
        if load["member"] in names:
            length = lengths[load["member"]]
            load["from_in"], load["to_in"] = length - load.get("to_in", length), length - load.get("from_in", 0.0)
    for load in other["loads"]["point"]:
        if load.get("member") in names:
            load["at_in"] = lengths[load["member"]] - load["at_in"]
    return other


def reordered(document: _Document, seed: int) -> _Document:
    """Joints, members, bearings, hinges and loads in another order, and about half of the members turned about."""
    rng = np.random.default_rng(seed)
    other = turned_about(document, {m["id"] for m in document["members"] if rng.random() < 0.5})

    def shuffled(listed: list[Any]) -> list[Any]:
        return [listed[i] for i in rng.permutation(len(listed))]

    other |= {what: shuffled(other[what]) for what in ("members", "bearings", "hinges")}
    other["joints"] = dict(shuffled(list(other["joints"].items())))
    other["loads"] = {kind: shuffled(loads) for kind, loads in shuffled(list(other["loads"].items()))}
    return other
