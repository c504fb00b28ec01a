"""What an inspector's link opens, without an account: the sealed set, changes, repairs, and what is to be corrected."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from functools import wraps
from typing import Any
from uuid import uuid4

from django.core.paginator import Paginator
from django.http import FileResponse, Http404, HttpRequest, HttpResponse, QueryDict
from django.http.response import HttpResponseBase
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST, require_safe

from changes.inspection import corrections, links, showing
from changes.inspection.corrections import told_of_one
from changes.inspection.forms import CorrectionForm, OnMarkForm, WordForm
from changes.models import Correction, InspectorLink
from trusses import pictures
from trusses.analysis.load_path.taken_up import TakenUp
from trusses.analysis.words.phrases import sentence
from trusses.copies.forms import photos_of
from trusses.designs import design_of
from trusses.forms import number_of
from trusses.marks.stages_page import looks_of
from trusses.models import Revision, Truss
from trusses.plan.copies import standing
from trusses.plan.page import told_of
from trusses.refusals import Refused
from trusses.sealing import seals
from trusses.sealing.models import SealedDrawing
from trusses.sealing.page import pdf_response
from trusses.sheets import cautions, fixing, sheet, words
from trusses.sheets.code_page import Looks

_PAGE = 50


View = Callable[..., HttpResponseBase]


def by_link(*, counted: bool = True) -> Callable[[View], View]:
    """Gives the view the link that the address names, while it counts. No engine lists what it answers. What a page
    shows many of isn't `counted` as opened while the link counts."""

    def with_link(view: View) -> View:
        @wraps(view)
        def answered(request: HttpRequest, token: str, **more: Any) -> HttpResponseBase:
            response = _answered(view, request, token, counted, **more)
            response["X-Robots-Tag"] = "noindex, nofollow"
            return response

        return answered

    return with_link


def _answered(view: View, request: HttpRequest, token: str, counted: bool, **more: Any) -> HttpResponseBase:
    if not counted and (link := links.found(token)) is not None and link.counts:
        return view(request, token, link, **more)
    looks = Looks()
    if not looks.allow_request(request, None):  # type: ignore[arg-type]
        wait = str(round(looks.wait() or 60))
        says = f"This was opened too often from here. Try again in {wait} seconds."
        page = render(request, "changes/inspect_not.html", {"says": says, "typed": _typed(request)}, status=429)
        page["Retry-After"] = wait
        return page
    link = links.found(token)
    if link is None:
        raise Http404("Not found.")
    if not link.counts:
        says = "This link has ended. Ask the builder or the truss designer for a new one."
        return render(request, "changes/inspect_not.html", {"says": says, "typed": _typed(request)}, status=410)
    return view(request, token, link, **more)


@never_cache
@require_safe
@by_link()
def inspect(request: HttpRequest, token: str, link: InspectorLink) -> HttpResponse:
    return _shown(request, token, link)


@never_cache
@require_POST
@by_link()
def correct(request: HttpRequest, token: str, link: InspectorLink) -> HttpResponseBase:
    """What is to be corrected, from the job's page or from a mark's, which shows what became of it."""
    on = number_of(request.POST.get("on"))
    row = _mark_or_404(link, on) if on is not None else None
    form = (
        _on_mark(row.truss, request.POST) if row else CorrectionForm(request.POST, trusses=showing.marks_of(link.job))
    )
    status = 422
    if form.is_valid():
        said = {name: value for name, value in form.cleaned_data.items() if name != "on"}
        try:
            truss = form.trusses.get(said.pop("mark"))
            corrections.correct(link, truss=truss, photos=photos_of(request), **said)
            return redirect(_after(token, truss, on_its_page=row is not None))
        except Refused as why:
            form.add_error(None, sentence(why.says))
            status = 409
    if row and isinstance(form, OnMarkForm):
        return _mark(request, token, link, row, form=form, status=status)
    return _shown(request, token, link, form, status)


def _after(token: str, truss: Truss | None, *, on_its_page: bool) -> str:
    if truss and on_its_page:
        return f"{reverse('changes:inspect-mark', args=[token, truss.pk])}#corrections"
    about = f"?about={truss.pk}" if truss else ""
    return f"{reverse('changes:inspect', args=[token])}{about}#corrections"


