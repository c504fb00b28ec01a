"""One mark's page, and its copies moved on from there."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.http import urlencode
from django.views.decorators.cache import cache_control
from django.views.decorators.http import require_POST

from trusses import kept_drawings, words
from trusses.bearings import links, standing
from trusses.copies import earlier, harmed, looks, old_ones, undoing
from trusses.copies.forms import look_of, points_of, says_nothing, shown_of, typed_of
from trusses.copies.words import kin
from trusses.designs import design_of
from trusses.forms import number_of
from trusses.marks.stages_page import TAPS, looks_of, say_just, stages_of
from trusses.models import STAGE_ORDER, Copy, Revision, Role, Stage, Truss
from trusses.permissions import designers, may, revision_or_404, role_in, truss_or_404
from trusses.plan import placing
from trusses.plan.feet import feet
from trusses.plan.page import level_names
from trusses.plan.where import where
from trusses.production import all_cut, furthest_behind, what_is_open
from trusses.refusals import NotAllowed, Refused
from trusses.sealing import seals
from trusses.sheets import sheet
from trusses.sheets.words import lacking
from trusses.words import runs


@login_required
def mark(request: HttpRequest, job: int, truss: int) -> HttpResponse:
    return mark_page(request, truss_or_404(request.user, truss, job=job))


def mark_page(request: HttpRequest, truss: Truss, **told: Any) -> HttpResponse:
    """One mark; `told` brings back what was typed when moving its copies was refused."""
    role = role_in(request.user, truss.job)
    heavy = (*sheet.HEAVY, *(one.replace("built_to", "released_to") for one in sheet.HEAVY))
    copies = list(truss.copies.select_related("built_to__truss", "released_to__truss").defer(*heavy))
    stages = stages_of(truss, copies, role)
    ticked = number_of(request.GET.get("ticked"))
    tapped = next((copy for copy in copies if copy.pk == ticked), None)
    just = undoing.just_said(request.user, role, tapped) if tapped else None
    if tapped and just:
        say_just(stages, tapped, just)
    rows = truss.revisions.select_related("issued_by", "issue__decision").defer("document", "analysis")
    revisions = list(rows.order_by("-number"))
    page = {
        "job": truss.job,
        "truss": truss,
        "revision": truss.current,
        "design": design_of(truss.current.document),
        "today": truss.job.today(),
        "role": role,
        # what else may stand in the way, the page behind the link says
        "may_correct": role == Role.DESIGNER and _still_first(revisions, copies),
        "may_ask": may(request.user, "ask for a change", truss.job),
        "may_tell": may(request.user, "tell of damage or ask a question", truss.job),
        "closed": words.closed(truss.past_change),
        "asks": designers(truss.job),
        "revisions": revisions,
        "copies": copies,
        "numbers": sheet.numbers(copies),
        "all_cut": all_cut(copy.stage for copy in copies),
        "record": truss.events.select_related("by"),
        "kin": kin(truss),
        "off": (off := harmed.off(copies)),
        "all_off": harmed.together(off),
        "stages": stages,
        "just": just,
        "just_copy": tapped,
        "looks": (found := looks_of(copies)),
        "looked": {copy.pk for one in found for copy in one["copies"]},
        "may_close": may(request.user, looks.VERB, truss.job),
        "earlier": earlier.groups(truss, copies),
        "earlier_says": earlier.says(truss, copies),
        "earlier_what": earlier.WHAT.items(),
        "may_say": may(request.user, earlier.VERB, truss.job),
        "old_ones": old_ones.there(truss),
        "may_say_gone": may(request.user, old_ones.VERB, truss.job),
        "seal": (seal := seals.seal_of(truss.current)),
        "seal_lacks": lacking(seal) if seal else "",
        "furthest_behind": furthest_behind({copy.stage: 1 for copy in copies}),
        **where(truss),
        "feet": feet(truss),
        "carries": standing.carried(truss),
        "may_place": may(request.user, placing.VERB, truss.job) and not truss.withdrawn_at,
        "may_link": may(request.user, links.VERB, truss.job),
        **told,
    }
    return render(request, "trusses/mark.html", page, status=422 if told else 200)


def _still_first(revisions: list[Revision], copies: list[Copy]) -> bool:
    """Whether no decision issued a revision of it, a variant's first one included, and nothing of it is begun."""
    begun = any(copy.stage != Stage.DESIGNING for copy in copies)
    return not begun and not any(hasattr(one, "issue") for one in revisions)


