"""What a page sends with a tick to delivered or set: points that were looked at, a photo, a count."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest

from trusses.copies.looks import POINTS
from trusses.pictures import Sent
from trusses.refusals import Refused


def typed_of(request: HttpRequest) -> dict[str, Any]:
    """What was typed, to be shown again where something is refused."""
    post = request.POST
    names = [point.name for point in POINTS.get(post.get("to", ""), ())]
    points = {name: post[f"point-{name}"] for name in names if post.get(f"point-{name}") in ("right", "wrong")}
    return {"points": points, "counted": post.get("counted", "").replace("\x00", "").strip()[:20]}


def photos_of(request: HttpRequest) -> list[Sent]:
    return [Sent(one, one.size or 0) for one in request.FILES.getlist("photo")]


def look_of(request: HttpRequest) -> dict[str, Any]:
    """The same as `looks.tick` takes it. Raises Refused."""
    typed, photos = typed_of(request), photos_of(request)
    counted = typed["counted"]
    if counted and not (counted.isascii() and counted.isdecimal() and len(counted) < 6):
        raise Refused("count-none", "counted", "counted", given=counted)
    if photos and request.POST.get("all"):
        raise Refused("photo-of-all", "photo", "photo")
    return {
        "points": {name: said == "right" for name, said in typed["points"].items()},
        "photos": photos,
        "counted": int(counted) if counted else None,
    }
