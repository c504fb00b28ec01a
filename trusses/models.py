"""The set: one job's trusses, where their copies stand, and the revisions that they are built from."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date, datetime
from typing import Any, NoReturn
from zoneinfo import ZoneInfo, available_timezones

from django.conf import settings
from django.core.exceptions import ValidationError
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.utils import timezone

from trusses import words
from trusses.analysis.lumber import LUMBER, LumberError, lookup
from trusses.analysis.verdict import KINDS
from trusses.analysis.words.phrases import Coded, coded
from trusses.once import once


def validate_time_zone(name: str) -> None:
    if name not in available_timezones():
        raise ValidationError(f"“{name}” is not a time zone of the tz database, such as America/Denver.")


def _rate(says: str) -> models.DecimalField:
    return models.DecimalField(
        max_digits=8, decimal_places=2, null=True, blank=True, validators=[MinValueValidator(0)], help_text=says
    )


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


class Stage(models.TextChoices):
    """Where one copy is in production, in this order."""

    DESIGNING = "designing", "designing"
    RELEASED = "released", "released"
    CUT = "cut", "cut"
    BUILT = "built", "built"
    DELIVERED = "delivered", "delivered"
    SET = "set", "set"


STAGE_ORDER = {stage: place for place, stage in enumerate(Stage.values)}
CHANGEABLE_STAGES = (Stage.DESIGNING.value, Stage.RELEASED.value)
"""A copy can take an ordinary change until the saw: not from `cut` on."""


class Job(models.Model):
    """One building."""

    class Sheathing(models.IntegerChoices):
        """KM of CT (NDS 4.4.2), by how wet the lumber was when the panels were nailed on."""

        DRY = 2300, "Panels of 3/8 in. or more, nailed on at 19 % moisture or less"
        WET = 1200, "Panels of 3/8 in. or more, nailed on while the lumber was wetter than 19 %"

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

    class Meta:
        constraints = [models.UniqueConstraint(fields=("job", "user"), name="one_role_in_a_job")]

    def __str__(self) -> str:
        return f"{self.user} is {self.role} in {self.job}"


def validate_kinds(kinds: object) -> None:
    if not isinstance(kinds, list) or any(kind not in KINDS for kind in kinds):
        raise ValidationError(f"A list of some of {', '.join(KINDS)}.")


class Truss(models.Model):
    """One mark of a job's set. `current` is the revision to build from; exactly one is."""

    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="trusses")
    mark = models.CharField(max_length=20)
    variant_of = models.ForeignKey(
        "self",
        null=True,
        blank=True,
        editable=False,
        on_delete=models.PROTECT,
        related_name="variants",
        help_text="The mark that its copies were of at first.",
    )
    kinds = models.JSONField(
        default=list,
        blank=True,
        validators=[validate_kinds],
        help_text="Which of the kinds it is of that nothing automatic answers for.",
    )
    can_change_until = models.DateField(
        null=True, blank=True, help_text="The last day for changes, that day included, in the job's time zone."
    )
    # empty only within the transaction that makes the mark: whoever reads one has a revision
    current: models.OneToOneField[Revision | None, Revision] = models.OneToOneField(  # type: ignore[misc]
        "Revision", null=True, blank=True, on_delete=models.PROTECT, related_name="current_of", editable=False
    )
    withdrawn_at = models.DateTimeField(
        null=True, blank=True, editable=False, help_text="Its designer took it out of the set; the record stays."
    )

    class Meta:
        verbose_name_plural = "trusses"
        ordering = ("job", "mark")
        constraints = [models.UniqueConstraint(fields=("job", "mark"), name="a_mark_once_in_a_job")]

    def __str__(self) -> str:
        return self.mark

    @property
    def changes_are_over(self) -> bool:
        return self.can_change_until is not None and self.job.today() > self.can_change_until

    @property
    def past_change(self) -> Coded | None:
        """Why no copy of it can take an ordinary change any more (`words.CLOSED`); None while one can."""
        last = self.can_change_until
        if last is not None and self.changes_are_over:
            return coded("past-last-day", mark=self.mark, last=last.isoformat())
        return self.all_cut

    @property
    def all_cut(self) -> Coded | None:
        """That every copy is cut or further; None where one isn't."""
        stages = list(self.copies.values_list("stage", flat=True))
        if not stages or any(stage in CHANGEABLE_STAGES for stage in stages):
            return None
        return coded("all-cut", mark=self.mark, copies=len(stages))


