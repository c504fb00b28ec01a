"""Sealed drawings: what a job asks of them, the PDFs that were attached, and what was recorded of each."""

from __future__ import annotations

from django.conf import settings
from django.db import models
from django.utils import timezone

from trusses.models import Immutable, Job, Revision, Truss

_LETTERS = "ALAKAZARCACOCTDEDCFLGAHIIDILINIAKSKYLAMEMDMAMIMNMSMOMTNENVNHNJNMNYNCNDOHOKORPAPRRISCSDTNTXUTVTVAWAWVWIWY"
STATES = tuple(_LETTERS[at : at + 2] for at in range(0, len(_LETTERS), 2))
"""Where a design professional can be licensed, by postal code."""

NO_STATE = "—"
"""Of the demonstration's drawings, which nobody sealed."""

COVERS = ("plates", "restraint")
"""What a sealed drawing may answer for beside the lumber."""


class SealRule(Immutable):
    """What a job asks of sealed drawings, since somebody said so. The newest counts; none ever changes."""

    class Without(models.TextChoices):
        BLOCKS = "blocks", "Nothing is cut or set without one"
        WARNS = "warns", "Cutting and setting without one is warned of, and the record says so"

    job = models.ForeignKey(Job, on_delete=models.PROTECT, related_name="seal_rules")
    review = models.BooleanField(default=True)
    acceptance = models.BooleanField(default=True)
    without = models.CharField(max_length=10, choices=Without.choices, default=Without.BLOCKS)
    said_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    said_at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering = ("job", "id")

    def __str__(self) -> str:
        return f"{self.job}: {self.without} without a sealed drawing"


class SealedDrawing(Immutable):
    """A PDF that a designer attached as the sealed drawing of one revision, or of the repair of some of its copies.

    The file stands beside the database by its SHA-256 (`files.path_of`) and is never altered. One that `replaces`
    another was attached as its correction.
    """

    truss = models.ForeignKey(Truss, on_delete=models.PROTECT, related_name="sealed_drawings")
    revision = models.ForeignKey(Revision, on_delete=models.PROTECT, related_name="sealed_drawings")
    copies = models.JSONField(default=list, blank=True, help_text="Of a repair: numbers of the copies; else empty.")
    sealed_by = models.CharField(max_length=120)
    licence = models.CharField(max_length=40)
    state = models.CharField(max_length=2)
    sealed_on = models.DateField()
    covers = models.JSONField(default=list, blank=True, help_text="Some of COVERS.")
    sha256 = models.CharField(max_length=64)
    size_bytes = models.PositiveIntegerField()
    pages = models.PositiveIntegerField()
    replaces = models.OneToOneField("self", null=True, blank=True, on_delete=models.PROTECT, related_name="replaced_by")
    attached_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    attached_at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering = ("id",)

    def __str__(self) -> str:
        return f"sealed drawing of {self.revision}"

    @property
    def is_repair(self) -> bool:
        return bool(self.copies)


class SealRecord(Immutable):
    """What was recorded of a sealed drawing: once each, and for good."""

    class Kind(models.TextChoices):
        REVIEWED = "reviewed", "reviewed by the building designer"
        ACCEPTED = "accepted", "accepted by the building department"
        CARRIED_OUT = "carried out", "repair carried out as drawn"
        PLATES = "plates", "said to cover its plates"
        RESTRAINT = "restraint", "said to cover its permanent restraint and bracing"
        WITHDRAWN = "withdrawn", "withdrawn"

    drawing = models.ForeignKey(SealedDrawing, on_delete=models.PROTECT, related_name="records")
    kind = models.CharField(max_length=12, choices=Kind.choices)
    name = models.CharField(max_length=120, blank=True, help_text="Who reviewed, accepted or looked at it.")
    told_by = models.CharField(
        max_length=200, blank=True, help_text="What tells of another's act: a paper, an e-mail, a number to find it by."
    )
    on = models.DateField()
    reason = models.CharField(max_length=500, blank=True, help_text="Why it was withdrawn.")
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering = ("id",)
        constraints = [models.UniqueConstraint(fields=("drawing", "kind"), name="each_recorded_once_of_a_drawing")]

    def __str__(self) -> str:
        return f"{self.drawing}: {self.kind}"
