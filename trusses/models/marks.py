"""Marks and their copies: where they stand in plan, and where in production."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.core.exceptions import ValidationError
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models

from trusses.analysis.verdict import KINDS
from trusses.analysis.words.phrases import Coded, coded
from trusses.models.jobs import Job

if TYPE_CHECKING:
    from trusses.models.revisions import Revision


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

    class Earlier(models.TextChoices):
        """What is to be done with a copy that is built to an earlier revision than the current one."""

        STAYS = "stays", "stays by the revision that it is built to"
        WAITS = "waits", "waits: it is not set before it is said to stay, or made anew"

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
    earlier = models.CharField(
        max_length=10, choices=Earlier, blank=True, help_text="While built to an earlier revision."
    )
    earlier_for = models.ForeignKey(
        "Revision",
        null=True,
        blank=True,
        on_delete=models.PROTECT,
        related_name="+",
        help_text="The current revision for which that was said; another one asks anew.",
    )
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
