"""What inspectors want corrected: asked by a link, answered by the people of the job, accepted by a link again.

A correction is open until an inspector accepts what was done. Only where no link is left by which one could say so may
a builder or designer close it, by name and with a reason, and an inspector who gets another link has the last word.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from typing import Any
from uuid import UUID

from django.db import transaction
from django.db.models import Q, QuerySet
from django.urls import reverse

from changes.models import Correction, CorrectionWord, InspectorLink
from changes.refusals import Refused
from trusses.analysis.words.phrases import copies as told_copies
from trusses.copies.disputed import Dispute
from trusses.models import Copy, Job, Truss
from trusses.permissions import require
from trusses.pictures import Sent, keep_all
from trusses.sheets import fixing
from trusses.sheets.closing import Open

ANSWER = "answer an inspector"
CLOSE = "close a correction without the inspector's word"
MOST_OPEN = 50
"""So many corrections of one link may be open: whoever has its address is known by nothing else."""
MOST_PHOTOS = 3
"""So many come with one thing that an inspector says, for the same reason."""
State, Code = Correction.State, CorrectionWord.Code


def correct(
    link: InspectorLink,
    *,
    key: UUID,
    by_name: str,
    says: str,
    truss: Truss | None,
    copies: Sequence[int] = (),
    item: str = "",
    photos: Sequence[Sent] = (),
) -> Correction:
    """What an inspector wants corrected, of all copies of a mark where none is named; the same form sent again is the
    same. Raises Refused."""
    if not link.counts:
        raise Refused("link-ended")
    said = {"says": says.strip(), "by_name": by_name.strip(), "truss": truss, "item": item, "named": bool(copies)}
    numbers = sorted(set(copies))
    digests = _kept(link.job, photos)
    with transaction.atomic():
        InspectorLink.objects.select_for_update().get(pk=link.pk)
        if (before := link.corrections.filter(key=key).first()) is not None:
            same = all(getattr(before, name) == value for name, value in said.items())
            if not same or (numbers and numbers != before.copies):
                raise Refused("correction-sent")
            return before
        if link.corrections.filter(state__in=Correction.OPEN).count() >= MOST_OPEN:
            raise Refused("corrections-too-many", most=MOST_OPEN)
        had = sorted(truss.copies.values_list("number", flat=True)) if truss else []
        if truss and (unknown := sorted(set(numbers) - set(had))):
            raise Refused("no-such-copy", "copies", "copies", mark=truss.mark, given=unknown[0], copies=had)
        about = _about(_item(truss, item), numbers)[:300] if truss and item else ""
        more = {"copies": numbers or had, "about": about, "photos": digests}
        return link.corrections.create(key=key, **said, **more)


def called(item: fixing.Item) -> str:
    """A row, hanger or tie with where it is, as one chooses it from a list."""
    if item.starts == item.ends:
        return f"{item.what}, {item.starts}"
    return f"{item.what}, from {item.starts} to {item.ends}"


def _about(item: fixing.Item, numbers: Sequence[int]) -> str:
    """The same, without at which copies it is where the inspector named those."""
    return item.what if numbers and item.starts == item.ends else called(item)


def _item(truss: Truss, key: str) -> fixing.Item:
    found = next((one for one in fixing.items(truss) if one.key == key), None)
    if found is None:
        raise Refused("no-such-item", "item", "item")
    return found


def _kept(job: Job, photos: Sequence[Sent]) -> list[str]:
    if len(photos) > MOST_PHOTOS:
        raise Refused("photos-too-many", "photo", "photo", most=MOST_PHOTOS, sent=len(photos))
    return keep_all(job.pk, photos)


def answer(by: Any, correction: Correction, says: str, photos: Sequence[Sent] = ()) -> None:
    """What was done, by a person of the job; it waits for the inspector then. Raises NotAllowed, Refused."""
    require(by, ANSWER, correction.link.job)
    digests = keep_all(correction.link.job_id, photos)
    with transaction.atomic():
        if not _goes(correction, Correction.UNANSWERED, State.ANSWERED):
            raise Refused("correction-answered", "answer")
        correction.words.create(code=Code.ANSWERED, says=says.strip(), by=by, photos=digests)


def has_the_word(link: InspectorLink, correction: Correction) -> bool:
    """Whether an inspector accepts a correction by this link: the one that it came by or, once that has ended, another
    for the same inspector."""
    if not link.counts or link.job_id != correction.link.job_id:
        return False
    return correction.link_id == link.pk or (not correction.link.counts and _same(link, correction.link))


def _same(link: InspectorLink, other: InspectorLink) -> bool:
    return link.for_whom.strip().casefold() == other.for_whom.strip().casefold()


def say(
    link: InspectorLink, correction: Correction, *, key: UUID, accepted: bool, by_name: str, says: str = ""
) -> None:
    """An inspector's word on what was done: accepted, or not yet, because … The same form sent again is the same.
    Raises Refused."""
    if not link.counts:
        raise Refused("link-ended")
    if not has_the_word(link, correction):
        raise Refused("correction-of-another")
    if not accepted and not says.strip():
        raise Refused("not-yet-because", "says", "says")
    code = Code.ACCEPTED if accepted else Code.NOT_YET
    said = {"code": code, "says": says.strip(), "by_name": by_name.strip()}
    with transaction.atomic():
        Correction.objects.select_for_update().get(pk=correction.pk)
        if (before := correction.words.filter(key=key).first()) is not None:
            if any(getattr(before, name) != value for name, value in said.items()):
                raise Refused("correction-sent")
            return
        before_it = (*Correction.OPEN, State.CLOSED) if accepted else (State.ANSWERED, State.CLOSED)
        if not _goes(correction, before_it, State.ACCEPTED if accepted else State.NOT_YET):
            raise Refused("correction-moved")
        correction.words.create(key=key, through=link, **said)


def may_be_closed(correction: Correction) -> bool:
    """Whether it was answered and no link is left by which an inspector could accept that."""
    if correction.state != State.ANSWERED:
        return False
    every = InspectorLink.objects.filter(job=correction.link.job_id, ended_at=None)
    return not any(one.counts and has_the_word(one, correction) for one in every)


def close(by: Any, correction: Correction, says: str) -> None:
    """Closes it by name, without an inspector's word. Raises NotAllowed, Refused."""
    require(by, CLOSE, correction.link.job)
    if not may_be_closed(correction):
        raise Refused("correction-has-an-inspector", "says")
    with transaction.atomic():
        if not _goes(correction, (State.ANSWERED,), State.CLOSED):
            raise Refused("correction-moved", "says")
        correction.words.create(code=Code.CLOSED, says=says.strip(), by=by)


