"""One piece of work for the worker."""

from __future__ import annotations

import uuid

from django.db import models
from django.utils import timezone

from changes import words
from changes.models.options import Option, Together
from changes.models.requests import Request
from trusses.models import Submission
from trusses.words import kept


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
    option = models.OneToOneField(Option, null=True, blank=True, on_delete=models.PROTECT, related_name="computation")
    together = models.OneToOneField(
        Together, null=True, blank=True, on_delete=models.PROTECT, related_name="computation"
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
