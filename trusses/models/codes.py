"""The codes on printed sheets."""

from __future__ import annotations

from django.conf import settings
from django.db import models
from django.utils import timezone

from trusses.models.revisions import Revision


class PaperCode(models.Model):
    """What stands in the square on the printed sheet of one revision. It opens one page, for whoever has the paper,
    until a designer ends it; then the next print has another."""

    revision = models.ForeignKey(Revision, on_delete=models.CASCADE, related_name="paper_codes")
    token = models.CharField(max_length=16, unique=True)
    made_at = models.DateTimeField(default=timezone.now)
    ended_at = models.DateTimeField(null=True, blank=True)
    ended_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    reason = models.CharField(max_length=500, blank=True)

    class Meta:
        ordering = ("revision", "id")
        constraints = [
            models.UniqueConstraint(
                fields=("revision",), condition=models.Q(ended_at=None), name="one_paper_code_counts_of_a_revision"
            )
        ]

    def __str__(self) -> str:
        return f"{self.revision}: {self.token}"
