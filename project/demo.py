"""The demo job: the invented set of `trusses.demo_set` as rows, its invented people, and requests with a history.

The history is made by the same verbs that the pages use, so nothing in the demo could not have happened; one request is
left for the worker to compute.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from typing import Any

from django.contrib.auth import get_user_model
from django.contrib.auth.hashers import make_password
from django.contrib.auth.models import User
from django.core.management import call_command
from django.db import transaction
from django.urls import reverse
from django.utils.crypto import salted_hmac
from django.utils.http import urlencode

from changes import workflow
from changes.inspection import links
from changes.models import AS_IT_IS, Computation, Decision, Kind, Request, State
from changes.pages.datum import Datum, Size
from changes.pages.forms import OpeningForm
from changes.worker.tasks import compute
from project import demo_repair, demo_seals, demo_site
from project.accounts import address_of
from project.data import refuse_real_data
from project.people import DEMO_PEOPLE
from trusses import demo_asks, demo_set
from trusses.analysis.clearance.openings import nearest
from trusses.analysis.format.document import read, read_opening
from trusses.analysis.words.lengths import feet_inches, tape_inches
from trusses.bearings.links import set_link
from trusses.models import CHANGEABLE_STAGES, Copy, Job, JobRates, Membership, Placement, Role, Truss
from trusses.plan import placing
from trusses.revisions import add_mark

Say = Callable[[str], None]
PHONES = {"builder": "555-0101", "designer": "555-0102", "site-lead": "555-0103"}
"""Numbers that are kept for fiction."""
ROLES = {"builder": Role.BUILDER, "designer": Role.DESIGNER, "site-lead": Role.SITE_LEAD}


def prepare(password: str, *, reset: bool, say: Say) -> bool:
    """The demo job in the database, with everybody's password set. True when an earlier run's data were kept.

    Raises NotADemo where the database holds real data.
    """
    refuse_real_data()
    if reset:
        call_command("flush", interactive=False, verbosity=0)
    job = Job.objects.filter(is_demo=True).first()
    people = _people(password)
    if job is not None:
        return True
    say("Writing the demo job and computing its trusses …")
    with transaction.atomic():
        job = _job(people)
    _history(job, people)
    return False


def _people(password: str) -> dict[str, User]:
    people, hashed = {}, make_password(password)  # once for all: it takes as long as it is meant to
    for name, title, _ in DEMO_PEOPLE:
        person, _made = get_user_model().objects.get_or_create(username=name, defaults={"first_name": title})
        person.email = address_of(name)
        person.password = hashed
        person.save(update_fields=["password", "email"])
        people[name] = person
    return people


def _job(people: dict[str, User]) -> Job:
    told = demo_set.Job()
    job = Job.objects.create(name=told.name, place=told.place, time_zone=told.time_zone, is_demo=True)
    for name, role in ROLES.items():
        Membership.objects.create(job=job, user=people[name], role=role, phone=PHONES[name])
    JobRates.objects.create(job=job, **demo_set.rates())
    demo_seals.said_before(job, people["designer"])
    for mark in demo_set.marks():
        _mark(job, mark, people["designer"])
    for mark in demo_set.marks():
        _stands_on(job, mark, people["designer"])
    lines = {line.label: line for line in job.wall_lines.all()}
    for label, drawn in demo_set.WALLS.items():
        placing.wall(people["designer"], job, lines.get(label), label, drawn.level, drawn.points)
    placing.turn_north(people["designer"], job, 0)
    demo_site.moved_on(job, people)
    demo_seals.attached(job, people["designer"], people["builder"])
    later = demo_site.revised(job, people["designer"])
    demo_seals.attached_anew(job, people["designer"], people["builder"], later.mark)
    demo_site.looked_at(job, people["site-lead"])
    links.hand_out(people["builder"], job, for_whom="Inspector of the demo", days=90, token=inspector_token())
    return job


def inspector_token() -> str:
    """Of the demo's inspector's link. It can be told again, since each folder of data has a key of its own."""
    return salted_hmac("the demo's inspector", "link").hexdigest()[:32]


def inspectors_address() -> str:
    """Where the demo's inspector's link opens; empty once it has ended."""
    link = links.found(inspector_token())
    return reverse("changes:inspect", args=[inspector_token()]) if link and link.counts else ""


def _stands_on(job: Job, mark: demo_set.Mark, designer: User) -> None:
    trusses = {truss.mark: truss for truss in Truss.objects.filter(job=job).select_related("job", "current")}
    for bearing, below in zip(mark.document["bearings"], mark.below, strict=True):
        carrier = trusses[below.carrier] if below.carrier else None
        truss, joint = trusses[mark.mark], bearing["joint"]
        set_link(designer, truss, joint, wall=below.wall, plate=below.plate, carrier=carrier)


def _mark(job: Job, mark: demo_set.Mark, designer: User) -> None:
    until = None if mark.days_to_change is None else job.today() + timedelta(days=mark.days_to_change)
    truss = add_mark(job, mark.document, mark.quantity, designer, until, mark.taken_up)
    copies = iter(truss.copies.order_by("number"))
    for stand in mark.stands:
        placement = Placement.objects.create(
            truss=truss,
            level=stand.level,
            origin_x_in=stand.x_in,
            origin_y_in=stand.y_in,
            direction=stand.direction,
            spacing_in=stand.spacing_in,
            count=stand.count,
            note=stand.note,
        )
        standing = [next(copies).pk for _ in range(stand.count)]
        Copy.objects.filter(pk__in=standing).update(placement=placement)


def _history(job: Job, people: dict[str, User]) -> None:
    """Requests in different states. Every opening here is the nearest place to midspan where its size fits."""
    builder, designer = people["builder"], people["designer"]
    offered, preset = demo_asks.preset_asks()
    kept = (offered.mark, preset.mark, *Truss.objects.filter(carried__truss__job=job).values_list("mark", flat=True))
    kept += tuple(Truss.objects.filter(stands_on__carrier__job=job).values_list("mark", flat=True))
    open_marks = [truss for truss in _changeable(job) if truss.mark not in kept]
    stories: list[tuple[float, str, str, str | None]] = [
        (6, "The bath fan needs a duct to the gable, with its insulation.", "approve", None),
        (
            10,
            "A return for the great room; the owner moved the grille.",
            "send back",
            "Which side of the beam is the grille on?",
        ),
        (
            8,
            "A path for the range hood.",
            "decline",
            "The hood vents through the side wall on the last plan; ask again if that changed.",
        ),
        (5, "Central vacuum riser.", "withdraw", None),
    ]
    for diameter, reason, ending, words in stories:
        opening = None
        while open_marks and opening is None:
            truss = open_marks.pop(0)
            opening = _where_it_fits(truss, diameter)
        if opening is None:
            return
        change = _filed(builder, truss, opening, reason)
        compute(change.computations.get().pk)
        change.refresh_from_db()
        _end(change, ending, words, builder, designer)
    asked = Truss.objects.get(job=job, mark=preset.mark)
    _filed(builder, asked, preset.opening, preset.reason)
    _heavier_roof(job, builder, designer)
    _second_opening(job, builder)
    _own_revision(job, designer)
    _each_kind(job, builder)
    _runs(job, builder)
    demo_repair.repaired(job, people)


def _each_kind(job: Job, builder: User) -> None:
    """One request of each kind beside an opening, computed."""
    needed_by = job.today() + timedelta(days=9)
    for mark, ask, reason in demo_asks.asks_of_each_kind():
        of = {"truss": Truss.objects.get(job=job, mark=mark)} if mark else {}
        change = workflow.file(builder, job, reason=reason, needed_by=needed_by, asks=[{**of, **ask}])
        compute(change.computations.get().pk)


def _runs(job: Job, builder: User) -> None:
    """Runs through many trusses; the longest is left for the worker."""
    needed_by = job.today() + timedelta(days=5)
    for preset in demo_asks.preset_runs():
        asks = [{"kind": Kind.RUN, "run": preset.run}]
        change = workflow.file(builder, job, reason=preset.reason, needed_by=needed_by, asks=asks)
        if not preset.waits:
            compute(change.computations.get().pk)


def _second_opening(job: Job, builder: User) -> None:
    """Another opening on a mark on which a request is open: each knows the other, by its own name."""
    first = Request.objects.filter(job=job, state=State.SENT_BACK).first()
    if first is None:
        return
    truss = first.asks.get().on_truss
    if opening := _where_it_fits(truss, 4, share=0.3):
        change = _filed(builder, truss, opening, "A pipe for the attic's condensate.")
        compute(change.computations.get().pk)


def _own_revision(job: Job, designer: User) -> None:
    """A revision that no builder asked for, waiting for its decision."""
    mark, document, reason = demo_asks.own_revision()
    truss = Truss.objects.select_related("job", "current").get(job=job, mark=mark)
    change = workflow.start_revision(designer, truss, reason=reason, document=document)
    compute(change.computations.get().pk)


def _heavier_roof(job: Job, builder: User, designer: User) -> None:
    """A request on a mark that a girder carries, and a designer's option that puts more on that girder."""
    mark, opening, document = demo_asks.heavier_roof()
    truss = Truss.objects.get(job=job, mark=mark)
    change = _filed(
        builder, truss, opening, "The bath fan's duct has to cross here, and the sun room gets a slate roof."
    )
    compute(change.computations.get().pk)
    change.refresh_from_db()
    title = "With slate: 15 psf of dead load on the top chord in place of 10 (invented)"
    option = workflow.draw_option(designer, change, ask=change.asks.get(), document=document, title=title)
    compute(option.computation.pk)


