"""What a page sends with a tick to delivered or set: points that were looked at, a photo, a count."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest, QueryDict

from trusses.copies.looks import POINTS
from trusses.forms import number_of
from trusses.pictures import Sent
from trusses.refusals import Refused

WHOLE = ("right", "below", "open")
"""What is said of a look as a whole: all as it should be, point by point, nobody looked."""


def typed_of(request: HttpRequest) -> dict[str, Any]:
    """What was typed, to be shown again where something is refused."""
    post = request.POST
    points = {name: post[f"point-{name}"] for name in _names(post) if post.get(f"point-{name}") in ("right", "wrong")}
    whole = post.get("whole") if post.get("whole") in WHOLE else ""
    counted = post.get("counted", "").replace("\x00", "").strip()[:20]
    says = " ".join(post.get("asked-says", "").replace("\x00", "").split())
    asked = {"asked": bool(post.get("asked")), "asked_says": says, "asked_about": post.getlist("asked-about")}
    return {"points": points, "whole": whole, "counted": counted, **asked}


def points_of(request: HttpRequest) -> dict[str, str]:
    """Each point that was said to be right or wrong; all as it should be is said of each that isn't told as wrong."""
    typed = typed_of(request)
    right = dict.fromkeys(_names(request.POST), "right") if typed["whole"] == "right" else {}
    return right | typed["points"]


def says_nothing(request: HttpRequest) -> bool:
    """Whether copies would come or be set without a word on what was found of them, nor that nobody looked."""
    found = request.POST.get("found", "").strip() or request.FILES or points_of(request)
    return bool(_names(request.POST)) and not found and typed_of(request)["whole"] != "open"


def _names(post: QueryDict) -> list[str]:
    return [point.name for point in POINTS.get(post.get("to", ""), ())]


def asked_of(request: HttpRequest) -> str:
    """Which designer was asked before setting, and what was said; empty where nobody says that one was. Raises
    Refused."""
    typed = typed_of(request)
    if typed["asked"] and not typed["asked_says"]:
        raise Refused("asked-whom", "asked", "asked")
    if typed["asked_says"] and not typed["asked"]:
        raise Refused("asked-tick", "asked", "asked")
    return str(typed["asked_says"])


def photos_of(request: HttpRequest) -> list[Sent]:
    return [Sent(one, one.size or 0) for one in request.FILES.getlist("photo")]


def shown_of(request: HttpRequest) -> dict[int, str]:
    """Where each copy was shown to stand: its id and the name of the place, with a space between."""
    told = [one.replace("\x00", "").split() for one in request.POST.getlist("stood")]
    return {pk: one[1] for one in told if len(one) == 2 and (pk := number_of(one[0])) is not None}


def look_of(request: HttpRequest) -> dict[str, Any]:
    """The same as `looks.tick` takes it. Raises Refused."""
    typed, photos = typed_of(request), photos_of(request)
    counted = typed["counted"]
    count = number_of(counted) if counted else None
    if counted and (count is None or count > 99_999):
        raise Refused("count-none", "counted", "counted", given=counted)
    if photos and request.POST.get("all"):
        raise Refused("photo-of-all", "photo", "photo")
    return {
        "points": {name: said == "right" for name, said in points_of(request).items()},
        "photos": photos,
        "counted": count,
        # what is to be asked first never goes with all that can be
        "asked_first": "" if request.POST.get("all") else asked_of(request),
        "asked_about": typed["asked_about"] or None,
        "shown": shown_of(request),
        "known": number_of(request.POST.get("known", "")),
    }
