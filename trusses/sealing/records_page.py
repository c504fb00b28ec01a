"""What others decided of several sealed drawings in one form: who reviewed or accepted them, on which day and by what
that is told, once each, with the drawings that it is of.

Each is recorded for itself, by the same verb as alone: what is refused of one keeps none of the others out.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any
from urllib.parse import urlencode

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.cache import never_cache

from trusses.analysis.words.phrases import as_counted, listed, sentence
from trusses.forms import number_of
from trusses.models import Job, Revision
from trusses.permissions import job_or_404, may, require, visible
from trusses.refusals import Refused
from trusses.sealing import recording, seals
from trusses.sealing.forms import OfSeveralForm
from trusses.sealing.models import SealedDrawing
from trusses.sealing.seals import OTHERS

MOST = 24
"""Drawings in one form, as many as are attached in one."""


@dataclass(frozen=True)
class Row:
    """One drawing of the form, with what was recorded of it."""

    seal: seals.Seal

    @property
    def drawing(self) -> SealedDrawing:
        return self.seal.drawing

    @property
    def called(self) -> str:
        return f"{self.drawing.truss.mark} revision {self.drawing.revision.number}"

    @property
    def late(self) -> str:
        """Why nothing is recorded of it here any more, as a sentence: an address is kept while others decide."""
        truss, revision = self.drawing.truss, self.drawing.revision
        about = {"mark": truss.mark, "number": revision.number}
        if truss.withdrawn_at:
            return Refused("record-withdrawn-mark", mark=truss.mark).says
        if self.seal.withdrawn:
            return Refused("record-withdrawn", **about).says
        if truss.current and not revision.is_current:
            return Refused("record-late", **about, current=truss.current.number).says
        return ""

    def lacks(self, kind: str) -> bool:
        return kind in self.seal.lacks and not self.late


def address(user: Any, job: Job, revisions: Iterable[Revision]) -> str:
    """Where it is recorded together what others decided of the sealed drawings of some revisions; empty where fewer
    than two of them lack any of it, or it is another's to record."""
    current = [one.pk for one in revisions if one.is_current and not one.truss.withdrawn_at]
    lack = [one.drawing.pk for one in seals.seals_of(job, current).values() if set(one.lacks) & set(OTHERS)]
    if not 1 < len(lack) <= MOST or not may(user, seals.RECORDS[OTHERS[0]], job):
        return ""
    return f"{reverse('trusses:record-seals', args=[job.pk])}?{urlencode({'drawing': sorted(lack)}, doseq=True)}"


@login_required
@never_cache
def record_several(request: HttpRequest, job: int) -> HttpResponse:
    building = job_or_404(request.user, job)
    require(request.user, seals.RECORDS[OTHERS[0]], building)
    wanted = [one for sent in request.GET.getlist("drawing")[:MOST] if (one := number_of(sent)) is not None]
    found = visible(SealedDrawing, request.user).filter(pk__in=wanted, truss__job=building, copies=[])
    drawings = list(found.values_list("pk", flat=True))
    if not drawings:
        raise Http404("Not found.")
    sends, rows = request.method == "POST", _rows(drawings)
    every = [(row.drawing.pk, row.called) for row in rows]
    typed = request.POST if sends else None
    forms = {kind: OfSeveralForm(typed, kind=kind, drawings=every) for kind in OTHERS}
    done: dict[str, list[str]] = {}
    if sends:
        done = _recorded(request.user, forms, rows)
        for kind, called in done.items():
            messages.success(request, f"Recorded as {seals.Kind(kind).label}: {listed(called)}.")
        if not any(form.errors for form in forms.values()):
            return redirect(request.get_full_path())
        rows = _rows(drawings)
        # what is on record was typed of nothing that is still to be ticked
        forms |= {kind: OfSeveralForm(None, kind=kind, drawings=every) for kind in done if not forms[kind].errors}
    for kind, form in forms.items():
        left = {row.drawing.pk: row.called for row in rows if row.lacks(kind)}
        form.offer(list(left.items()))
        if form.errors and left and set(request.POST.getlist(f"{kind}-of")) - set(map(str, left)):
            form.left = listed(list(left.values()))
    page = {
        "job": building,
        "rows": rows,
        "forms": list(forms.values()),
        "open": [form for form in forms.values() if form.offers],
        "late": [row for row in rows if row.late],
        "refused": sends,
        "done": bool(done),
        # a form of which nothing is left to record isn't there to be led to
        "linkless": any(form.errors and not form.offers for form in forms.values()),
    }
    return render(request, "trusses/seal_records.html", page, status=422 if sends else 200)


def _rows(drawings: Sequence[int]) -> list[Row]:
    rows = [Row(one) for one in seals.these(drawings)]
    return sorted(rows, key=lambda row: (as_counted(row.drawing.truss.mark), row.drawing.revision.number))


def _recorded(user: Any, forms: Mapping[str, OfSeveralForm], rows: Sequence[Row]) -> dict[str, list[str]]:
    """Records what was typed of each drawing that was ticked, and answers of which; what is refused stands in its
    form."""
    by_id = {str(row.drawing.pk): row for row in rows}
    typed = {kind: form for kind, form in forms.items() if form.has_changed()}
    if not typed:
        next(iter(forms.values())).add_error(None, "Tick the drawings, and say who decided it and when.")
    done: dict[str, list[str]] = {}
    for kind, form in typed.items():
        if not form.is_valid():
            continue
        said = {name: form.cleaned_data[name] for name in ("name", "on", "told_by")}
        for row in [by_id[pk] for pk in form.cleaned_data["of"]]:
            if row.late:
                form.add_error("of", row.late)
                continue
            try:
                recording.record(user, row.drawing, kind, **said)
            except Refused as refused:
                if refused.field in form.fields and refused.code != _OF_ONE:
                    form.add_error(refused.field, sentence(refused.says))  # it would be the same of each
                    break
                if refused.code != "recorded-already":
                    form.add_error("of", f"{row.called}: {refused.says}")
                    continue
                if (trouble := _by_another(user, row, kind, said)) is not None:
                    form.add_error("of", trouble)
                    continue
            done.setdefault(kind, []).append(row.called)
    return done


_OF_ONE = "before-the-seal"
"""The one refusal of a day that is of a drawing, not of what was decided of all of them."""


def _by_another(user: Any, row: Row, kind: str, said: Mapping[str, Any]) -> str | None:
    """What stands already of a drawing; None where it is the very same, sent twice."""
    stands = seals.with_records(row.drawing).records[kind]
    typed = {name: recording.one_line(value) if isinstance(value, str) else value for name, value in said.items()}
    if stands.by_id == user.pk and all(getattr(stands, name) == value for name, value in typed.items()):
        return None
    by = stands.by.get_full_name() or stands.by.get_username()
    about = {"mark": row.drawing.truss.mark, "number": row.drawing.revision.number}
    return Refused("recorded-by-another", **about, by=by, name=stands.name, on=stands.on.isoformat()).says
