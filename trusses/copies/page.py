"""What a mark's page sends of its copies beside moving them on: a move taken back, a word on those of an earlier
revision."""

from __future__ import annotations

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import FileResponse, HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.views.decorators.cache import cache_control
from django.views.decorators.http import require_POST

from trusses import pictures
from trusses.copies import earlier, looks, old_ones, undoing
from trusses.copies.models import Look
from trusses.forms import number_of
from trusses.marks.page import among_copies, chosen_of, in_order, mark_page
from trusses.models import MarkEvent
from trusses.permissions import one_or_404, revision_or_404, truss_or_404
from trusses.refusals import NotAllowed, Refused
from trusses.words import runs


@login_required
@require_POST
def take_back(request: HttpRequest, job: int, truss: int) -> HttpResponse:
    """A move of copies taken back; a repeat says that it was already."""
    mark = truss_or_404(request.user, truss, job=job)
    event, reason = number_of(request.POST.get("event")) or 0, request.POST.get("reason", "").replace("\x00", "")
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
    if copy := number_of(request.POST.get("in-order")):  # taken back where it was ticked
        return redirect(in_order(mark, copy))
    tapped = mark.copies.filter(number__in=back).values_list("pk", flat=True) if len(back) == 1 else []
    return redirect(among_copies(mark, *tapped))


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


@login_required
@require_POST
def say_gone(request: HttpRequest, job: int, truss: int) -> HttpResponse:
    """Somebody says by name that the old trusses of copies that are made anew are destroyed or set apart."""
    mark = truss_or_404(request.user, truss, job=job)
    event, says = number_of(request.POST.get("event")) or 0, request.POST.get("says", "").replace("\x00", "")
    numbers = sorted(chosen_of(request))
    try:
        gone = old_ones.say_gone(request.user, mark, event, numbers, says)
    except NotAllowed:
        raise
    except Refused as trouble:
        typed = {"old": event, "copies": set(numbers), "says": says}
        return mark_page(request, mark, old_trouble=trouble.says, typed=typed)
    messages.success(request, "That is said; your name stands by it." if gone else "That was said already.")
    return redirect(reverse("trusses:mark", args=(job, truss)) + "#copies")


@login_required
@require_POST
def close_look(request: HttpRequest, pk: int) -> HttpResponse:
    """A designer says by name that what was found keeps a copy from being set no more."""
    look = one_or_404(Look.objects.select_related("copy__truss__job", "copy__truss__current"), request.user, pk=pk)
    says = request.POST.get("says", "").replace("\x00", "")
    try:
        looks.close(request.user, look, says)
    except NotAllowed:
        raise
    except Refused as trouble:
        return mark_page(request, look.copy.truss, look_trouble=trouble.says, typed={"look": look.pk, "says": says})
    messages.success(request, f"Copy {look.copy.number} may be set, as far as that goes; your name stands by it.")
    return redirect(reverse("trusses:mark", args=(look.copy.truss.job_id, look.copy.truss_id)) + "#looks")


@login_required
@cache_control(private=True, max_age=3600, immutable=True)
def look_photo(request: HttpRequest, pk: int, number: int) -> FileResponse:
    """A photo of a look. What isn't of a job of the person's is the same 404 as what isn't there."""
    look = one_or_404(Look.objects.select_related("copy__truss"), request.user, pk=pk)
    return pictures.opened(look.copy.truss.job_id, look.photos, number)
