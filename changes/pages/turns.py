"""“Your turn” and what is new, over all jobs of a person: a page, and the words of its link, which every page loads."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.views.decorators.cache import never_cache

from changes.inspection import corrections
from changes.models import Kind, Request, State
from changes.pages.in_short import NOT_SEALED, answers, since, state_says, tone
from changes.workflow import turns
from changes.workflow.ending import unfinished
from trusses.analysis.words.phrases import copies, counted, listed
from trusses.copies.onward import stopped_each
from trusses.forms import number_of
from trusses.models import Role, Stage, Truss
from trusses.permissions import jobs_of
from trusses.sealing.records_page import address as record_together
from trusses.sealing.seals import OTHERS
from trusses.sealing.together_page import address as seal_together
from trusses.sheets import fixing
from trusses.templatetags.onward import address
from trusses.words.onward import to_do, what_keeps

SAYS = {
    "hold": "acknowledge or refuse the hold",
    "decide": "decide",
    "damage": "it tells of damage and couldn’t be computed; compute it again, or decline it if nothing is damaged",
    "answer": "answer the question with which it was sent back to you",
    "compute": "it couldn’t be computed; compute it again",
    "records": "its sealed repair isn’t finished: attach or record what it lacks",
    "repair": "once its sealed repair is carried out, record that",
}
"""What is to be done of a request, by why it is somebody's turn."""


@login_required
def turns_page(request: HttpRequest) -> HttpResponse:
    found = turns.turns(request.user)
    waits = [wait for one in found for wait in one.waits]
    kept = {(truss.pk, step.name): own for (truss, step), own in zip(waits, stopped_each(waits), strict=True)}
    lines = [
        {
            "turn": one,
            "says": ", then ".join(SAYS[why] for why in one.why if why in SAYS),
            "keep_off": _keep_off(one),
            **_onward(request.user, one, kept),
            **_correct(one),
        }
        for one in found
    ]
    new = turns.news(request.user)
    ended = {one.job_id for one in new if one.state == State.APPROVED and _tells_of_damage(one)}
    lacks = unfinished(ended) if ended else {}
    became = since(new)
    news = []
    for one in new:
        told = one.asks.all(), lacks.get(one.pk, ()), became.get(one.pk, NOT_SEALED)
        says = {"tone": tone(one.state, *told), "state_says": state_says(one.state, *told)}
        # what was computed is told until somebody decides
        news.append(
            {"change": one, "marks": turns.marks_of(one), **says, "answers": answers(told[0]) if one.is_open else ""}
        )
    jobs = jobs_of(request.user)
    asked = request.GET.get("job", "")
    here = [job for job in jobs if str(job.pk) == asked] or (list(jobs) if len(jobs) == 1 else [])
    page = {"lines": lines, "news": news, "rows": _rows_open(jobs), "job": here[0] if here else None}
    # of one job no row has to name it
    return render(request, "changes/turns.html", page | {"several": len(jobs) > 1})


def _tells_of_damage(change: Request) -> bool:
    return any(ask.kind == Kind.DAMAGE for ask in change.asks.all())


def _keep_off(turn: turns.Turn) -> str:
    """Copy 2 of R3 is damaged: keep off."""
    if not turn.damaged:
        return ""
    those = listed([f"{copies(numbers)} of {mark}" for mark, numbers in turn.damaged])
    many = len(turn.damaged) > 1 or len(turn.damaged[0][1]) > 1
    return (
        f"{those[0].upper()}{those[1:]} {'are' if many else 'is'} damaged: keep off, and keep everybody out from under"
    )


def _correct(turn: turns.Turn) -> dict[str, str]:
    """What an inspector waits to be answered, and the form for it."""
    if not turn.corrections:
        return {}
    first, count = turn.corrections[0], len(turn.corrections)
    word = first.words.last()
    says = f"an inspector says that it isn’t yet as it should be: “{cut(word.says)}”" if word else ""
    says = says or f"an inspector asked for a correction: “{cut(first.says)}”"
    more = f", and for {counted(count - 1, 'another', 'others')}" if count > 1 else ""
    return {"says": f"Answer it, {says}{more}", "at": corrections.address(first)}


def cut(says: str) -> str:
    return says.rstrip(".") if len(says) <= 140 else f"{says[:139]}…"


Kept = Mapping[tuple[int, str], tuple[int, ...]]
"""{(mark's id, step): the copies that something keeps from it}"""


def _onward(user: Any, turn: turns.Turn, kept: Kept) -> dict[str, str]:
    """What marks wait for, in words, and where it is done; of several marks their list, or one form for all."""
    if not turn.waits:
        return {}
    truss, step = turn.waits[0]
    if len(turn.waits) > 1:
        forms = {"sealed": seal_together, **dict.fromkeys(OTHERS, record_together)}
        together = step.name in forms and forms[step.name](user, truss.job, [one.current for one, _ in turn.waits])
        return {
            "says": _of_each(turn, step.name, kept),
            "at": together or reverse("trusses:sheets", args=[truss.job_id]),
        }
    says = to_do(step.name, step.copies, kept[truss.pk, step.name])
    # what comes to the site or is set may be built to an earlier revision and stay by it
    on_site = step.name in (Stage.DELIVERED, Stage.SET)
    return {"says": says if on_site else f"revision {truss.current.number}: {says}", "at": address(truss.current, step)}


def _of_each(turn: turns.Turn, name: str, every: Kept) -> str:
    """A mark all of whose copies something keeps from the step isn't counted among those to be moved on."""
    kept = [one.mark for one, step in turn.waits if step.copies and set(step.copies) <= set(every[one.pk, name])]
    free = [mark for mark in turn.marks if mark not in kept]
    those, of_each = (f"{len(free)} marks", " of each") if len(free) > 1 else ("".join(free), "")
    says = [f"{those}: {to_do(name, ())}{of_each}"] if free else []
    return "; ".join([*says, *([what_keeps(name, kept)] if kept else [])])


def _rows_open(jobs: Iterable[Any]) -> list[dict[str, Any]]:
    """Marks that are being set and of which something to fix can be ticked and isn't yet, for whoever ticks it."""
    sites = [job.pk for job in jobs if job.role == Role.SITE_LEAD]
    rows = Truss.objects.filter(job__in=sites, copies__stage=Stage.SET, withdrawn_at=None).distinct()
    marks = list(rows.select_related("job", "current").order_by("job", "mark"))
    each = zip(marks, fixing.listed_each(marks) if marks else (), strict=True)
    found = [
        {"truss": truss, "open": sum(not (one.done or one.item.waits) for one in listed)} for truss, listed in each
    ]
    return [row for row in found if row["open"]]


@never_cache
@login_required
def count(request: HttpRequest) -> HttpResponse:
    """The words of the link; `opened` is the request whose page asks for them, and what it tells is seen by that."""
    if opened := number_of(request.GET.get("opened")):
        turns.see(request.user, opened)
    told = {"turns": len(turns.turns(request.user)), "news": len(turns.news(request.user))}
    return render(request, "changes/_turns.html", told)