@login_required
@require_POST
def move_copies(request: HttpRequest, job: int, truss: int) -> HttpResponse:
    """Tick copies on to their next stage: some that were chosen, or all of a stage."""
    mark = truss_or_404(request.user, truss, job=job)
    to, found = request.POST.get("to", ""), request.POST.get("found", "").replace("\x00", "").strip()
    if sure := _sure(request, mark, to, found):
        return sure
    chosen = mark.copies.filter(stage=request.POST.get("all")) if request.POST.get("all") else None
    try:
        ids = _ids(request) if chosen is None else chosen.values_list("pk", flat=True)
        if request.POST.get("clear") and "Idempotency-Key" in request.headers:
            _refuse_open_since(mark, ids)
        seen = revision_or_404(request.user, pk=request.POST["seen"], truss=mark) if request.POST.get("seen") else None
        ticked = looks.tick(request.user, mark, ids, to, note=found, seen=seen, **look_of(request))
    except NotAllowed:
        raise
    except ValueError as trouble:
        says = trouble.says if isinstance(trouble, Refused) else "Choose copies from the list."
        return mark_page(
            request,
            mark,
            trouble=says,
            typed={"to": to, "found": found, "copies": chosen_of(request), **typed_of(request)},
        )
    _say(request, to, ticked)
    if ticked.wrong:  # what is to be done with it stands beside what was found
        return redirect(f"{reverse('trusses:mark', args=(job, truss))}#looks")
    if request.POST.get("level"):  # ticked in the order of setting
        return redirect(in_order(mark, next(iter(chosen_of(request)), 0)))
    one = chosen_of(request) if to in TAPS and chosen is None else ()
    return redirect(among_copies(mark, *one))


def _refuse_open_since(mark: Truss, ids: Iterable[int]) -> None:
    """A tap of a phone is of copies of which nothing was asked when it showed them. Raises Refused."""
    copies = list(mark.copies.filter(pk__in=ids).exclude(stage=Stage.SET).select_related("truss").order_by("number"))
    if those := [copy.number for copy in copies if copy.pk in what_is_open(copies)]:
        raise Refused("open-since", "copies", mark=mark.mark, copies=those)


def among_copies(mark: Truss, *copies: int) -> str:
    """The copies on their mark's page, where what was just said of one stands in its row."""
    said = f"?ticked={copies[0]}" if len(copies) == 1 else ""
    return f"{reverse('trusses:mark', args=(mark.job_id, mark.pk))}{said}#copies"


def in_order(mark: Truss, copy: int) -> str:
    """Where a copy that was just ticked stands in the order of setting today: its level may have got another name, or
    it another level, since."""
    at, place = reverse("trusses:setting", args=(mark.job_id,)), mark.copies.filter(pk=copy, placement__isnull=False)
    level = place.values_list("placement__level", flat=True).first() or ""
    return (
        f"{at}?{urlencode({'level': level, 'ticked': str(copy)})}#copy-{copy}" if level in level_names(mark.job) else at
    )


def _say(request: HttpRequest, to: str, ticked: looks.Ticked) -> None:
    moved, wrong = ticked.moved, ticked.wrong
    those = f"cop{'y' if len(wrong) == 1 else 'ies'} {runs(wrong)}"
    if wrong and to == Stage.SET:
        messages.warning(request, f"Kept what was found of {those}. Nothing was ticked as set.")
        return
    now = f"{moved} cop{'y is' if moved == 1 else 'ies are'} {to} now." if moved else f"They were {to} already."
    messages.success(request, now)
    if wrong:
        messages.warning(request, f"Something is wrong with {those}: not to be set before it is closed, as below.")


