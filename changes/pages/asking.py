"""The page where a builder asks: an opening dragged or typed, answered while it moves."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Sequence
from typing import Any

from django.contrib.auth.decorators import login_required
from django.http import HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.views.decorators.cache import never_cache
from shapely.geometry.base import BaseGeometry

from changes import workflow
from changes.asks.likely import likely
from changes.asks.live_fit import beside, pockets_of, room_of
from changes.asks.opening import with_openings
from changes.asks.pending import Pending, pending
from changes.computations import want_atlas
from changes.models import Kind
from changes.pages import in_short
from changes.pages.copies import CopiesForm
from changes.pages.datum import Size, datum_of
from changes.pages.forms import (
    PIPE_SIZES_IN,
    REASONS,
    ROUND_SIZES_IN,
    TRUNK_SIZES_IN,
    FilingForm,
    OpeningForm,
)
from changes.words import at_once
from trusses import words
from trusses.analysis.clearance.apart import centres_beside, overlap
from trusses.analysis.clearance.free_space import free_centres
from trusses.analysis.clearance.openings import OpeningError, Space, fit, moved, nearest
from trusses.analysis.format.document import DocumentError, read_opening
from trusses.analysis.format.model import Opening
from trusses.analysis.format.model import Truss as Design
from trusses.analysis.words.lengths import feet_inches
from trusses.analysis.words.phrases import sentence
from trusses.designs import stored_design
from trusses.htmx import HtmxRequest
from trusses.models import Truss
from trusses.permissions import designers, one_or_404, require

HAIR_IN = 1 / 32
"""What no tape shows."""


SENT_ALREADY = (
    "This form was sent already, and what was sent stands as it was. To change it, withdraw that request; to ask for "
    "something else as well, start a new one from the page of the mark."
)


@login_required
@never_cache  # back after sending shows the page as it is now, not the form that was sent
def ask(request: HtmxRequest, job: int, truss: int) -> HttpResponse:
    """An opening, dragged or typed, answered while it moves; then why, by when, and off it goes."""
    rows = Truss.objects.select_related("job", "current").defer("current__analysis", "current__document")
    mark = one_or_404(rows, request.user, pk=truss, job=job)
    require(request.user, "ask for a change", mark.job)
    if request.method != "POST" and (closed := words.closed(mark.past_change)):  # what was typed before that comes back
        page = {"job": mark.job, "truss": mark, "closed": closed, "asks": designers(mark.job)}
        return render(request, "changes/closed.html", page)
    design = stored_design(mark.current.sha256)
    posted = request.POST if request.method == "POST" else None  # an empty body was sent as well
    tape = datum_of(mark.current.sha256)
    # An address may bring what the form starts with, so that an ask can be prepared and sent as a link.
    start = {**(OpeningForm.first_place(design, tape) if posted is None else {}), **request.GET.dict()}
    form = OpeningForm(posted, design=design, datum=tape, initial=start)
    if request.htmx and posted is not None:  # a preview, which never sends
        return render(request, "changes/_ask_answer.html", _preview(mark, design, form, posted.get("shown", "")))
    days: dict[str, Any] = {"today": mark.job.today(), "last_day": mark.can_change_until}
    filing = FilingForm(posted, **days, initial={"reason": start.get("reason", "")})
    copies = CopiesForm(posted, truss=mark, start=str(start.get("copies", "")))
    sends = request.method == "POST" and "send" in request.POST
    if sends and all([form.is_valid(), filing.is_valid(), copies.sound]):
        try:
            change = workflow.file(
                request.user,
                mark.job,
                reason=filing.cleaned_data["reason"],
                needed_by=filing.cleaned_data["needed_by"],
                asks=[{"truss": mark, "kind": Kind.OPENING, "opening": form.opening(), **copies.chosen()}],
                key=filing.cleaned_data["key"],
                body_sha256=_fingerprint(form, filing, mark.pk),
            )
        except workflow.Refused as refused:
            filing.add_error(None, sentence(refused.says))  # the opening is answered all the same
        except workflow.Conflict:
            filing.add_error(None, SENT_ALREADY)
        else:
            return redirect("changes:request", pk=change.pk)
    elif request.method != "POST":
        # The first picture needs an opening as well: the form's own initial values, read like typed ones.
        typed = {name: field.prepare_value(start.get(name, field.initial)) for name, field in form.fields.items()}
        form = OpeningForm(typed, design=design, datum=tape)
        form.is_valid()
        want_atlas(mark)
    answer = _answer(mark, design, form, pending([mark.pk]).get(mark.pk, []))
    answer["title"] = design.title
    answer["designed"] = design.document.get("openings", ())
    sizes = {
        "round_sizes": ROUND_SIZES_IN,
        "trunk_sizes": TRUNK_SIZES_IN,
        "pipe_sizes": PIPE_SIZES_IN,
        "reasons": REASONS,
    }
    page = {"job": mark.job, "truss": mark, "form": form, "filing": filing, "copies": copies, **answer, **sizes}
    page["pockets"] = json.dumps(pockets_of(mark.current.sha256))
    page["asked_already"] = in_short.open_requests(request.user, mark)
    # what this browser kept of a form that was filed is never brought back
    page["filed"] = json.dumps(workflow.keys_used(request.user, mark))
    page["not_sent"] = "send" in request.POST  # what was filed doesn't come back here
    page["forms"] = [form, copies, filing]
    return render(request, "changes/ask.html", page, status=422 if page["not_sent"] else 200)


def _preview(mark: Truss, design: Design, form: OpeningForm, shown: str) -> dict[str, Any]:
    """The picture and what is said of it, in the size that the browser shows it in; both where it doesn't say which."""
    answer = _answer(mark, design, form, pending([mark.pk]).get(mark.pk, []))
    return {"job": mark.job, "truss": mark, "form": form, **answer, "shown": shown, "oob": True}


