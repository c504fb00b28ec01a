"""The sheets' pages: what is current for a whole job, the sheet of one revision, and what stands on printed edges."""

from __future__ import annotations

from collections.abc import Sequence

from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.cache import cache_control

from trusses import paper_codes, verdicts
from trusses.analysis.load_path.taken_up import TakenUp
from trusses.bearings import standing
from trusses.clear.maps import largest_of
from trusses.copies import harmed, old_ones
from trusses.copies import words as copies_words
from trusses.designs import design_of
from trusses.job import surroundings
from trusses.job.page import hurt_of, page_of_marks, sought
from trusses.models import Job, PlateTable, Revision
from trusses.permissions import job_or_404, may, revision_or_404, truss_or_404
from trusses.plan import rows
from trusses.plan.feet import by_plan_too
from trusses.plan.where import where
from trusses.sealing import same_file
from trusses.sealing.seals import seal_of, seal_state, seals_of
from trusses.sheets import cautions, paper, required, runs, sheet, sheet_facts, tape, weights, words
from trusses.sheets.code_page import address_of

LETTERS = "ABC"
"""What the dimensions are called that a tape checks."""


@login_required
def sheets(request: HttpRequest, job: int) -> HttpResponse:
    """What is current for the whole job; a code read from a printed sheet leads to that sheet."""
    building = job_or_404(request.user, job)
    asked = request.GET.get("code", "")
    if asked and (found := _by_code(building, asked)):
        return redirect("trusses:sheet", job=building.pk, truss=found.truss_id, number=found.number)
    page = page_of_marks(building, request)
    stands, hurt = copies_words.by_stage(page), hurt_of(page)
    seals = seals_of(building, [truss.current.pk for truss in page])
    lines = [
        {
            "truss": truss,
            "code": sheet.code(truss.current),
            "stands": stands[truss.pk],
            "off": hurt.get(truss.pk),
            "seal": seal_state(seals.get(truss.current.pk)),
        }
        for truss in page
    ]
    told = {"job": building, "lines": lines, "page": page, "sought": sought(request)}
    return render(request, "trusses/sheets.html", {**told, "asked": asked[:20]})


def _by_code(building: Job, asked: str) -> Revision | None:
    figures = "".join(figure for figure in asked if figure.isdecimal())
    revisions = Revision.objects.filter(truss__job=building).defer("document", "analysis").order_by("-number")
    return next((revision for revision in revisions if sheet.code(revision).replace(" ", "") == figures), None)


