"""Rows that belong to no one app: which forms arrived."""

from __future__ import annotations

from django.conf import settings
from django.db import models
from django.utils import timezone


class SentForm(models.Model):
    """A form that came under a key of its own; the same one again gets the same answer and does nothing twice. One
    that was refused led nowhere."""

    user = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="+")
    key = models.CharField(max_length=200)
    body_sha256 = models.CharField(max_length=64)
    to = models.CharField(max_length=500, blank=True, help_text="The address that its answer led to.")
    at = models.DateTimeField(default=timezone.now)

    class Meta:
        constraints = [models.UniqueConstraint(fields=("user", "key"), name="a_form_once_for_a_person")]

    def __str__(self) -> str:
        return self.key
