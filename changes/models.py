"""The change: what was asked, what was computed, what was decided, and the record of it."""

from __future__ import annotations

import uuid
from typing import Any

from django.conf import settings
from django.db import models
from django.utils import timezone
from django.utils.functional import cached_property

from changes import words
from trusses import verdicts
from trusses.analysis.piece_names import checked, panel_names
from trusses.analysis.verdict import Verdict as TrussVerdict
from trusses.analysis.words.phrases import Coded, coded, with_names
from trusses.models import Copy, Immutable, Job, Revision, Submission, Truss
from trusses.words import kept


class State(models.TextChoices):
    """A request's states; who moves it from one to the next stands in `workflow.TRANSITIONS`."""

    FILED = "filed", "filed"
    COMPUTING = "computing", "computing"
    AWAITING_DECISION = "awaiting decision", "awaiting decision"
    # what a page calls it must not sound like the approval of a registered design professional
    APPROVED = "approved", "revision issued, not sealed"
    SENT_BACK = "sent back", "sent back"
    DECLINED = "declined", "declined"
    WITHDRAWN = "withdrawn", "withdrawn"
    FAILED = "failed", "failed"


OPEN_STATES = (
    State.FILED.value,
    State.COMPUTING.value,
    State.AWAITING_DECISION.value,
    State.SENT_BACK.value,
    State.FAILED.value,
)
"""A request in one of these still waits for somebody or something."""


class Request(models.Model):
    """What a builder asks of one job, with a reason and a date. `state` changes in `workflow` alone."""

    job = models.ForeignKey(Job, on_delete=models.PROTECT, related_name="requests")
    filed_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="requests")
    filed_at = models.DateTimeField(default=timezone.now)
    reason = models.TextField(max_length=2000)
    needed_by = models.DateField()
    state = models.CharField(max_length=20, choices=State.choices, default=State.FILED, db_index=True)
    fingerprint = models.CharField(max_length=64, null=True, editable=False, help_text="SHA-256 of what is asked.")

    class Meta:
        ordering = ("-filed_at", "-id")
        constraints = [
            # A second tap on “send” arrives at the same moment as the first: only the database can tell.
            models.UniqueConstraint(
                fields=("filed_by", "fingerprint"),
                condition=models.Q(state__in=OPEN_STATES),
                name="the_same_request_open_once",
            )
        ]

    def __str__(self) -> str:
        return f"Request {self.pk}"

    @property
    def is_open(self) -> bool:
        return self.state in OPEN_STATES

    @property
    def overtaken(self) -> list[Ask]:
        """The asks whose truss got a new revision since; such a request is computed again before it is approved."""
        asks = self.asks.filter(replaced=False, truss__isnull=False).exclude(revision=models.F("truss__current"))
        return list(asks.select_related("truss")) if self.is_open else []


class Kind(models.TextChoices):
    """What is asked; a kind is answered once it has its file in `asks`, which `asks.kinds` finds by its name."""

    OPENING = "opening", "opening"
    RUN = "run", "run"
    LOAD = "load", "load"
    BEARING = "bearing", "bearing"
    PASSAGE = "passage", "passage"
    DAMAGE = "damage", "damage"
    QUESTION = "question", "question"
    REVISION = "revision", "revision"
    """A designer's own: a revision that no builder asked for."""


class Verdict(models.TextChoices):
    """The answer to one ask."""

    FITS = "fits", words.VERDICTS["fits"]
    OPTIONS = "options", words.VERDICTS["options"]
    NONE_PASS = "none pass", words.VERDICTS["none pass"]
    NEVER = "never", words.VERDICTS["never"]


class Photo(Immutable):
    """A picture that somebody sent for a job; its file is named by its SHA-256 (`photos.path_of`)."""

    job = models.ForeignKey(Job, on_delete=models.PROTECT, related_name="photos")
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField(default=timezone.now)
    sha256 = models.CharField(max_length=64)
    width_px = models.PositiveIntegerField()
    height_px = models.PositiveIntegerField()

    class Meta:
        ordering = ("id",)

    def __str__(self) -> str:
        return f"Photo {self.pk}"