@login_required
def one_sheet(request: HttpRequest, job: int, truss: int, number: int) -> HttpResponse:
    """The sheet of one revision: current or not, to build from or not, then all that whoever sets it needs."""
    mark = truss_or_404(request.user, truss, job=job)
    revision = get_object_or_404(
        Revision.objects.select_related("issued_by", "issue__decision__by", "comes_from__truss"),
        truss=mark,
        number=number,
    )
    revision.truss = mark
    before = mark.revisions.filter(number=number - 1).first() or revision.comes_from
    design = design_of(revision.document)
    table = PlateTable.of_job(mark.job)
    facts = sheet_facts.facts(design, revision.analysis, table, surroundings.of_mark(mark))
    on_it = standing.carried(mark)
    four = sheet.answers(verdicts.of_revision(revision, facts.table, on_it.behind))
    seal = seal_of(revision)
    copies = list(mark.copies.select_related("built_to", "placement").defer(*sheet.HEAVY))
    mine, others = sheet.copies_of(revision, copies)
    borne = weights.issued(revision)
    feet = by_plan_too(mark, revision, [copy.number for copy in mine] or None)
    dimensions = tape.dimensions(design, design_of(before.document) if before else None)
    second_line = sheet.verdict(revision, mark.current, four, seal, mine)
    page = {
        "job": mark.job,
        "truss": mark,
        "revision": revision,
        "before": before,
        "kin": copies_words.kin(mark),
        "design": design,
        "spaced": len(copies) > 1,
        "status": sheet.status(revision, mark.current, copies),
        "stand": copies_words.stand(mark, mine),
        "verdict": second_line,
        "repaired": harmed.repaired(mine),
        "seal": seal,
        "also_of": same_file.others(seal.drawing) if seal else (),
        "seal_pages": range(1, seal.drawing.pages + 1) if seal else (),
        "answers": four,
        "notice": cautions.STANDING_NOTICE,
        "cautions": cautions.cautions(design.span_in),
        "when_setting": cautions.when_setting(design.span_in),
        "dimensions": list(zip(LETTERS, dimensions, strict=False)),
        "taped": [one.drawn(letter) for letter, one in zip(LETTERS, dimensions, strict=False)],
        "measured": [web for one in dimensions for web in one.webs],
        "marked": tape.marked_bearing(design),
        "restraints": words.restraints(design),
        "loads": words.loads(design, taken_up=TakenUp.read(revision.taken_up)),
        "facts": facts,
        "row_notes": rows.notes(mark, revision),
        "required": required.required(revision, design, facts, alone=len(copies) == 1),
        "besides": required.besides(design, facts),
        "pieces": sheet.pieces(design),
        "accepted": sheet.accepted(revision),
        "changed": sheet.what_changed(before, revision, _stands_on(feet), [one for one in borne if one.now])
        if before
        else [],
        "weights": [one.weight for one in borne if one.drawn],
        "old_ones": old_ones.there(mark),
        "mine": mine,
        "sound": (sound := [copy for copy in mine if copy.number not in second_line.harmed]),
        "sound_numbers": sheet.numbers(sound),
        "others": sheet.by_revision(others),
        "turned": sheet.numbers([copy for copy in mine if copy.placement and copy.placement.turned]),
        "spaces": sheet.spaces(revision, runs.through(revision)),
        "largest_clear": largest_of(revision),
        **where(mark),
        "feet": feet,
        "carries": on_it,
        "code": sheet.code(revision),
        "paper": (paper_code := paper_codes.counting(revision)),
        "address": address_of(request, paper_code),
        "spelled": paper_codes.spelled(paper_code.token),
        "may_end_code": may(request.user, paper_codes.END, mark.job),
    }
    return render(request, "trusses/sheet.html", page)


def _stands_on(feet: Sequence[standing.Foot]) -> dict[str, str]:
    """{joint: what it stands on}, where that is known."""
    return {foot.joint: foot.says for foot in feet if foot.known}


@login_required
@cache_control(private=True, no_cache=True)
def sheet_margins(request: HttpRequest, job: int, truss: int, number: int) -> HttpResponse:
    """The stylesheet that repeats on each printed page which sheet it is of and whether to build from it."""
    revision = revision_or_404(request.user, truss=truss, truss__job=job, number=number)
    behind = standing.carried(revision.truss).behind
    four = sheet.answers(verdicts.of_revision(revision, behind=behind))
    copies = revision.truss.copies.select_related("built_to").defer(*sheet.HEAVY)
    mine, _ = sheet.copies_of(revision, list(copies))
    verdict = sheet.verdict(revision, revision.truss.current, four, seal_of(revision), mine)
    status = sheet.status(revision, revision.truss.current)
    return HttpResponse(paper.margins(revision, status, verdict), content_type="text/css; charset=utf-8")


@cache_control(private=True, max_age=31_536_000, immutable=True)
def print_edges(request: HttpRequest) -> HttpResponse:
    """The stylesheet for the edges of any other printed page, an inspector's too, who has no account: it says only what
    its own address says."""
    named, job, foot, on = (request.GET.get(name, "")[:200] for name in ("named", "of", "foot", "on"))
    return HttpResponse(paper.edges(named, job, foot, on=on), content_type="text/css; charset=utf-8")
