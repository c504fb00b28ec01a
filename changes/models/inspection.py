"""Links for inspectors, and what they want corrected."""

from __future__ import annotations

from django.conf import settings
from django.db import models
from django.utils import timezone

from trusses.models import Job, Truss


class InspectorLink(models.Model):
    """Who has its address sees the job until it expires or is ended. It is shown once: only a hash is kept of it."""

    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="inspector_links")
    for_whom = models.CharField(max_length=120)
    token_sha256 = models.CharField(max_length=64, unique=True)
    made_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    made_at = models.DateTimeField(default=timezone.now)
    expires_at = models.DateTimeField()
    ended_at = models.DateTimeField(null=True, blank=True)
    ended_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    opened_at = models.DateTimeField(null=True, blank=True, help_text="When it was opened last, to the hour.")

    class Meta:
        ordering = ("job", "-id")

    def __str__(self) -> str:
        return f"{self.job} for {self.for_whom}"

    @property
    def counts(self) -> bool:
        return self.ended_at is None and timezone.now() < self.expires_at


class Correction(models.Model):
    """What an inspector wants corrected, of one mark or of the whole job. It is open until an inspector accepts what
    was done, or somebody closes it by name. `copies` are the numbers of those it is about, `named` where the inspector
    chose them; `item` is the row, hanger or tie that it disputes, by the key of `trusses.sheets.fixing`, and `about`
    what that was called then."""

    class State(models.TextChoices):
        ASKED = "asked", "not answered yet"
        ANSWERED = "answered", "answered, not yet accepted by the inspector"
        NOT_YET = "not yet", "not yet as it should be, says the inspector"
        ACCEPTED = "accepted", "accepted by the inspector"
        CLOSED = "closed", "closed without the inspector’s word"

    OPEN = (State.ASKED, State.ANSWERED, State.NOT_YET)
    UNANSWERED = (State.ASKED, State.NOT_YET)

    link = models.ForeignKey(InspectorLink, on_delete=models.PROTECT, related_name="corrections")
    key = models.UUIDField(help_text="Of the form that it came by: sent twice, it is one.")
    truss = models.ForeignKey(Truss, null=True, blank=True, on_delete=models.PROTECT, related_name="corrections")
    copies = models.JSONField(default=list, blank=True)
    named = models.BooleanField(default=False)
    item = models.CharField(max_length=120, blank=True)
    about = models.CharField(max_length=300, blank=True)
    by_name = models.CharField(max_length=120)
    says = models.TextField(max_length=2000)
    photos = models.JSONField(default=list, blank=True)
    at = models.DateTimeField(default=timezone.now)
    state = models.CharField(max_length=10, choices=State.choices, default=State.ASKED)

    class Meta:
        ordering = ("link", "id")
        constraints = [models.UniqueConstraint(fields=("link", "key"), name="a_correction_once_of_a_form")]

    def __str__(self) -> str:
        return f"Correction {self.pk}"

    @property
    def is_open(self) -> bool:
        return self.state in self.OPEN

    @property
    def waits(self) -> bool:
        """For somebody of the job to answer it."""
        return self.state in self.UNANSWERED


class CorrectionWord(models.Model):
    """What was said of a correction since: answered or closed `by` a person of the job, accepted or not by whoever has
    the link `through`."""

    class Code(models.TextChoices):
        ANSWERED = "answered", "answered"
        NOT_YET = "not yet", "not yet"
        ACCEPTED = "accepted", "accepted"
        CLOSED = "closed", "closed without the inspector’s word"

    correction = models.ForeignKey(Correction, on_delete=models.CASCADE, related_name="words")
    code = models.CharField(max_length=10, choices=Code.choices)
    says = models.TextField(max_length=2000, blank=True)
    photos = models.JSONField(default=list, blank=True)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    by_name = models.CharField(max_length=120, blank=True)
    through = models.ForeignKey(InspectorLink, null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    key = models.UUIDField(null=True, blank=True, help_text="Of an inspector's form: sent twice, it is one.")
    at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering = ("correction", "id")
        constraints = [models.UniqueConstraint(fields=("correction", "key"), name="a_word_once_of_a_form")]

    def __str__(self) -> str:
        return f"{self.code}: correction {self.correction_id}"

    @property
    def who(self) -> str:
        return (self.by.get_full_name() or self.by.get_username()) if self.by else self.by_name
