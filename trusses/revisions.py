"""What changes a job's set: a new mark, a new revision. Each is whole or not at all, and refuses in plain words."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from django.conf import settings
from django.db import IntegrityError, transaction
from django.db.models import Max, Q, QuerySet

from trusses import paper_codes
from trusses.analysis.analysis import Mechanism, analyse
from trusses.analysis.checks.stack import SERVICEABILITY
from trusses.analysis.checks.surroundings import NOTHING_SAID, Surroundings
from trusses.analysis.format.document import DocumentError, Limits, read, sha256
from trusses.analysis.format.model import Truss as Design
from trusses.analysis.load_path.taken_up import NOTHING_TAKEN, TakenUp
from trusses.analysis.piece_names import told
from trusses.job import surroundings
from trusses.models import STAGE_ORDER, Copy, Job, MarkEvent, Revision, Stage, Truss
from trusses.refusals import MarkTaken, Refused, Superseded, because

MOST_COPIES = 500


def limits() -> Limits:
    return Limits(bytes=settings.DOCUMENT_MAX_BYTES)


def read_and_analyse(
    source: dict[str, Any] | str | bytes, told: Surroundings = NOTHING_SAID
) -> tuple[dict[str, Any], dict[str, Any]]:
    """The truss document of what was sent and its analysis document. Raises Refused on the field `document`."""
    truss = read_design(source)
    try:
        return truss.document, analyse(truss, told).document()
    except Mechanism as trouble:
        raise Refused("because", "document", why=because(trouble)) from trouble


def read_design(source: dict[str, Any] | str | bytes) -> Design:
    """The truss that was sent. Raises Refused on the field `document`."""
    try:
        return read(source, limits())
    except DocumentError as trouble:
        raise Refused("because", "document", why=because(trouble)) from trouble


def read_mark(document: dict[str, Any] | str | bytes, quantity: int) -> Design:
    """What can be said of a new mark without its analysis. Raises Refused."""
    if isinstance(quantity, bool) or not isinstance(quantity, int) or not 1 <= quantity <= MOST_COPIES:
        raise Refused("quantity", "quantity", most=MOST_COPIES)
    truss = read_design(document)
    longest = Truss._meta.get_field("mark").max_length or 0
    if len(truss.mark) > longest:
        raise Refused("mark-too-long", "document", "mark", mark=truss.mark, length=len(truss.mark), most=longest)
    return truss


def taken(mark: str) -> MarkTaken:
    return MarkTaken("mark-taken", "document", mark=mark)


def add_mark(
    job: Job,
    document: dict[str, Any] | str | bytes,
    quantity: int,
    by: Any,
    can_change_until: Any = None,
    taken_up: TakenUp = NOTHING_TAKEN,
) -> Truss:
    """A new mark with its revision 0 and `quantity` copies, all being designed. `taken_up` says which of its loads are
    of what it carries. Raises Refused."""
    analysed = read_and_analyse(read_mark(document, quantity).document, surroundings.of_job(job))
    return write_mark(job, *analysed, quantity, by, can_change_until, taken_up)


def write_mark(
    job: Job,
    document: dict[str, Any],
    analysis: dict[str, Any],
    quantity: int,
    by: Any,
    can_change_until: Any = None,
    taken_up: TakenUp = NOTHING_TAKEN,
) -> Truss:
    """A new mark whose document was read and analysed. Raises MarkTaken."""
    mark = document["mark"]
    try:
        with transaction.atomic():
            truss = Truss.objects.create(job=job, mark=mark, can_change_until=can_change_until)
            revision = _write(truss, 0, document, analysis, by, (), taken_up)
            Truss.objects.filter(pk=truss.pk, current=None).update(current=revision)
            truss.current = revision
            Copy.objects.bulk_create(Copy(truss=truss, number=n) for n in range(1, quantity + 1))
    except IntegrityError as trouble:
        if Truss.objects.filter(job=job, mark=mark).exists():
            raise taken(mark) from trouble
        raise
    return truss


def write_variant(
    truss: Truss,
    document: dict[str, Any],
    analysis: dict[str, Any],
    by: Any,
    accepts: Sequence[dict[str, Any]] = (),
    taken_up: TakenUp | None = None,
) -> Truss:
    """A new mark for copies of another one, without copies yet: its revision 0 comes from that one's current revision,
    whose loads of what it carries it keeps, where it hasn't others `taken_up`. Raises Refused, IntegrityError where
    the mark's name is taken."""
    try:
        read(document, limits())
    except DocumentError as trouble:
        raise Refused("because", "document", why=because(trouble)) from trouble
    refuse_failures(document, analysis, accepts)
    root = truss.variant_of or truss
    variant = Truss.objects.create(
        job=truss.job,
        mark=document["mark"],
        variant_of=root,
        kinds=truss.kinds,
        can_change_until=truss.can_change_until,
    )
    taken = taken_up or TakenUp.read(truss.current.taken_up).still_in(document)
    revision = _write(variant, 0, document, analysis, by, accepts, taken, comes_from=truss.current)
    Truss.objects.filter(pk=variant.pk, current=None).update(current=revision)
    variant.current = revision
    return variant


def begun(truss: Truss) -> int:
    """How many copies of a mark are further than being designed, or were before they were to be made anew and somebody
    looked at them: these are never taken away."""
    return kept_for_good(truss.copies.all()).count()


