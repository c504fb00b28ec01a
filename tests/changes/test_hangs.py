"""Beside the drawing of a truss that takes a weight: what hangs there, and on what it lies."""

from __future__ import annotations

from types import SimpleNamespace

from django.template.loader import render_to_string

from changes.asks.weights import weights
from trusses.drawing import Weight

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
    assert "It hangs from a stiff cross-beam over copies 1 to 3, which is no part of the trusses" in said(
        shared="stiff"
    )
    assert "It lies on a stiff cross-beam over copies 1 to 3" in said(shared="stiff", how="set")
    assert "a platform over copies 1 to 4" in said(shared="continuous", over=(1, 2, 3, 4))
    assert said("opening") == ""


def test_the_drawings_are_told_what_is_asked_and_what_carries_it_across():
    whole = {"note": "", "shape": "pair", "length_in": 48, "case": "dead"}

    def drawn(option=None, **wish):
        ask = SimpleNamespace(kind="load", wish=WISH | whole | wish, copies=[1, 2, 3], lies_over=[])
        return weights([ask, SimpleNamespace(kind="opening", wish=None)], option)

    places = ("bottom_chord", "pair", 120, 48, "hung", "dead")
    assert drawn(shared="one") == (Weight("<air> handler", 300, *places, "", asked=True),)
    assert drawn(shared="continuous")[0].across == "platform over 3 trusses"
    handed_on = [{"code": "then", "values": {"steps": [{"code": "cross-beam", "values": {"trusses": 5}}]}}]
    option = SimpleNamespace(titled=handed_on)
    assert drawn(option, shared="one") == (Weight("<air> handler", 300, *places, "stiff cross-beam over 5 trusses"),)
    assert drawn(SimpleNamespace(titled="As it is"), shared="stiff", what="other", note="boiler")[0].name == "boiler"
