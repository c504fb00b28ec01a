"""The page on which a designer asks whether another line of a run will do: one that was found, or one that is typed."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from django import forms
from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from changes import workflow
from changes.asks.as_cut import as_cut
from changes.asks.live_run import better
from changes.asks.on_plan import called
from changes.asks.run import crossing, lettered, read_path
from changes.asks.run_verdicts import answers
from changes.models import Decision, Request, Run, State
from changes.pages.run_form import DATUM_WORDS, LineForm, typed_run
from changes.pages.run_plan import drawn_path
from changes.pages.running import offers_told
from changes.permissions import require
from trusses.analysis.runs.crossing import Crossed
from trusses.analysis.words.phrases import sentence
from trusses.forms import number_of
from trusses.kept_drawings import level as drawn
from trusses.permissions import one_or_404
from trusses.plan.copies import standing
from trusses.plan.page import level_of


class OtherLineForm(LineForm):
    """Another line of a run, and the question with which it is sent back."""

    reason = forms.CharField(
        max_length=2000,
        label="The question to the builder",
        widget=forms.Textarea(attrs={"rows": 3}),
        error_messages={"required": "Write the question: it goes to the builder with the line."},
    )

    def __init__(self, *args: Any, above: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["up"].help_text = f"Above {above}."


@login_required
def run_lines(request: HttpRequest, pk: int, run: int) -> HttpResponse:
    """Lines at which fewer trusses change, each with one tap, and the fields of any other."""
    change = one_or_404(Request.objects.select_related("job"), request.user, pk=pk)
    one = Run.objects.filter(request=change, pk=run, asks__replaced=False).first()
    if one is None:
        raise Http404("Not found.")
    require(request.user, "decide", change)
    path = read_path(one.wish, ("run",))
    name = called(one.name, path)
    first = {**typed_run(path), "reason": f"Will the line shown here do for the {name}?"}
    posted = request.POST if request.method == "POST" else None
    form = OtherLineForm(posted, initial=first, above=DATUM_WORDS[path.datum])
    if request.method == "POST" and form.is_valid() and _asked(request, change, one, form):
        messages.success(request, "Sent back: the builder is asked whether that line will do.")
        return redirect("changes:request", pk=pk)
    page = {"change": change, "job": change.job, "run": one, "name": name, "path": path, "form": form}
    last = change.decisions.order_by("-pk").values_list("pk", flat=True).first()
    page |= {"decided_last": last or 0, "waits": change.state == State.AWAITING_DECISION, "forms": [form]}
    try:
        crossed = crossing(change.job, path)
    except workflow.Refused as refused:
        page["trouble"] = sentence(refused.says)
    else:
        page |= _found(change, one, crossed)
    return render(request, "changes/run_lines.html", page, status=422 if form.is_bound else 200)


def _found(change: Request, run: Run, crossed: Crossed) -> dict[str, Any]:
    cut = as_cut(change.job, crossed.run.level, lettered(crossed), asked=run)
    told = answers(crossed, cut, together=run.together)
    found, lacks = better(change.job, crossed, together=run.together, instead=run)
    offers = offers_told(found, change.job.north_deg)
    plan = level_of(change.job, crossed.run.level, standing(change.job).get(crossed.run.level, []))
    return {"offers": offers, "lacks": lacks, "picture": drawn(replace(plan, paths=[drawn_path(crossed, told)]))}


def _asked(request: HttpRequest, change: Request, run: Run, form: OtherLineForm) -> bool:
    line = {key: value for key, value in run.wish.items() if key != "rises_in"} | form.line()
    asks: dict[str, Any] = {"verdict": Decision.Choice.SEND_BACK.value, "reason": form.cleaned_data["reason"]}
    saw: dict[str, Any] = {
        "state": request.POST.get("state", State.AWAITING_DECISION),
        "after": number_of(request.POST.get("after", "")),
    }
    try:
        workflow.decide(request.user, change, lines={run.pk: line}, **asks, **saw)
    except (workflow.Refused, workflow.Conflict) as refused:
        form.add_error(None, sentence(refused.says))
        return False
    return True
