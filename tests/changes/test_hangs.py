"""Beside the drawing of a truss that takes a weight: what hangs there, and on what it lies."""

from __future__ import annotations

from types import SimpleNamespace

from django.template.loader import render_to_string

WISH = {"what": "<air> handler", "weight_lb": 300, "how": "hung", "chord": "bottom_chord", "at_in": 120}


def said(kind="load", over=(), **wish):
    ask = SimpleNamespace(kind=kind, wish={**WISH, **wish}, copies=[1, 2, 3], lies_over=list(over))
    page = render_to_string("changes/_hangs.html", {"section": SimpleNamespace(asks=[ask])})
    return " ".join(page.split())


def test_the_weight_and_its_place_are_named_and_what_it_lies_on():
    alone = said(shared="any")
    assert (
        "&lt;air&gt; handler</bdi>, 300 lb in all, hung on the bottom chord, its middle 10&#x27;-0&quot; from" in alone
    )
    assert "cross-beam" not in alone
    assert "It lies on a stiff cross-beam over copies 1 to 3, which is no part of the trusses" in said(shared="stiff")
    assert "a platform over copies 1 to 4" in said(shared="continuous", over=(1, 2, 3, 4))
    assert said("opening") == ""
