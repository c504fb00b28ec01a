"""What the worker finds of a truss before anybody asks."""

from __future__ import annotations

import uuid

from django.db import models
from django.utils import timezone

from trusses.models import Revision


class Atlas(models.Model):
    """What a redesign of one truss would open, found in the background, told while a thumb drags (`asks.likely`).

    One for a truss document, what is said of its surroundings and what its job builds with. Of no request: the worker
    goes on with it when nothing else waits, a few searches at a time, and `found` holds what came out so far, as
    `trusses.analysis.redesign.atlas` writes it. Claimed like a computation; `attempts` counts those that came to
    nothing.
    """

    sha256 = models.CharField(max_length=64, help_text="Of the truss document.")
    said = models.CharField(max_length=64, help_text="SHA-256 of what the job says of its surroundings.")
    version = models.PositiveIntegerField(help_text="Of what is written and of the search.")
    revision = models.ForeignKey(
        Revision, on_delete=models.CASCADE, related_name="+", help_text="One that has this document."
    )
    found = models.JSONField(default=dict)
    searches = models.PositiveIntegerField(default=0, help_text="How many went into what is found.")
    done = models.BooleanField(default=False, db_index=True)
    token = models.UUIDField(default=uuid.uuid4, editable=False)
    claimed_at = models.DateTimeField(null=True, blank=True)
    attempts = models.PositiveIntegerField(default=0)
    next_ring_at = models.DateTimeField(default=timezone.now, help_text="The sweep rings again from then on.")

    class Meta:
        verbose_name_plural = "atlases"
        ordering = ("id",)
        constraints = [models.UniqueConstraint(fields=("sha256", "said", "version"), name="one_atlas_for_a_document")]

    def __str__(self) -> str:
        return f"Atlas of {self.sha256[:12]}"