def kept_for_good(copies: QuerySet[Copy]) -> QuerySet[Copy]:
    """Those of some copies that are never taken away."""
    return copies.filter(~Q(stage=Stage.DESIGNING) | Q(looks__isnull=False)).distinct()


def settle_copies(truss: Truss, by: Any) -> None:
    """As many copies of a mark as its places in plan count, each at its place: lacking ones are made, being designed,
    and of too many those go that `kept_for_good` doesn't name. Without places, the copies stand nowhere.

    Raises Refused, and leaves all as it is, where more copies are kept for good than the places hold.
    """
    with transaction.atomic():
        Truss.objects.select_for_update().get(pk=truss.pk)
        stay = set(kept_for_good(truss.copies.all()).values_list("pk", flat=True))
        copies = sorted(
            truss.copies.all(), key=lambda copy: (-STAGE_ORDER[copy.stage], copy.pk not in stay, copy.number)
        )
        places = list(truss.placements.all())
        if not places:
            truss.copies.update(placement=None)
            return
        counted = sum(place.count for place in places)
        if len(stay) > counted:
            raise Refused("copies-begun", "count", begun=len(stay), mark=truss.mark, places=counted)
        # the furthest first: what stands somewhere already keeps its place as long as that has room
        left = {place.pk: place.count for place in places}
        free = []
        for copy in copies:
            if left.get(copy.placement_id or 0, 0) > 0:
                left[copy.placement_id or 0] -= 1
            else:
                free.append(copy)
        spots = [place for place in places for _ in range(left[place.pk])]
        for copy, place in zip(free, spots, strict=False):
            Copy.objects.filter(pk=copy.pk).update(placement=place)
        Copy.objects.filter(pk__in=[copy.pk for copy in free[len(spots) :] if copy.pk not in stay]).delete()
        first = truss.variant_of_id or truss.pk
        kin = Copy.objects.filter(Q(truss=first) | Q(truss__variant_of=first))
        last = kin.aggregate(last=Max("number"))["last"] or 0
        new = spots[len(free) :]
        Copy.objects.bulk_create(Copy(truss=truss, number=last + n, placement=at) for n, at in enumerate(new, 1))
        if counted != len(copies):
            MarkEvent.objects.create(
                truss=truss, by=by, code=MarkEvent.Code.COUNTED, values={"before": len(copies), "after": counted}
            )


def issue_revision(
    truss: Truss,
    expected_current: Revision,
    document: dict[str, Any],
    analysis: dict[str, Any],
    by: Any,
    accepts: Sequence[dict[str, Any]] = (),
    taken_up: TakenUp | None = None,
) -> Revision:
    """The next revision of a mark, which becomes current if `expected_current` still is. Raises Superseded, Refused.

    `taken_up` says which of its loads are of what it carries; without it, those of the revision before that are still
    there.

    `accepts` are the failed serviceability checks that the designer accepts: {"rule", "reason"}. A failed check of
    strength, stability or bearing is refused whatever stands there.
    """
    if document["mark"] != truss.mark:
        raise Refused("of-another-mark", "document", mark=document["mark"], wanted=truss.mark)
    try:
        # an option may have been stored before a rule that refuses it
        read(document, limits())
    except DocumentError as trouble:
        raise Refused("because", "document", why=because(trouble)) from trouble
    refuse_failures(document, analysis, accepts)
    try:
        with transaction.atomic():
            taken = TakenUp.read(expected_current.taken_up).still_in(document) if taken_up is None else taken_up
            revision = _write(truss, expected_current.number + 1, document, analysis, by, accepts, taken)
            moved = Truss.objects.filter(pk=truss.pk, current=expected_current).update(current=revision)
            if moved != 1:
                raise superseded(truss, expected_current)
    except IntegrityError as trouble:
        if Revision.objects.filter(truss=truss, number=expected_current.number + 1).exists():
            raise superseded(truss, expected_current) from trouble
        raise
    truss.current = revision
    return revision


def refuse_failures(document: Mapping[str, Any], analysis: dict[str, Any], accepts: Sequence[dict[str, Any]]) -> None:
    """Raises Refused unless every failed check is one of serviceability that is accepted with a reason."""
    accepted = {accept["rule"] for accept in accepts if str(accept.get("reason", "")).strip()}
    for check in analysis["checks"]:
        if check["passes"]:
            continue
        failing = told(document, check)
        if check["rule"] not in SERVICEABILITY:
            raise Refused("fails-for-good", "accepts", **failing)
        if check["rule"] not in accepted:
            raise Refused("fails-unless-accepted", "accepts", **failing)


def superseded(truss: Truss, expected: Revision) -> Superseded:
    number = Truss.objects.values_list("current__number", flat=True).get(pk=truss.pk)
    return Superseded("superseded", mark=truss.mark, number=number, expected=expected.number)


def _write(
    truss: Truss,
    number: int,
    document: dict[str, Any],
    analysis: dict[str, Any],
    by: Any,
    accepts: Sequence[Any],
    taken_up: TakenUp,
    comes_from: Revision | None = None,
) -> Revision:
    identity = sha256(document)
    if analysis["truss_sha256"] != identity:
        raise Refused("of-another-document", "document")
    revision = Revision.objects.create(
        truss=truss,
        number=number,
        document=document,
        sha256=identity,
        analysis=analysis,
        accepts=list(accepts),
        taken_up=taken_up.written(),
        comes_from=comes_from,
        issued_by=by,
    )
    paper_codes.make(revision)
    return revision
