"""What was done once by a key."""

from __future__ import annotations

from django.conf import settings
from django.db import models
from django.utils import timezone


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
