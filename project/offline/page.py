"""What a browser asks for to work without a signal: the worker, the manifest, where it stands, and what it holds."""

from __future__ import annotations

import json
from pathlib import Path

from django.conf import settings
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.middleware.csrf import get_token
from django.shortcuts import render
from django.templatetags.static import static
from django.urls import path, reverse
from django.views.decorators.cache import cache_control, never_cache

from project.offline import keeping, sent
from project.offline.whose import whose

_WORKER = Path(__file__).resolve().parent.parent / "static" / "project" / "worker.js"
_MOST_KEYS = 50
_ICONS = (
    ("icon-192.png", "192x192", "any"),
    ("icon-512.png", "512x512", "any"),
    ("icon-edge.png", "512x512", "maskable"),
)


@cache_control(no_cache=True)
def worker(request: HttpRequest) -> HttpResponse:
    """The service worker, from the root, since it answers for all pages; what it must know stands on its first line."""
    knows = {
        "current_s": settings.KEPT_CURRENT_H * 3600,
        "static": f"/{settings.STATIC_URL.lstrip('/')}",
        "outbox": static("project/outbox.js"),
        "device": reverse("device"),
        "outside": ["/admin/", "/api/"],
        "leaves": [reverse("sign-out"), "/demo/enter/"],
    }
    script = f"const KNOWS = {json.dumps(knows)};\n{_WORKER.read_text()}"
    return HttpResponse(script, content_type="text/javascript; charset=utf-8")


@cache_control(max_age=3600)
def manifest(request: HttpRequest) -> JsonResponse:
    told = {
        "name": "Chord Change",
        "short_name": "Chord Change",
        "description": "Changes to a job's wood trusses, and which sheet is current.",
        "id": "/",
        "start_url": reverse("home"),
        "scope": "/",
        "display": "standalone",
        "background_color": "#faf8f3",
        "theme_color": "#1d5a48",
        "icons": [
            {"src": static(f"project/{name}"), "sizes": sizes, "type": "image/png", "purpose": purpose}
            for name, sizes, purpose in _ICONS
        ],
    }
    return JsonResponse(told, content_type="application/manifest+json")


@never_cache
def contact(request: HttpRequest) -> JsonResponse:
    """That there is a signal, who is signed in, a token for the next form, and which of the forms under `keys` arrived,
    each with the address that it led to."""
    keys = [key for key in request.GET.get("keys", "").split(",") if key][:_MOST_KEYS]
    arrived = sent.arrived(request.user, keys) if request.user.is_authenticated else {}
    return JsonResponse({"who": whose(request.user), "csrf": get_token(request), "arrived": arrived})


def device(request: HttpRequest) -> HttpResponse:
    """What waits on this device and what it keeps; a script fills it in, since only the device knows."""
    return render(request, "project/device.html")


urlpatterns = [
    path("worker.js", worker, name="worker"),
    path("manifest.webmanifest", manifest, name="manifest"),
    path("contact/", contact, name="contact"),
    path("device/", device, name="device"),
    path("jobs/<int:job>/kept.json", keeping.kept, name="kept"),
]
