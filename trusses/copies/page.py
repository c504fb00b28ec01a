"""What a mark's page sends of its copies beside moving them on: a move taken back, a word on those of an earlier
revision."""

from __future__ import annotations

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.views.decorators.http import require_POST

from trusses.copies import earlier, undoing
from trusses.marks.page import chosen_of, mark_page
from trusses.models import MarkEvent
from trusses.permissions import revision_or_404, truss_or_404
from trusses.refusals import NotAllowed, Refused
from trusses.words import runs


@login_required
@require_POST
def take_back(request: HttpRequest, job: int, truss: int) -> HttpResponse:
    """A move of copies taken back; a repeat says that it was already."""
    mark = truss_or_404(request.user, truss, job=job)
    event, reason = _number(request.POST.get("event")), request.POST.get("reason", "").replace("\x00", "")
    found = MarkEvent.objects.filter(truss=mark, pk=event).first()
    try:
        back = undoing.take_back(request.user, mark, found, reason)
    except NotAllowed:
        raise
    except Refused as trouble:
        return mark_page(request, mark, trouble=trouble.says, typed={"event": event, "reason": reason})
    one = len(back) == 1
    now = f"Cop{'y' if one else 'ies'} {runs(back)}: taken back." if back else "That was taken back already."
    messages.success(request, now)
    return redirect(reverse("trusses:mark", args=(job, truss)) + "#copies")


@login_required
@require_POST
def say_of_earlier(request: HttpRequest, job: int, truss: int) -> HttpResponse:
    """What is to be done with copies that are built to an earlier revision."""
    mark = truss_or_404(request.user, truss, job=job)
    what, reason = request.POST.get("what", "")[:20], request.POST.get("reason", "").replace("\x00", "")
    seen = revision_or_404(request.user, pk=request.POST["seen"], truss=mark) if request.POST.get("seen") else None
    numbers = sorted(chosen_of(request))
    try:
        earlier.say(request.user, mark, numbers, what, reason, seen)
    except NotAllowed:
        raise
    except Refused as trouble:
        typed = {"copies": set(numbers), "what": what, "reason": reason}
        return mark_page(request, mark, earlier_trouble=trouble.says, typed=typed)
    messages.success(request, "That is said, and whoever stands before them reads it.")
    return redirect(reverse("trusses:mark", args=(job, truss)) + "#copies")


def _number(text: str | None) -> int:
    return int(text) if text and text.isdecimal() and len(text) < 18 else 0
