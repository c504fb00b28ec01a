"""What a job's shop has, keeps to and charges; plates by their report."""

from __future__ import annotations

from collections.abc import Mapping

from django.conf import settings
from django.core.exceptions import ValidationError
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.utils import timezone

from trusses.analysis.lumber import LUMBER
from trusses.models.immutable import Immutable
from trusses.models.jobs import Job
from trusses.once import once


def _rate(says: str) -> models.DecimalField:
    return models.DecimalField(
        max_digits=8, decimal_places=2, null=True, blank=True, validators=[MinValueValidator(0)], help_text=says
    )


def validate_stock(keys: object) -> None:
    if not isinstance(keys, list) or any(key not in LUMBER for key in keys):
        raise ValidationError("A list of keys of the table of lumber.")


BUILDING_BOUNDS_IN: Mapping[str, tuple[float, float]] = {
    "tolerance_in": (0.0, 2.0),
    "from_joints_in": (0.0, 24.0),
    "longest_piece_in": (96.0, 720.0),
}
"""Between what a job's limits of building may lie: beyond it is a slip of the finger."""


def _limit(name: str, usual: float) -> models.FloatField:
    low, high = BUILDING_BOUNDS_IN[name]
    return models.FloatField(default=usual, validators=[MinValueValidator(low), MaxValueValidator(high)])


class JobBuilding(models.Model):
    """How near to its numbers a job builds, and from which lumber; first values are common practice. Inches."""

    job = models.OneToOneField(Job, on_delete=models.CASCADE, related_name="building")
    tolerance_in = _limit("tolerance_in", 0.25)
    from_joints_in = _limit("from_joints_in", 4.0)
    longest_piece_in = _limit("longest_piece_in", 240.0)
    stock = models.JSONField(
        default=list, blank=True, validators=[validate_stock], help_text="Keys of lumber in stock. Empty: all."
    )

    class Meta:
        verbose_name_plural = "job building"

    def __str__(self) -> str:
        return f"How {self.job} builds"


class PlateTable(Immutable):
    """A job's own values of metal plates, from their evaluation report. The newest counts; none ever changes."""

    job = models.ForeignKey(Job, on_delete=models.PROTECT, related_name="plate_tables")
    report = models.CharField(
        max_length=200, help_text="Name and number of the evaluation report that the values were taken from."
    )
    rows = models.JSONField(help_text="The plates, one a row, by the columns of `trusses.analysis.demands.plates`.")
    uploaded_by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.PROTECT, related_name="+")
    uploaded_at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering = ("job", "id")

    def __str__(self) -> str:
        return f"{self.report}, {len(self.rows)} plates"

    @classmethod
    def of_job(cls, job: Job) -> PlateTable | None:
        """The table that counts."""
        return once(("plates", job.pk), cls.objects.filter(job=job).last)


class JobRates(models.Model):
    """What a job's shop charges, in the job's own money. A rate that is left empty prices nothing."""

    job = models.OneToOneField(Job, on_delete=models.CASCADE, related_name="rates")
    currency = models.CharField(max_length=3, default="$", help_text="The sign before an amount.")
    board_foot = _rate("For each board foot of lumber.")
    piece = _rate("For each piece cut.")
    joint = _rate("For each joint pressed, in each ply.")
    note = models.CharField(max_length=200, blank=True, help_text="What the rates contain, and as of when.")
    seal_days = models.PositiveSmallIntegerField(
        "working days to a sealed drawing",
        null=True,
        blank=True,
        help_text="From a revision to its sealed drawing on site, as the designer reckons. Empty: not said.",
    )

    class Meta:
        verbose_name_plural = "job rates"

    def __str__(self) -> str:
        return f"Rates of {self.job}"
