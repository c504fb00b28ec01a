"""What the code on a printed sheet opens, for whoever holds the paper, without an account: does this paper count?

Mark, revision, copies, current or dead and by which, and nothing else: no job, no name, no drawing. It sets no cookie,
is kept by nothing, found by no search engine, and tells the next site nothing of its address.
"""

from __future__ import annotations

from typing import Any

from django import forms
from django.conf import settings
from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe
from rest_framework.throttling import AnonRateThrottle

from trusses import paper_codes
from trusses.analysis.words.phrases import sentence
from trusses.copies import harmed, old_ones
from trusses.copies import words as copies_words
from trusses.models import PaperCode, Revision
from trusses.permissions import require, revision_or_404
from trusses.plan import on_walls
from trusses.refusals import Refused
from trusses.sheets import sheet
from trusses.words import runs


class Looks(AnonRateThrottle):
    """How often papers are looked up from one address."""

    scope = "paper"

    def get_cache_key(self, request: Any, view: Any) -> str:
        return self.cache_format % {"scope": self.scope, "ident": self.get_ident(request)}


@never_cache
@require_safe
def typed(request: HttpRequest) -> HttpResponse:
    """Where one types what stands below the square."""
    asked = request.GET.get("code", "")
    if token := paper_codes.read(asked):
        return _bare(redirect("trusses:paper", token=token))
    says = f"A code has {paper_codes.LENGTH} letters and figures, in fours." if asked.strip() else ""
    page = render(request, "trusses/paper.html", {"asked": asked[:40], "says": says}, status=422 if says else 200)
    return _bare(page)


@never_cache
@require_safe
def paper(request: HttpRequest, token: str) -> HttpResponse:
    looks = Looks()
    if not looks.allow_request(request, None):  # type: ignore[arg-type]
        seconds = round(looks.wait() or 60)
        says = f"Too many papers were looked up from here. Try again in {seconds} seconds."
        page = render(request, "trusses/paper.html", {"says": says}, status=429)
        page["Retry-After"] = str(seconds)
        return _bare(page)
    held = paper_codes.found(paper_codes.read(token))
    if held is None:
        says = "No paper has this code. Don’t build from it: ask whoever handed it out."
        return _bare(render(request, "trusses/paper.html", {"asked": token[:40], "says": says}, status=404))
    if held.ended_at is not None:
        says = "This code was withdrawn. Don’t build from the paper: ask for a new print."
        return _bare(render(request, "trusses/paper.html", {"says": says}, status=410))
    return _bare(render(request, "trusses/paper.html", {"told": _told(held)}))


def _told(code: PaperCode) -> dict[str, Any]:
    revision = code.revision
    copies = list(revision.truss.copies.select_related("built_to").defer(*sheet.HEAVY))
    mine, others = sheet.copies_of(revision, copies)
    return {
        "mark": revision.truss.mark,
        "number": revision.number,
        "status": sheet.status(revision, revision.truss.current, copies),
        "kin": [(one.mark, numbers) for one, numbers in copies_words.kin(revision.truss) if numbers],
        "mine": sheet.numbers(mine),
        "off": (off := harmed.together(harmed.off(mine))),
        "sound": (sound := [copy.number for copy in mine if not off or copy.number not in off.copies]),
        "sound_numbers": runs(sound),
        "walls_move": on_walls.under(revision.truss) if mine else [],
        "repaired": harmed.repaired(mine),
        "count": len(mine),
        "others": sheet.by_revision(others),
        "old_ones": old_ones.there(revision.truss),
        "at": timezone.now(),
        "time_zone": revision.truss.job.time_zone,
    }


def _bare(response: HttpResponse) -> HttpResponse:
    response["X-Robots-Tag"] = "noindex, nofollow"
    response["Referrer-Policy"] = "no-referrer"
    return response


def address_of(request: HttpRequest, code: PaperCode) -> str:
    """The whole address that is printed: under the one that people outside reach, not the host of whoever prints."""
    path = reverse("trusses:paper", args=(code.token,))
    return f"{settings.PUBLIC_ADDRESS}{path}" if settings.PUBLIC_ADDRESS else request.build_absolute_uri(path)


class EndForm(forms.Form):
    """Why the code on papers is withdrawn; `token` is the one that the page showed."""

    token = forms.CharField(widget=forms.HiddenInput, max_length=40)
    reason = forms.CharField(
        label="Why",
        max_length=500,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text="A set of papers was lost, or somebody has them who shouldn’t.",
        error_messages={"required": "Say why; the record keeps it."},
    )


@login_required
def code(request: HttpRequest, job: int, truss: int, number: int) -> HttpResponse:
    """The code on a revision's papers; a designer withdraws it, and the next print has another."""
    revision: Revision = revision_or_404(request.user, truss=truss, truss__job=job, number=number)
    require(request.user, paper_codes.END, revision.truss.job)
    now = paper_codes.counting(revision)
    form = EndForm(request.POST if request.method == "POST" else None, initial={"token": now.token})
    status = 200
    if request.method == "POST":
        try:
            if form.is_valid():
                paper_codes.end(request.user, revision, form.cleaned_data["token"], form.cleaned_data["reason"])
                messages.success(request, "The code on papers printed so far is withdrawn. A new print has a new one.")
                return redirect("trusses:sheet", job=job, truss=truss, number=number)
            status = 422
        except Refused as refused:
            now = paper_codes.counting(revision)
            form = EndForm({"token": now.token, "reason": form.cleaned_data["reason"]})  # sent again, it ends this one
            form.is_valid()
            form.add_error(refused.field, sentence(refused.says))
            status = 409
    ended = revision.paper_codes.exclude(ended_at=None).select_related("ended_by").order_by("-pk")
    page = {
        "job": revision.truss.job,
        "revision": revision,
        "form": form,
        "troubles": [form],
        "spelled": paper_codes.spelled(now.token),
    }
    return render(request, "trusses/paper_code.html", {**page, "ended": ended}, status=status)