DIRECTIONS = (("x", "span runs along x"), ("y", "span runs along y"))


class Placement(models.Model):
    """Where copies of a truss stand in plan: a row that starts at an origin and steps by a spacing. Inches."""

    truss = models.ForeignKey(Truss, on_delete=models.CASCADE, related_name="placements")
    level = models.CharField(max_length=60, default="Roof")
    origin_x_in = models.FloatField(help_text="Plan position of the first copy's left end, inches.")
    origin_y_in = models.FloatField()
    direction = models.CharField(
        max_length=1,
        choices=DIRECTIONS,
        default="x",
        help_text="Which way the span runs in plan; copies step the other way.",
    )
    spacing_in = models.FloatField(validators=[MinValueValidator(0)])
    count = models.PositiveIntegerField(validators=[MinValueValidator(1), MaxValueValidator(500)])
    turned = models.BooleanField(
        default=False, help_text="The copies stand turned end for end: their left end, which is marked, is the far one."
    )
    note = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ("truss", "id")

    def __str__(self) -> str:
        return f"{self.truss} × {self.count}, {self.level}"


class Copy(models.Model):
    """One physical truss: its own stage, what it was built to, what was found at delivery and setting."""

    truss = models.ForeignKey(Truss, on_delete=models.CASCADE, related_name="copies")
    placement = models.ForeignKey(Placement, null=True, blank=True, on_delete=models.SET_NULL, related_name="copies")
    number = models.PositiveIntegerField(
        help_text="1, 2, 3 … within the mark and its variants: a copy keeps it when it goes from one to another."
    )
    stage = models.CharField(max_length=10, choices=Stage.choices, default=Stage.DESIGNING)
    released_to = models.ForeignKey(
        "Revision",
        null=True,
        blank=True,
        on_delete=models.PROTECT,
        related_name="released_copies",
        help_text="What a designer released it to; the saw cuts to no other.",
    )
    built_to = models.ForeignKey("Revision", null=True, blank=True, on_delete=models.PROTECT, related_name="copies")
    found_at_delivery = models.CharField(max_length=500, blank=True)
    found_at_setting = models.CharField(max_length=500, blank=True)

    class Meta:
        verbose_name_plural = "copies"
        ordering = ("truss", "number")
        constraints = [models.UniqueConstraint(fields=("truss", "number"), name="a_copy_number_once_in_a_mark")]

    def __str__(self) -> str:
        return f"{self.truss} copy {self.number}"

    @property
    def can_change(self) -> bool:
        return self.stage in CHANGEABLE_STAGES


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


class ImmutableQuerySet(models.QuerySet):
    """Rows that are written once. Bulk paths are closed too, since they pass `save` and `delete` by."""

    def update(self, **kwargs: Any) -> NoReturn:
        raise ValidationError(f"A {self.model._meta.verbose_name} never changes.")

    def delete(self) -> NoReturn:
        raise ValidationError(f"A {self.model._meta.verbose_name} never disappears.")

    def bulk_update(self, *args: Any, **kwargs: Any) -> NoReturn:
        raise ValidationError(f"A {self.model._meta.verbose_name} never changes.")

    def bulk_create(self, objs: Iterable[Any], *args: Any, **kwargs: Any) -> list[Any]:
        if kwargs.get("update_conflicts"):
            raise ValidationError(f"A {self.model._meta.verbose_name} never changes.")
        return super().bulk_create(objs, *args, **kwargs)


class Immutable(models.Model):
    objects = ImmutableQuerySet.as_manager()

    class Meta:
        abstract = True

    def save(self, *args: Any, **kwargs: Any) -> None:
        if not self._state.adding:
            raise ValidationError(f"A {self._meta.verbose_name} never changes.")
        super().save(*args, **kwargs)

    def delete(self, *args: Any, **kwargs: Any) -> NoReturn:
        raise ValidationError(f"A {self._meta.verbose_name} never disappears.")