def _fingerprint(form: OpeningForm, filing: FilingForm, truss: int) -> str:
    body = {"truss": truss, **dict(form.data.items()), **dict(filing.data.items())}
    if isinstance(form.data, QueryDict):
        body["copies"] = form.data.getlist("copies")
    body.pop("csrfmiddlewaretoken", None)
    return hashlib.sha256(json.dumps(body, sort_keys=True).encode()).hexdigest()


def _answer(mark: Truss, design: Design, form: OpeningForm, others: list[Pending]) -> dict[str, Any]:
    """What the page says of the opening in the form: the verdict, the nearest place, what the picture needs. `others`
    are asked for by open requests: they are drawn too."""
    face = form.hooked
    drawn = with_openings(design.document, [one.opening for one in others])
    known = {
        "document": drawn,
        "pending": others,
        "theirs": [one["id"] for one in drawn["openings"][len(design.openings) :]],
        "faces": json.dumps({one.key: {"x": round(one.x, 4), "way": one.way} for one in form.datum.faces}),
        "ask_from": (face.joint, face.way),
        "floor": json.dumps([[round(x, 4), round(y, 4)] for x, y in form.datum.floor]),
        "opening": None,
        "fit": None,
        "touched": (),
    }
    if form.errors:
        return known
    try:
        room, held = room_of(mark.current.sha256)
        opening = read_opening(form.opening())
        found = fit(room, opening)
        offers, all_taken = [], False
        if not found.fits:
            taken, free = [*held, *(read_opening(one.opening) for one in others)], free_centres(room, opening)
            beside_them = centres_beside(free, opening, taken)
            offers = _offers(form, room, opening, beside_them, taken)
            all_taken = beside_them.is_empty and not free.is_empty
    except (DocumentError, OpeningError) as trouble:
        form.add_error(None, sentence(trouble.says))
        return known
    return {
        **known,
        # under the name that it gets beside those which the truss has and which others ask for
        "opening": with_openings(drawn, [form.opening()])["openings"][-1],
        "fit": found,
        "says_first": at_once(found.fits, found.never, found.called),
        "beside": beside(mark, opening, found, others),
        "likely": likely(mark, room, opening, found),
        "touched": found.touches,
        "offers": offers,
        "all_taken": all_taken,
    }


def _offers(
    form: OpeningForm, room: Space, opening: Opening, free: BaseGeometry, taken: Sequence[Opening]
) -> list[dict[str, Any]]:
    """The nearest place where it fits and, where that is higher or lower, the nearest one at its own height: what the
    fields would say there, and which way that is. `free` are the places for its centre where it meets neither wood nor
    any of `taken`."""
    datum, face, size = form.datum, form.hooked, Size.of(form.opening())
    found: list[dict[str, Any]] = []
    for level in (False, True):
        place = nearest(room, opening, level=level, free=free)
        marks = datum.taped(face, place.centre_in, size) if place else ()
        for along, up in marks:
            centre = datum.centre(face, (along, up), size)
            right, higher = centre[0] - opening.centre[0], centre[1] - opening.centre[1]
            if level and abs(higher) > HAIR_IN:
                continue
            if fit(room, there := moved(opening, centre)).fits and not overlap(there, taken):
                found.append({"along": along, "up": up, "way": _way(right, higher), "level": level})
                break
        if found and abs(higher) <= HAIR_IN:
            break  # the nearest place is at its own height already
    return found


def _way(right: float, higher: float) -> str:
    """8 15/16" to the left and 2" up; what is too little to measure isn't said."""
    ways = [(right, "to the right", "to the left"), (higher, "up", "down")]
    return " and ".join(
        f"{feet_inches(abs(by))} {more if by > 0 else less}" for by, more, less in ways if abs(by) > HAIR_IN
    )
