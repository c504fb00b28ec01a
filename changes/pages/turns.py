"""“Your turn” and what is new, over all jobs of a person: a page, and the words of its link, which every page loads."""

from __future__ import annotations

from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.cache import never_cache

from changes.models import State
from changes.pages.story import TONES, state_says
from changes.workflow import turns

SAYS = {
    "decide": "waits for your decision",
    "hold": "asks that the saw wait (nobody has answered that)",
    "damage": "tells of damage and couldn’t be computed; it can be computed again, or declined if nothing is damaged",
    "answer": "was sent back to you with a question",
    "compute": "couldn’t be computed; it can be computed again",
}


@login_required
def turns_page(request: HttpRequest) -> HttpResponse:
    lines = [
        {"turn": one, "says": " and ".join(SAYS[why] for why in one.why if why in SAYS)}
        for one in turns.turns(request.user)
    ]
    news = [
        {
            "change": one,
            "marks": turns.marks_of(one),
            "tone": TONES.get(State(one.state), "look"),
            "state_says": state_says(one.state, one.asks.all()),
        }
        for one in turns.news(request.user)
    ]
    return render(request, "changes/turns.html", {"lines": lines, "news": news})


@never_cache
@login_required
def count(request: HttpRequest) -> HttpResponse:
    """The words of the link; `opened` is the request whose page asks for them, and what it tells is seen by that."""
    opened = request.GET.get("opened", "")
    if opened.isdecimal() and len(opened) < 18:
        turns.see(request.user, int(opened))
    told = {"turns": len(turns.turns(request.user)), "news": len(turns.news(request.user))}
    return render(request, "changes/_turns.html", told)
