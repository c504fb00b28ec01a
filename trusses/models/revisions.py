"""A mark's truss documents, and what a designer sends to become one."""

from __future__ import annotations

from django.conf import settings
from django.db import models
from django.utils import timezone

from trusses import words
from trusses.models.immutable import Immutable
from trusses.models.jobs import Job
from trusses.models.marks import Truss


class Revision(Immutable):
    """An immutable truss document of one mark, with the analysis that it was issued on."""

    truss = models.ForeignKey(Truss, on_delete=models.PROTECT, related_name="revisions")
    number = models.PositiveIntegerField()
    document = models.JSONField()
    sha256 = models.CharField(max_length=64, db_index=True)
    analysis = models.JSONField()
    accepts = models.JSONField(
        default=list, help_text="Serviceability checks that fail and were accepted: rule, reason."
    )
    taken_up = models.JSONField(
        default=dict, help_text="Which of its loads stand there for what it carries, as `carrying.taken_up` writes it."
    )
    comes_from = models.ForeignKey(
        "self",
        null=True,
        blank=True,
        on_delete=models.PROTECT,
        related_name="became",
        help_text="Of a variant's first revision: the one of the other mark that its copies had.",
    )
    issued_by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.PROTECT, related_name="+")
    issued_at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering = ("truss", "number")
        constraints = [models.UniqueConstraint(fields=("truss", "number"), name="a_revision_number_once_in_a_mark")]

    def __str__(self) -> str:
        return f"{self.truss} revision {self.number}"

    @property
    def is_current(self) -> bool:
        return self.truss.current_id == self.pk


class Submission(models.Model):
    """What a designer sent to the set, which the worker computes.

    In the end it has become a `revision`, and `truss` is its mark; or `trouble` says why not.
    """

    class Kind(models.TextChoices):
        NEW_MARK = "new mark", "new mark"  # quantity, can_change_until, and typed: the form it came from
        CORRECTION = "correction", "corrected first design"  # reason, seen, accepts
        LOADS = "loads", "what stands on a mark, written into its drawing"  # nothing

    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="submissions")
    kind = models.CharField(max_length=20, choices=Kind.choices, default=Kind.NEW_MARK)
    truss = models.ForeignKey(
        Truss,
        null=True,
        blank=True,
        on_delete=models.CASCADE,
        related_name="submissions",
        help_text="What it is about; of a new mark, what it has become.",
    )
    document = models.JSONField(null=True, blank=True)
    said = models.JSONField(default=dict, help_text="What was said with it, by its kind.")
    sent_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    sent_at = models.DateTimeField(default=timezone.now)
    revision = models.OneToOneField(
        Revision, null=True, blank=True, on_delete=models.CASCADE, related_name="+", help_text="What it has become."
    )
    trouble = models.JSONField(null=True, blank=True, help_text="Why it came to nothing: code, values.")

    class Meta:
        ordering = ("job", "id")

    def __str__(self) -> str:
        return self.truss.mark if self.truss else str((self.document or {}).get("mark", ""))

    @property
    def waits(self) -> bool:
        return self.revision_id is None and not self.trouble

    @property
    def trouble_says(self) -> str:
        return words.kept(self.trouble)