@never_cache
@require_POST
@by_link()
def word(request: HttpRequest, token: str, link: InspectorLink, pk: int) -> HttpResponseBase:
    """An inspector's word on what was done of a correction: accepted, or not yet."""
    rows = corrections.of_job(link.job).filter(pk=pk)
    if (row := rows.first()) is None:
        raise Http404("Not found.")
    on = number_of(request.POST.get("on"))
    its = _mark_or_404(link, on) if on is not None else None
    form, status = WordForm(request.POST, auto_id=f"word-{pk}-%s"), 422
    if form.is_valid():
        try:
            corrections.say(link, row, accepted=request.POST.get("word") == "accepted", **form.cleaned_data)
            return redirect(
                f"{_after(token, its.truss if its else None, on_its_page=True).partition('#')[0]}#correction-{pk}"
            )
        except Refused as why:
            form.add_error("says" if why.field else None, sentence(why.says))
            status = 422 if why.field else 409
    if its:
        return _mark(request, token, link, its, status=status, words={pk: form})
    return _shown(request, token, link, status=status, words={pk: form})


@never_cache
@require_safe
@by_link()
def drawing(request: HttpRequest, token: str, link: InspectorLink, pk: int) -> HttpResponse:
    """A sealed drawing of the set, as it was attached."""
    found = SealedDrawing.objects.select_related("truss", "revision").filter(pk=pk).first()
    if found is None or not showing.is_shown(link.job, found):
        raise Http404("Not found.")
    try:
        return pdf_response(found)
    except Refused as why:
        return HttpResponse(sentence(why.says), status=409, content_type="text/plain; charset=utf-8")


@never_cache
@require_safe
@by_link()
def plan(request: HttpRequest, token: str, link: InspectorLink) -> HttpResponse:
    """The plan of a level, without what is asked for on it. Its drawing leads to marks from below the link: it is kept,
    as any drawing is, and the link's address is kept nowhere."""
    told = told_of(request, link.job, lambda truss: f"../marks/{truss}/")
    return render(request, "changes/inspect_plan.html", {"link": link, "token": token, **told})


@never_cache
@require_safe
@by_link()
def mark(request: HttpRequest, token: str, link: InspectorLink, truss: int) -> HttpResponse:
    """One mark as it counts now: its elevation, lumber, loads and restraint."""
    return _mark(request, token, link, _mark_or_404(link, truss))


def _mark(
    request: HttpRequest,
    token: str,
    link: InspectorLink,
    row: showing.Mark,
    *,
    form: OnMarkForm | None = None,
    status: int = 200,
    words: dict[int, WordForm] | None = None,
) -> HttpResponse:
    its = [one for one in corrections.of_job(link.job) if row.truss.pk in corrections.stands_on(one)]
    told = {
        "fixed": fixing.listed(row.truss),
        "looks": looks_of(list(row.truss.copies.all())),
        "off": row.off,
        "repaired": row.repaired,
        "sealed": row.sealed,
        "corrections": _told(token, link, its, words or {}),
        "form": form or _on_mark(row.truss, link=link),
        "troubles": [form] if form else [],
    }
    return _one(request, token, link, row, row.truss.current, told, status)


def _on_mark(truss: Truss, data: QueryDict | None = None, link: InspectorLink | None = None) -> OnMarkForm:
    initial = {"key": uuid4(), "by_name": link.for_whom if link else ""}
    return OnMarkForm(data, truss=truss, listed=fixing.listed(truss), initial=initial)


@never_cache
@require_safe
@by_link()
def revision(request: HttpRequest, token: str, link: InspectorLink, truss: int, number: int) -> HttpResponseBase:
    """An earlier revision of a mark, for the copies that are built to it; where there are none there is no page."""
    row = _mark_or_404(link, truss)
    current = row.truss.current
    if number == current.number:
        return redirect("changes:inspect-mark", token, row.truss.pk)
    old = next((one for one in row.older if one.revision.number == number), None)
    if old is None:
        raise Http404("Not found.")
    shown = Revision.objects.get(pk=old.revision.pk)
    those = {copy.number for copy in old.copies}
    told = {
        "old": old,
        "sealed": old.sealed,
        "changed": sheet.what_changed(shown, current, {}, lists=f"of revision {current.number}"),
        "off": [one for one in row.off if those.intersection(one.copies)],
        "repaired": [one for one in row.repaired if those.intersection(one.copies)],
        "looks": looks_of([copy for copy in row.truss.copies.all() if copy.number in those]),
    }
    return _one(request, token, link, row, shown, told)