class Revision(Immutable):
    """An immutable truss document of one mark, with the analysis that it was issued on."""

    truss = models.ForeignKey(Truss, on_delete=models.PROTECT, related_name="revisions")
    number = models.PositiveIntegerField()
    document = models.JSONField()
    sha256 = models.CharField(max_length=64, db_index=True)
    analysis = models.JSONField()
    accepts = models.JSONField(
        default=list, help_text="Serviceability checks that fail and were accepted: rule, reason."
    )
    taken_up = models.JSONField(
        default=dict, help_text="Which of its loads stand there for what it carries, as `carrying.taken_up` writes it."
    )
    comes_from = models.ForeignKey(
        "self",
        null=True,
        blank=True,
        on_delete=models.PROTECT,
        related_name="became",
        help_text="Of a variant's first revision: the one of the other mark that its copies had.",
    )
    issued_by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.PROTECT, related_name="+")
    issued_at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering = ("truss", "number")
        constraints = [models.UniqueConstraint(fields=("truss", "number"), name="a_revision_number_once_in_a_mark")]

    def __str__(self) -> str:
        return f"{self.truss} revision {self.number}"

    @property
    def is_current(self) -> bool:
        return self.truss.current_id == self.pk


class Submission(models.Model):
    """What a designer sent to the set, which the worker computes.

    In the end it has become a `revision`, and `truss` is its mark; or `trouble` says why not.
    """

    class Kind(models.TextChoices):
        NEW_MARK = "new mark", "new mark"  # quantity, can_change_until, and typed: the form it came from
        CORRECTION = "correction", "corrected first design"  # reason, seen, accepts
        LOADS = "loads", "what stands on a mark, written into its drawing"  # nothing

    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="submissions")
    kind = models.CharField(max_length=20, choices=Kind.choices, default=Kind.NEW_MARK)
    truss = models.ForeignKey(
        Truss,
        null=True,
        blank=True,
        on_delete=models.CASCADE,
        related_name="submissions",
        help_text="What it is about; of a new mark, what it has become.",
    )
    document = models.JSONField(null=True, blank=True)
    said = models.JSONField(default=dict, help_text="What was said with it, by its kind.")
    sent_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    sent_at = models.DateTimeField(default=timezone.now)
    revision = models.OneToOneField(
        Revision, null=True, blank=True, on_delete=models.CASCADE, related_name="+", help_text="What it has become."
    )
    trouble = models.JSONField(null=True, blank=True, help_text="Why it came to nothing: code, values.")

    class Meta:
        ordering = ("job", "id")

    def __str__(self) -> str:
        return self.truss.mark if self.truss else str((self.document or {}).get("mark", ""))

    @property
    def waits(self) -> bool:
        return self.revision_id is None and not self.trouble

    @property
    def trouble_says(self) -> str:
        return words.kept(self.trouble)


class MarkEvent(Immutable):
    """What happened to a mark and its copies beside requests, append-only: a code with its values.

    `by` is null only for what was done by nobody who signed in, such as a set written by a program.
    """

    class Code(models.TextChoices):
        MOVED = "moved", "copies moved on"  # from, to, copies, revision, found, unsealed
        CORRECTED = "corrected", "first design corrected"  # before, after, reason
        WITHDRAWN = "withdrawn", "mark withdrawn"  # revision, reason
        COUNTED = "counted", "number of copies set"  # before, after
        PLACED = "placed", "places in plan set"  # level, before, after: rows of places as `placing` tells them
        LEFT = "copies left", "copies became another mark's"  # copies, to, turned
        CAME = "copies came", "copies came from another mark"  # copies, from, revision, turned
        ENDED = "ended", "ended without copies"
        SHIFTED = "shifted", "copies shifted in plan"  # moved: {number: inches along the row}, out
        SEALED = "sealed", "sealed drawing attached"  # revision, copies, sha256, name, on
        REVIEWED = "reviewed", "sealed drawing reviewed"  # the same
        ACCEPTED = "accepted", "sealed drawing accepted"  # the same
        CARRIED_OUT = "carried out", "sealed repair carried out"  # the same
        UNSEALED = "seal withdrawn", "sealed drawing withdrawn"  # revision, copies, sha256, reason

    truss = models.ForeignKey(Truss, on_delete=models.PROTECT, related_name="events")
    at = models.DateTimeField(default=timezone.now)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    code = models.CharField(max_length=20, choices=Code.choices)
    values = models.JSONField(default=dict)

    class Meta:
        ordering = ("id",)

    def __str__(self) -> str:
        return f"{self.truss}: {self.get_code_display()}"

    @property
    def told(self) -> str:
        return words.mark_event(self.code, self.values)

    @property
    def own_words(self) -> str:
        """What the person wrote: what was found, or the reason."""
        return self.values.get("found") or self.values.get("reason") or ""


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

    class Meta:
        verbose_name_plural = "job rates"

    def __str__(self) -> str:
        return f"Rates of {self.job}"