class Run(Immutable):
    """A path through the set as it was asked for: points in plan, level, height, slope, section, insulation. Each group
    of copies that it meets alike has an ask of its own."""

    request = models.ForeignKey(Request, on_delete=models.PROTECT, related_name="runs")
    name = models.CharField(max_length=120, blank=True)
    wish = models.JSONField()

    class Meta:
        ordering = ("request", "id")

    def __str__(self) -> str:
        return self.name or f"run {self.pk}"


class Ask(models.Model):
    """One wanted thing for some copies of one mark. `revision` is what the answer was computed from.

    What concerns no mark has neither `truss` nor `revision` nor copies. Asks of one request on one mark are about the
    same copies or about others, never about some of the same: `asks.reading` splits them.
    """

    request = models.ForeignKey(Request, on_delete=models.PROTECT, related_name="asks")
    truss = models.ForeignKey(Truss, null=True, blank=True, on_delete=models.PROTECT, related_name="asks")
    revision = models.ForeignKey(Revision, null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    copies = models.JSONField(default=list, blank=True, help_text="Numbers of the mark's copies that it is about.")
    kind = models.CharField(max_length=10, choices=Kind.choices)
    opening = models.JSONField(null=True, blank=True, help_text="As in the truss document's `openings`.")
    wish = models.JSONField(null=True, blank=True, help_text="What else is wanted, as it was read.")
    run = models.ForeignKey(Run, null=True, blank=True, on_delete=models.PROTECT, related_name="asks")
    verdict = models.CharField(max_length=10, choices=Verdict.choices, blank=True)
    told = models.JSONField(default=list, blank=True, help_text="The answer for a builder: code, values.")
    nearest = models.JSONField(null=True, blank=True, help_text='{"centre_in": [x, y], "moved_in": d} or null.')
    figures = models.JSONField(default=dict, blank=True, help_text="What its kind wants shown besides.")
    replaced = models.BooleanField(
        default=False, help_text="The builder asked anew when answering; kept for the record."
    )

    class Meta:
        ordering = ("request", "id")

    def __str__(self) -> str:
        return f"{self.kind} in {self.truss}" if self.truss else self.kind

    @property
    def on_truss(self) -> Truss:
        """Its mark, for whoever handles only asks that are about one."""
        if self.truss is None:
            raise TypeError(f"ask {self.pk} ({self.kind}) is about no mark")
        return self.truss

    @property
    def told_by(self) -> str:
        """The template that says what was asked."""
        return f"changes/asks/{self.kind}.html"

    @property
    def most_rows(self) -> list[tuple[float, float]]:
        """Of a weight: how much the truss takes at each place along its chord."""
        along = self.figures.get("curve", {})
        return list(zip(along.get("xs_in", ()), along.get("pounds", ()), strict=True))

    @property
    def each_told(self) -> list[str]:
        """The answer sentence by sentence."""
        return [words.told([one]) for one in self.told]

    @property
    def tells_itself(self) -> bool:
        """What was asked and its answer stand in one template: what to do at once comes before any figure."""
        return self.kind == Kind.DAMAGE

    @property
    def member_called(self) -> str:
        """Of damage: what the drawing calls the piece."""
        if not (self.wish and self.revision and "member" in self.wish):
            return ""
        return panel_names(self.revision.document).get(self.wish["member"], self.wish["member"])

    @property
    def answered(self) -> str:
        """The answer in a few words; a revision that a designer started asks for none."""
        if self.kind == Kind.REVISION or not self.verdict:
            return (
                "to be answered by a designer"
                if self.kind == Kind.QUESTION
                else "computed, to be decided by a designer"
            )
        return Verdict(self.verdict).label

    @property
    def says(self) -> str:
        return words.told(self.told)


class Computation(models.Model):
    """One piece of work for the worker. The row is the truth; a message on the queue is only a nudge.

    Claimed by one conditional UPDATE with a fresh `token`; finished by an UPDATE on that token, in the transaction
    that writes its effect. Of a request it answers the whole; with `option` it analyses a designer's option, with
    `together` what options make of their carriers at once. With `submission` it is of no request.
    """

    class Progress(models.TextChoices):
        QUEUED = "queued", "queued"
        RUNNING = "running", "running"
        DONE = "done", "done"
        FAILED = "failed", "failed"
        DROPPED = "dropped", "dropped"  # withdrawn or overtaken before it finished

    request = models.ForeignKey(Request, null=True, blank=True, on_delete=models.PROTECT, related_name="computations")
    submission = models.OneToOneField(
        Submission, null=True, blank=True, on_delete=models.CASCADE, related_name="computation"
    )
    option = models.OneToOneField("Option", null=True, blank=True, on_delete=models.PROTECT, related_name="computation")
    together = models.OneToOneField(
        "Together", null=True, blank=True, on_delete=models.PROTECT, related_name="computation"
    )
    state = models.CharField(max_length=10, choices=Progress.choices, default=Progress.QUEUED, db_index=True)
    token = models.UUIDField(default=uuid.uuid4, editable=False)
    attempts = models.PositiveIntegerField(default=0)
    queued_at = models.DateTimeField(default=timezone.now)
    claimed_at = models.DateTimeField(null=True, blank=True)
    finished_at = models.DateTimeField(null=True, blank=True)
    next_ring_at = models.DateTimeField(default=timezone.now, help_text="The sweep rings again from then on.")
    rings = models.PositiveIntegerField(default=0)
    fraction = models.FloatField(default=0, help_text="0 to 1, what the worker last said.")
    doing = models.JSONField(null=True, blank=True, help_text="What the worker last said: code, values.")
    trouble = models.JSONField(null=True, blank=True, help_text="Why it failed: code, values.")

    class Meta:
        ordering = ("id",)
        constraints = [
            models.UniqueConstraint(
                fields=("request",),
                condition=models.Q(option=None, together=None, state__in=("queued", "running")),
                name="one_computation_of_a_request_at_a_time",
            ),
            models.CheckConstraint(
                condition=models.Q(request=None, option=None, together=None, submission__isnull=False)
                | models.Q(request__isnull=False, submission=None),
                name="a_computation_of_a_request_or_of_a_submission",
            ),
        ]

    def __str__(self) -> str:
        return f"Computation {self.pk} of {self.request or self.submission}"

    @property
    def doing_says(self) -> str:
        return words.doing(self.doing)

    @property
    def trouble_says(self) -> str:
        return kept(self.trouble)


class Option(models.Model):
    """A truss document that would answer the asks on some copies of one truss, found by the search or drawn by a
    designer.

    Written once and never edited: an edited option is another option. `analysis`, `comparison`, `passes` stay empty
    only while a designer's own option waits for its computation.
    """

    request = models.ForeignKey(Request, on_delete=models.PROTECT, related_name="options")
    asks = models.ManyToManyField(Ask, related_name="options")
    truss = models.ForeignKey(Truss, on_delete=models.PROTECT, related_name="+")
    copies = models.JSONField(default=list, blank=True, help_text="Numbers of the copies that it is for: its asks'.")
    revision = models.ForeignKey(
        Revision, on_delete=models.PROTECT, related_name="+", help_text="What it departs from."
    )
    drawn_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    redrawn_of = models.OneToOneField(
        "self",
        null=True,
        blank=True,
        on_delete=models.PROTECT,
        related_name="redrawn",
        help_text="The drawn option that this is, computed anew.",
    )
    titled = models.JSONField(help_text="A person's own words, or what leads to it: code, values.")
    rank = models.PositiveIntegerField(default=0)
    document = models.JSONField()
    sha256 = models.CharField(max_length=64)
    analysis = models.JSONField(null=True, blank=True)
    comparison = models.JSONField(null=True, blank=True)
    passes = models.BooleanField(null=True, blank=True, help_text="Its lumber checks pass and its openings are clear.")
    worst_ratio = models.FloatField(null=True, blank=True)
    told = models.JSONField(default=list, blank=True, help_text="What decides about it: code, values.")
    stale = models.BooleanField(default=False, help_text="From a computation that was done again since.")
    basis = models.CharField(
        max_length=64,
        blank=True,
        help_text="What its consequences rest on; empty where nothing carries the mark.",
    )
    created_at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering = ("request", "truss", "rank", "id")
        constraints = [
            # Whatever the queue does, a computation's effect is written once.
            models.UniqueConstraint(
                fields=("request", "truss", "copies", "rank"),
                condition=models.Q(stale=False, drawn_by=None),
                name="one_option_of_a_rank_in_a_computation",
            )
        ]

    def __str__(self) -> str:
        return self.title

    @property
    def title(self) -> str:
        return words.called(self.titled)

    @property
    def says(self) -> str:
        return words.told(self.told)

    @cached_property
    def verdict(self) -> TrussVerdict | None:
        """The verdict on its own truss as the set is today, whatever it makes of the carriers; None before its
        computation."""
        return None if self.analysis is None else verdicts.of_document(self.truss, self.document, self.analysis)

    @property
    def numbers_only(self) -> bool:
        """It isn't called passing because it is of a girder with hangers or of another kind that nothing automatic
        answers for, and for no other reason."""
        if self.passes or self.verdict is None or not self.verdict.numbers_only:
            return False
        return all(one.passes is None for one in self.consequences.all())

    @property
    def members_changed(self) -> int | None:
        """How many members differ from the revision that it departs from; None before its computation."""
        if self.comparison is None:
            return None
        return sum(member["change"] != "kept" for member in self.comparison["members"])


class Consequence(Immutable):
    """What an option makes of a mark that carries its truss, directly or by way of others.

    `passes` is false where a check fails, and never true: a girder with hangers waits for its sealed drawing, and its
    numbers are shown alone. `document` and what follows from it are empty where `trouble` says why it can't be worked
    out.
    """

    option = models.ForeignKey(Option, on_delete=models.PROTECT, related_name="consequences")
    carrier = models.ForeignKey(Truss, on_delete=models.PROTECT, related_name="+")
    revision = models.ForeignKey(Revision, on_delete=models.PROTECT, related_name="+")
    place = models.PositiveIntegerField(help_text="In the chain, after all that it carries.")
    because = models.JSONField(help_text="The marks on it whose loads change.")
    document = models.JSONField(null=True)
    sha256 = models.CharField(max_length=64, blank=True)
    analysis = models.JSONField(null=True)
    comparison = models.JSONField(null=True)
    fails = models.JSONField(default=list, help_text="Its failing checks, the worst first.")
    findings = models.JSONField(default=list, help_text="What a person has to look at: code, values.")
    trouble = models.JSONField(null=True, blank=True, help_text="A refusal: code, place, values.")

    class Meta:
        ordering = ("option", "place")
        constraints = [models.UniqueConstraint(fields=("option", "carrier"), name="one_consequence_for_a_carrier")]

    def __str__(self) -> str:
        return self.says

    @property
    def findings_say(self) -> list[str]:
        return [words.finding(one) for one in self.findings]

    @property
    def trouble_says(self) -> str:
        return words.trouble(self.trouble)

    @property
    def passes(self) -> bool | None:
        return False if self.fails or self.trouble else None

    @property
    def worst_ratio(self) -> list[float] | None:
        """[before, after]."""
        return self.comparison["worst_ratio"] if self.comparison else None

    @property
    def over(self) -> list[dict[str, Any]]:
        """Its failing checks, each with what it is of, as people call it."""
        return [{**check, "object": checked(self.document, check["of"], check["id"])} for check in self.fails]

    @property
    def members(self) -> list[dict[str, Any]]:
        """Its members before and after, each under the name that the drawing has."""
        if self.document is None or self.comparison is None:
            return []
        names = panel_names(self.document)
        return [{**one, "called": names.get(one["id"], one["id"])} for one in self.comparison["members"]]

    @property
    def told(self) -> Coded:
        worst = self.fails[0] if self.fails else None
        said = coded(
            "carrier",
            carrier=self.carrier.mark,
            because=self.because,
            trouble=self.trouble,
            worst_ratio=self.worst_ratio,
            fails=worst,
        )
        return with_names(said, panel_names(self.document)) if worst and self.document else said

    @property
    def says(self) -> str:
        """One sentence, such as “G1 carries R5: worst ratio 0.71 → 0.83, no check over its limit.”"""
        return words.told([self.told])


class Together(models.Model):
    """What options of several marks make at once of the marks that carry them, which may be another thing than each of
    them makes alone. `analyses` are the carriers' by the SHA-256 of their documents; empty before the computation."""

    request = models.ForeignKey(Request, on_delete=models.PROTECT, related_name="together")
    options = models.JSONField(help_text="The ids of the options, in order.")
    analyses = models.JSONField(default=dict)

    class Meta:
        verbose_name_plural = "together"
        ordering = ("id",)

    def __str__(self) -> str:
        return f"Options {', '.join(map(str, self.options))} together"


class Decision(Immutable):
    """What a designer decided, and why. A request that was sent back is decided again: one decision a round."""

    class Choice(models.TextChoices):
        APPROVE = "approve", "approve"
        SEND_BACK = "send back", "send back"
        DECLINE = "decline", "decline"

    class EndsBy(models.TextChoices):
        REPAIR = "repair", "a sealed repair, its drawing attached"
        NEW_TRUSS = "new truss", "a new truss in its place"

    request = models.ForeignKey(Request, on_delete=models.PROTECT, related_name="decisions")
    verdict = models.CharField(max_length=10, choices=Choice.choices)
    reason = models.TextField(max_length=2000, blank=True)
    accepts = models.JSONField(default=list, help_text="Failed serviceability checks that were accepted.")
    ends_by = models.CharField(
        max_length=10, blank=True, choices=EndsBy.choices, help_text="Of damage: what the truss may be set on."
    )
    shows = models.JSONField(default=list, help_text="Numbers of the photos of a sealed repair drawing.")
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering = ("request", "id")

    def __str__(self) -> str:
        return f"{self.verdict} of request {self.request_id}"


class Issue(Immutable):
    """That a decision issued a revision: the link from a sheet back to who asked and who decided.

    From an option, or, without one, because the mark carries others that change; `because` names them.
    """

    decision = models.ForeignKey(Decision, on_delete=models.PROTECT, related_name="issues")
    option = models.ForeignKey(Option, null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    because = models.JSONField(default=list, blank=True)
    revision = models.OneToOneField(Revision, on_delete=models.PROTECT, related_name="issue")

    def __str__(self) -> str:
        return f"{self.revision} by decision {self.decision_id}"


class Hold(models.Model):
    """A wish that the saw waits for a request, on the copies of one mark that are not yet cut. A page notes in `still`
    who else holds them."""

    still: str

    class Standing(models.TextChoices):
        ASKED = "asked", "asked"
        ACKNOWLEDGED = "acknowledged", "acknowledged"
        REFUSED = "refused", "refused"
        RELEASED = "released", "released"

    request = models.ForeignKey(Request, on_delete=models.PROTECT, related_name="holds")
    truss = models.ForeignKey(Truss, on_delete=models.PROTECT, related_name="holds")
    copies = models.ManyToManyField(Copy, related_name="holds")
    standing = models.CharField(max_length=12, choices=Standing.choices, default=Standing.ASKED)
    asked_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    asked_at = models.DateTimeField(default=timezone.now)
    answered_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    answered_at = models.DateTimeField(null=True, blank=True)
    released_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = [models.UniqueConstraint(fields=("request", "truss"), name="one_hold_for_a_request_and_mark")]

    def __str__(self) -> str:
        return f"hold on {self.truss}: {self.standing}"


class Event(Immutable):
    """What happened to a request, append-only. `by` is null when the worker did it."""

    request = models.ForeignKey(Request, on_delete=models.PROTECT, related_name="events")
    at = models.DateTimeField(default=timezone.now)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    verb = models.CharField(max_length=30)
    from_state = models.CharField(max_length=20, blank=True)
    to_state = models.CharField(max_length=20, blank=True)
    values = models.JSONField(default=dict, help_text="What the sentence of its verb is made with.")
    says = models.TextField(blank=True, help_text="The person's own words; of old events the sentence too.")

    class Meta:
        ordering = ("id",)

    @property
    def told(self) -> str:
        return words.event(self.verb, self.values, self.says)

    def __str__(self) -> str:
        return f"{self.verb} at {self.at:%Y-%m-%d %H:%M}"


class IdempotencyKey(models.Model):
    """A repeat of the same filing by the same person finds the request that it made."""

    user = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="+")
    key = models.CharField(max_length=200)
    body_sha256 = models.CharField(max_length=64)
    request = models.ForeignKey(Request, on_delete=models.CASCADE, related_name="+")
    created_at = models.DateTimeField(default=timezone.now)

    class Meta:
        constraints = [models.UniqueConstraint(fields=("user", "key"), name="a_key_once_for_a_person")]

    def __str__(self) -> str:
        return self.key