def _goes(correction: Correction, before: Iterable[str], to: str) -> bool:
    return bool(Correction.objects.filter(pk=correction.pk, state__in=before).update(state=to))


def of_job(job: Job) -> QuerySet[Correction]:
    """Every one with what was said of it since, the newest first."""
    rows = Correction.objects.filter(link__job=job).select_related("link__job", "truss")
    return rows.prefetch_related("words__by", "words__through").order_by("-pk")


def unanswered(job: Job) -> int:
    return Correction.objects.filter(link__job=job, state__in=Correction.UNANSWERED).count()


def still_open(job: Job) -> list[Open]:
    """What is told of them once every truss of the job is set."""
    states = Correction.objects.filter(link__job=job, state__in=Correction.OPEN).values_list("state", flat=True)
    waits = sum(state in Correction.UNANSWERED for state in states)
    told = ((waits, "not answered"), (len(states) - waits, "answered, not yet accepted by the inspector"))
    at = f"{reverse('changes:inspectors', args=[job.pk])}#corrections"
    return [
        Open(f"{n} correction{'' if n == 1 else 's'} that an inspector asked for {'is' if n == 1 else 'are'} {how}", at)
        for n, how in told
        if n
    ]


def disputes(job: Job) -> list[Dispute]:
    """The open ones, each on the marks on which it stands: where the copies are that it is about, of whichever mark of
    the family these are by now; on the mark itself where none is left."""
    rows = of_job(job).filter(state__in=Correction.OPEN)
    found = []
    for one in rows:
        marks: list[int | None] = [*stands_on(one)]
        for truss in marks or [None]:
            found.append(
                Dispute(
                    one.pk,
                    truss,
                    tuple(one.copies) if one.named else (),
                    one.item,
                    one.about,
                    one.says,
                    one.by_name,
                    one.at,
                    one.get_state_display(),
                    one.waits,
                    address(one),
                )
            )
    return found


def stands_on(correction: Correction) -> list[int]:
    """The marks on which it is told."""
    truss = correction.truss
    if truss is None:
        return []
    first = truss.variant_of_id or truss.pk
    family = Q(truss=first) | Q(truss__variant_of=first)
    there = Copy.objects.filter(family, number__in=correction.copies, truss__withdrawn_at=None)
    return sorted(set(there.values_list("truss", flat=True))) or [truss.pk]


def address(correction: Correction) -> str:
    """Where the people of the job answer it."""
    at = reverse("changes:inspectors", args=[correction.link.job_id])
    return f"{at}#correction-{correction.pk}"


Photo = Callable[[str, int, int], str]
"""The address of a photo: of a correction or of a word on one (`corrections`, `words`), its id, its number from 1."""


def told_of_one(correction: Correction, photo: Photo) -> dict[str, Any]:
    """A correction with what was said of it, as `changes/_correction.html` shows it."""
    return {
        "row": correction,
        "of": of_what(correction),
        "tone": {State.ANSWERED: "look", State.ACCEPTED: "good", State.CLOSED: ""}.get(State(correction.state), "stop"),
        "photos": [photo("corrections", correction.pk, n) for n, _ in enumerate(correction.photos, 1)],
        "words": [
            {"row": one, "photos": [photo("words", one.pk, n) for n, _ in enumerate(one.photos, 1)]}
            for one in correction.words.all()
        ],
    }


def of_what(correction: Correction) -> str:
    """What it is about: R3, copies 2 and 3; or the job."""
    if correction.truss is None:
        return "The job"
    return f"{correction.truss.mark}, {told_copies(correction.copies)}" if correction.named else correction.truss.mark
