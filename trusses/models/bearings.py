"""Walls, headers and beams of a job, and what each bearing of a mark stands on."""

from __future__ import annotations

from typing import Any

from django.conf import settings
from django.core.exceptions import ValidationError
from django.db import models
from django.utils import timezone

from trusses.analysis.lumber import LumberError, lookup
from trusses.models.jobs import Job
from trusses.models.marks import Truss


def validate_lumber(key: str) -> None:
    try:
        lookup(key)
    except LumberError as trouble:
        raise ValidationError(f"{trouble}.") from trouble


def validate_line(points: object) -> None:
    """An empty list, or two points and more in plan inches."""
    pairs: list[Any] = points if isinstance(points, list) else [None]
    if len(pairs) == 1 or any(not isinstance(one, list) or len(one) != 2 for one in pairs):
        raise ValidationError("A list of two points or more, each [x, y] in inches, or nothing.")
    for number in (value for pair in pairs for value in pair):
        if isinstance(number, bool) or not isinstance(number, int | float):
            raise ValidationError("A point is two numbers of inches.")


class WallLine(models.Model):
    """A wall, header or beam of the job that trusses stand on: not a truss, so nothing here analyses it.

    `points` is where it stands in plan, on the level of the trusses that stand on it.
    """

    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="wall_lines")
    label = models.CharField(max_length=60, help_text="As the plan names it, such as “north wall” or “grid B”.")
    plate = models.CharField(
        max_length=40,
        blank=True,
        validators=[validate_lumber],
        help_text="Lumber of its top plate, a key of the lumber table such as 2x4 SPF No.1/No.2. Empty: not given.",
    )
    level = models.CharField(max_length=60, blank=True, help_text="The level of the plan that it is drawn on.")
    points = models.JSONField(
        default=list,
        blank=True,
        validators=[validate_line],
        help_text="Its line in plan, [[x, y], …] in inches. Empty: not drawn.",
    )

    class Meta:
        ordering = ("job", "label")
        constraints = [models.UniqueConstraint(fields=("job", "label"), name="a_wall_line_once_in_a_job")]

    def __str__(self) -> str:
        return self.label


class BearingLink(models.Model):
    """What the bearing at one joint of a mark stands on: a wall line, or another mark that carries it.

    Where carried copies land follows from the placements in plan; `hung` names the places instead, one for each copy
    that hangs on one copy of the carrier: {"member", "at_in"}, inches along a bottom-chord member of the carrier.
    """

    truss = models.ForeignKey(Truss, on_delete=models.CASCADE, related_name="stands_on")
    joint = models.CharField(max_length=40)
    wall = models.ForeignKey(WallLine, null=True, blank=True, on_delete=models.PROTECT, related_name="bearings")
    carrier = models.ForeignKey(Truss, null=True, blank=True, on_delete=models.PROTECT, related_name="carried")
    hung = models.JSONField(default=list, blank=True)
    said_by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.PROTECT, related_name="+")
    said_at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering = ("truss", "id")
        constraints = [
            models.UniqueConstraint(fields=("truss", "joint"), name="a_bearing_stands_on_one_thing"),
            models.CheckConstraint(
                condition=models.Q(wall=None, carrier__isnull=False) | models.Q(wall__isnull=False, carrier=None),
                name="a_bearing_stands_on_a_wall_or_a_mark",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.truss}, {self.joint} on {self.carrier or self.wall}"
