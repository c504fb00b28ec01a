"""What was found of copies, what was ticked off beside them, and what was done once by a key."""

from __future__ import annotations

from django.conf import settings
from django.db import models
from django.utils import timezone

from trusses.models import Copy, Immutable, Revision, Stage, Truss

PHOTOS = "The SHA-256 of each picture, by which its file is named."


class Look(Immutable):
    """What was found of one copy when it came or was set: each point right or wrong, or not looked at."""

    copy = models.ForeignKey(Copy, on_delete=models.PROTECT, related_name="looks")
    when = models.CharField(max_length=10, choices=[(s.value, s.label) for s in (Stage.DELIVERED, Stage.SET)])
    points = models.JSONField(default=dict, help_text="{point: right or not}; those that weren't looked at lack.")
    note = models.CharField(max_length=500, blank=True)
    photos = models.JSONField(default=list, help_text=PHOTOS)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering = ("id",)

    def __str__(self) -> str:
        return f"{self.copy} at {self.when}"

    @property
    def wrong(self) -> list[str]:
        return [point for point, right in self.points.items() if not right]

    @property
    def right(self) -> list[str]:
        return [point for point, right in self.points.items() if right]


class LookClosed(Immutable):
    """A designer said by name that what was found keeps the copy from being set no more."""

    look = models.OneToOneField(Look, on_delete=models.PROTECT, related_name="closed")
    says = models.CharField(max_length=500)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField(default=timezone.now)

    def __str__(self) -> str:
        return f"{self.look}: {self.says}"


class Fixed(Immutable):
    """A row of restraint, a hanger or a tie ticked off, or the tick taken back; the last one counts while its revision
    is current."""

    truss = models.ForeignKey(Truss, on_delete=models.PROTECT, related_name="fixed")
    revision = models.ForeignKey(Revision, on_delete=models.PROTECT, related_name="+")
    item = models.CharField(max_length=120)
    done = models.BooleanField(default=True)
    anchored = models.CharField(max_length=200, blank=True, help_text="To what it is anchored.")
    photos = models.JSONField(default=list, help_text=PHOTOS)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering = ("id",)

    def __str__(self) -> str:
        return f"{self.truss}: {self.item}"


class KeyedAct(models.Model):
    """Something that a person did in the set with an Idempotency-Key: a repeat is answered as the first one was."""

    user = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="+")
    key = models.CharField(max_length=240)
    body_sha256 = models.CharField(max_length=64)
    answer = models.JSONField(default=dict)
    at = models.DateTimeField(default=timezone.now)

    class Meta:
        constraints = [models.UniqueConstraint(fields=("user", "key"), name="an_act_once_by_a_key")]

    def __str__(self) -> str:
        return self.key
