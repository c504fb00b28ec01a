"""A job: one building, its people, and how high its levels bear."""

from __future__ import annotations

from datetime import date, datetime
from zoneinfo import ZoneInfo, available_timezones

from django.conf import settings
from django.core.exceptions import ValidationError
from django.core.validators import MaxValueValidator, MinValueValidator, RegexValidator
from django.db import models
from django.utils import timezone


def validate_time_zone(name: str) -> None:
    if name not in available_timezones():
        raise ValidationError(f"“{name}” is not a time zone of the tz database, such as America/Denver.")


class Role(models.TextChoices):
    """What a person may do in one job; one role in each."""

    BUILDER = "builder", "builder"
    DESIGNER = "designer", "designer"
    SITE_LEAD = "site lead", "site lead"


def validate_heights(heights: object) -> None:
    """Levels by name, each with a number of inches."""
    if not isinstance(heights, dict) or not all(
        isinstance(inches, int | float) and not isinstance(inches, bool) and abs(inches) <= 12_000
        for inches in heights.values()
    ):
        raise ValidationError("Levels by name, each with its height in inches.")


class Job(models.Model):
    """One building."""

    class Sheathing(models.IntegerChoices):
        """KM of CT (NDS 4.4.2), by how wet the lumber was when the panels were nailed on."""

        DRY = 2300, "Panels of 3/8 in. or more, nailed on at 19% moisture or less"
        WET = 1200, "Panels of 3/8 in. or more, nailed on while the lumber was wetter than 19%"

    name = models.CharField(max_length=120)
    place = models.CharField(max_length=200, blank=True, help_text="Lot or address, as the job's papers write it.")
    time_zone = models.CharField(
        max_length=60,
        default="America/Chicago",
        validators=[validate_time_zone],
        help_text="The last day for changes ends at midnight here.",
    )
    sheathing_km = models.PositiveSmallIntegerField(
        "sheathing on the top chords",
        null=True,
        blank=True,
        choices=Sheathing,
        help_text="What the analysis may take for granted of the sheathing, by NDS 4.4.2. Empty: nothing.",
    )
    north_deg = models.FloatField(
        "north",
        null=True,
        blank=True,
        validators=[MinValueValidator(0), MaxValueValidator(360)],
        help_text="Which way north lies in plan, degrees clockwise from the plan's y. Empty: not said.",
    )
    bearing_heights = models.JSONField(
        default=dict,
        blank=True,
        validators=[validate_heights],
        help_text="How high the trusses of each level bear, {level: inches} above the lowest level's; others assumed.",
    )
    is_demo = models.BooleanField(default=False, editable=False)
    people = models.ManyToManyField(settings.AUTH_USER_MODEL, through="Membership", related_name="jobs")

    class Meta:
        ordering = ("name", "id")

    def __str__(self) -> str:
        return self.name

    def today(self) -> date:
        """The date where the building stands."""
        return self.day_of(timezone.now())

    def day_of(self, moment: datetime) -> date:
        """The date that a moment had where the building stands."""
        return moment.astimezone(ZoneInfo(self.time_zone)).date()


class Membership(models.Model):
    """A person's one role in one job."""

    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="memberships")
    user = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="memberships")
    role = models.CharField(max_length=10, choices=Role.choices)
    phone = models.CharField(
        max_length=30,
        blank=True,
        validators=[
            RegexValidator(r"^[0-9+(][0-9 ().+-]*[0-9]$", "A phone number has figures, spaces and ( ) . + - only.")
        ],
        help_text="Where the others of this job reach you.",
    )

    class Meta:
        constraints = [models.UniqueConstraint(fields=("job", "user"), name="one_role_in_a_job")]

    def __str__(self) -> str:
        return f"{self.user} is {self.role} in {self.job}"