def offered_ask(job: Job) -> str:
    """Where the ask page stands with the demo's prepared ask typed in: one that takes a redesign."""
    preset = demo_asks.preset_asks()[0]
    truss = Truss.objects.select_related("current").get(job=job, mark=preset.mark)
    x, y = preset.opening["centre_in"]
    place = OpeningForm.typed(Datum(truss.current.document), (x, y), Size.of(preset.opening))
    typed = {
        "shape": preset.opening["shape"],
        "diameter": tape_inches(preset.opening["diameter_in"]),
        "clearance": tape_inches(preset.opening["clearance_in"]),
        "carries": preset.opening["note"],
        **{name: feet_inches(value) if isinstance(value, float) else value for name, value in place.items()},
        "reason": preset.reason,
    }
    return f"{reverse('changes:ask', args=[job.pk, truss.pk])}?{urlencode(typed)}"


def _changeable(job: Job) -> list[Truss]:
    """The marks that a request can be filed on, in the order of their marks."""
    rows = Truss.objects.filter(job=job, copies__stage__in=CHANGEABLE_STAGES).select_related("current").distinct()
    return [truss for truss in rows if not truss.changes_are_over]


def _where_it_fits(truss: Truss, diameter: float, share: float = 0.5) -> dict[str, Any] | None:
    """The nearest place where a round opening fits to one at `share` of the truss's length."""
    design = read(truss.current.document)
    xs, ys = zip(*((joint.x, joint.y) for joint in design.joints), strict=True)
    opening = {
        "id": "O1",
        "shape": "circle",
        "centre_in": [min(xs) + share * (max(xs) - min(xs)), min(ys) + min(20, (max(ys) - min(ys)) / 2)],
        "diameter_in": diameter,
        "clearance_in": 0.5,
        "note": f"{diameter:g} in. round duct",
    }
    # A little larger than asked: a rounded centre of a place that fits to the hair would not fit.
    place = nearest(design, read_opening({**opening, "diameter_in": diameter + 0.25}))
    return None if place is None else {**opening, "centre_in": [round(value, 2) for value in place.centre_in]}


def _filed(builder: User, truss: Truss, opening: dict[str, Any], reason: str) -> Request:
    needed_by = truss.job.today() + timedelta(days=7)
    asks = [{"truss": truss, "kind": Kind.OPENING, "opening": opening}]
    return workflow.file(builder, truss.job, reason=reason, needed_by=needed_by, asks=asks)


def _end(change: Request, ending: str, words: str | None, builder: User, designer: User) -> None:
    if ending == "withdraw":
        workflow.withdraw(builder, change)
        return
    for hold in change.holds.all():
        workflow.answer_hold(designer, hold, acknowledge=True, says="Until this is decided.")
    options = {}
    if ending == Decision.Choice.APPROVE:
        if change.asks.exclude(verdict__in=AS_IT_IS).exists() or Computation.objects.filter(
            request=change, state=Computation.Progress.FAILED
        ):
            return
        options = {ask.pk: ask.options.get(stale=False).pk for ask in change.asks.all()}
    workflow.decide(designer, change, verdict=ending, options=options, reason=words or "Fits as it is.", accepts=[])