def _ids(request: HttpRequest) -> list[int]:
    """The copies that were chosen. Raises ValueError where one is no number, or none that a row has."""
    sent = [number_of(one) for one in request.POST.getlist("copy")]
    if None in sent:
        raise ValueError("no copy")
    return [one for one in sent if one is not None]


def chosen_of(request: HttpRequest) -> set[int]:
    """The copies that were ticked, to be ticked again where something was refused."""
    return {pk for one in request.POST.getlist("copy") if (pk := number_of(one)) is not None}


def _sure(request: HttpRequest, mark: Truss, to: str, found: str) -> HttpResponse | None:
    """The page that asks whether these copies are meant, and how they came where nothing was said of that, and sends
    them by name; None where neither is to be asked, and for what is refused anyway, which then says so."""
    stage, role, unsaid = request.POST.get("all"), role_in(request.user, mark.job), says_nothing(request)
    seen, words = request.POST.get("seen"), (found, typed_of(request)["asked_says"])
    if any(len(one) > looks.LONGEST for one in words) or (seen and seen != str(mark.current.pk)) or request.FILES:
        return None
    here = mark.copies.select_related("built_to").defer(*sheet.HEAVY)
    copies = list(here.filter(stage=stage) if stage else here.filter(pk__in=chosen_of(request)))
    if not stage and len(copies) != len(set(request.POST.getlist("copy"))):
        return None
    if not (stage or unsaid or _asks(request, to, copies)):
        return None
    if stage == Stage.RELEASED:  # to the current revision once more, or to the saw: never both in one
        copies = [copy for copy in copies if (copy.released_to_id != mark.current.pk) == (to == Stage.RELEASED)]
    groups = stages_of(mark, copies, role)
    those = [one for one in groups if one["to"] == to and stage in (None, one["stage"])]
    if len(those) > 1:
        return mark_page(
            request,
            mark,
            trouble="Some of these copies are released to an earlier revision, others to none: choose the ones, then"
            " the others.",
            typed={"to": to, "found": found, "copies": chosen_of(request), **typed_of(request)},
        )
    group = those[0] if those else None
    if group is None or group["never"] or group["blocked"] or group["kept"]:
        return None
    typed = typed_of(request)
    asked = group["asks"] if not stage and typed["asked"] and typed["asked_says"] else set()
    going = [copy for copy in group["sound"] if copy in group["free"] or copy.pk in asked]
    early = any(STAGE_ORDER[copy.stage] < STAGE_ORDER[group["stage"]] for copy in copies)
    if not going or (not stage and (group["kept_off"] - asked or early)):
        return None
    page = {
        "job": mark.job,
        "truss": mark,
        "revision": mark.current,
        "group": group | {"copies": going, "numbers": sheet.numbers(going), "kept_off": group["kept_off"] - asked},
        "found": found,
        "all": stage,
        "unsaid": unsaid,
        "shown": shown_of(request),
        **{name: request.POST.get(name, "").replace("\x00", "")[:100] for name in ("known", "level")},
        **typed,
        "asked": bool(asked),
        "points": points_of(request),
    }
    return render(request, "trusses/sure.html", {**page, "seen": request.POST.get("seen", "")})


def _asks(request: HttpRequest, to: str, copies: Sequence[Copy]) -> bool:
    """Whether it is asked of copies that were chosen, until the answer comes: always before the saw, later where
    something is open on them. What a phone sends on was typed below what was open, and is done by now."""
    if request.POST.get("sure"):
        return False
    if to in (Stage.RELEASED, Stage.CUT):
        return True
    later = "Idempotency-Key" in request.headers
    return to in (Stage.BUILT, Stage.SET) and not later and bool(what_is_open(copies))


@login_required
@cache_control(private=True, max_age=31_536_000, immutable=True)
def small_elevation(request: HttpRequest, job: int, truss: int, number: int) -> HttpResponse:
    """The small drawing of a list. A revision never changes, so a phone fetches it once."""
    revision = revision_or_404(request.user, truss=truss, truss__job=job, number=number)
    picture = kept_drawings.elevation(revision.document, detail="thumb", width_px=320, prefix="thumb")
    return HttpResponse(picture, content_type="image/svg+xml; charset=utf-8")
