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
    """What an inspector wants corrected, of one mark or of the whole job, and the answer to it, given once."""

    link = models.ForeignKey(InspectorLink, on_delete=models.PROTECT, related_name="corrections")
    key = models.UUIDField(help_text="Of the form that it came by: sent twice, it is one.")
    truss = models.ForeignKey(Truss, null=True, blank=True, on_delete=models.PROTECT, related_name="corrections")
    by_name = models.CharField(max_length=120)
    says = models.TextField(max_length=2000)
    at = models.DateTimeField(default=timezone.now)
    answer = models.TextField(max_length=2000, blank=True)
    answered_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    answered_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ("link", "id")
        constraints = [models.UniqueConstraint(fields=("link", "key"), name="a_correction_once_of_a_form")]

    def __str__(self) -> str:
        return f"Correction {self.pk}"