def _mark_or_404(link: InspectorLink, truss: int) -> showing.Mark:
    rows = Truss.objects.filter(job=link.job, withdrawn_at__isnull=True).select_related("current")
    found = rows.filter(pk=truss, current__isnull=False).first()
    if found is None:
        raise Http404("Not found.")
    return showing.marks(link.job, [found])[0]


def _one(
    request: HttpRequest,
    token: str,
    link: InspectorLink,
    row: showing.Mark,
    shown: Revision,
    told: dict[str, Any],
    status: int = 200,
) -> HttpResponse:
    design = design_of(shown.document)
    page = {
        "link": link,
        "job": link.job,
        "token": token,
        "row": row,
        "truss": row.truss,
        "shown": shown,
        "design": design,
        "pieces": sheet.pieces(design),
        "loads": words.loads(design, taken_up=TakenUp.read(shown.taken_up)),
        "restraints": words.restraints(design),
        "asked": seals.asked(link.job),
        "notice": cautions.STANDING_NOTICE,
    }
    return render(request, "changes/inspect_mark.html", page | told, status=status)


@never_cache
@require_safe
@by_link(counted=False)
def photo(request: HttpRequest, token: str, link: InspectorLink, of: str, pk: int, number: int) -> FileResponse:
    """A photo of a tick of the job's restraint, or of what was found of a copy."""
    found = showing.photographed(link.job, of, pk)
    if found is None:
        raise Http404("Not found.")
    return pictures.opened(link.job.pk, found.photos, number)


def _shown(
    request: HttpRequest,
    token: str,
    link: InspectorLink,
    form: CorrectionForm | None = None,
    status: int = 200,
    words: dict[int, WordForm] | None = None,
) -> HttpResponse:
    links.opened(link)
    trusses = showing.marks_of(link.job)
    page = Paginator(trusses, _PAGE).get_page(request.GET.get("page"))
    initial = {"key": uuid4(), "mark": request.GET.get("about", ""), "by_name": link.for_whom}
    told = {
        "link": link,
        "job": link.job,
        "token": token,
        "page": page,
        "index": showing.index(link.job, trusses, _PAGE),
        "planned": bool(standing(link.job)),
        "marks": showing.marks(link.job, page),
        "asked": seals.asked(link.job),
        "changes": showing.changes(link.job),
        "repairs": showing.repairs(link.job),
        "corrections": _told(token, link, corrections.of_job(link.job), words or {}),
        "form": form or CorrectionForm(trusses=trusses, initial=initial),
        "troubles": [form] if form else [],
        "notice": cautions.STANDING_NOTICE,
    }
    return render(request, "changes/inspect.html", told, status=status)


def _told(
    token: str, link: InspectorLink, rows: Iterable[Correction], tried: Mapping[int, WordForm]
) -> list[dict[str, Any]]:
    """Corrections as the inspector reads them, those that wait for the inspector first and those that ended last, each
    with the form for a word on it where this link has that."""

    def photo(of: str, pk: int, number: int) -> str:
        return reverse("changes:inspect-photo", args=[token, of, pk, number])

    found = []
    for one in sorted(rows, key=lambda one: (one.state != one.State.ANSWERED, not one.is_open)):
        may = one.state != one.State.ACCEPTED and corrections.has_the_word(link, one)
        new = WordForm(auto_id=f"word-{one.pk}-%s", initial={"key": uuid4(), "by_name": link.for_whom})
        form = tried.get(one.pk) or (new if may else None)
        found.append({**told_of_one(one, photo), "form": form, "tried": [form] if one.pk in tried else []})
    return found


def _typed(request: HttpRequest) -> str:
    """What a form brought that is not taken, so that it isn't lost."""
    return request.POST.get("says", "")[:2000]
