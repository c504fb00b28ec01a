"""What happened to a request, and which filing made it."""

from __future__ import annotations

from django.conf import settings
from django.db import models
from django.utils import timezone

from changes import words
from changes.models.requests import Request
from trusses.models import Immutable


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


class Seen(models.Model):
    """Up to which event a person has opened a request of their own."""

    user = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="+")
    request = models.ForeignKey(Request, on_delete=models.CASCADE, related_name="+")
    event = models.PositiveBigIntegerField(help_text="The id of the last event that was there.")

    class Meta:
        constraints = [models.UniqueConstraint(fields=("user", "request"), name="a_request_seen_by_a_person_once")]

    def __str__(self) -> str:
        return f"{self.user} saw {self.request}"
