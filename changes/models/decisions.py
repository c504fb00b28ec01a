"""What a designer decides, what that issues, and who keeps the saw waiting meanwhile."""

from __future__ import annotations

from django.conf import settings
from django.db import models
from django.utils import timezone

from changes.models.options import Option
from changes.models.requests import Ask, Request
from trusses.models import Copy, Immutable, Revision, Truss
from trusses.sealing.models import SealedDrawing


class Decision(Immutable):
    """What a designer decided, and why. A request that was sent back is decided again: one decision a round."""

    class Choice(models.TextChoices):
        APPROVE = "approve", "approve"
        SEND_BACK = "send back", "send back"
        DECLINE = "decline", "decline"

    class EndsBy(models.TextChoices):
        REPAIR = "repair", "a sealed repair, its drawing attached"
        NEW_TRUSS = "new truss", "a new truss in its place"
        KEEP_OFF = "keep off", "nothing yet: keep off"

    request = models.ForeignKey(Request, on_delete=models.PROTECT, related_name="decisions")
    verdict = models.CharField(max_length=10, choices=Choice.choices)
    reason = models.TextField(max_length=2000, blank=True)
    accepts = models.JSONField(default=list, help_text="Failed serviceability checks that were accepted.")
    ends_by = models.CharField(
        max_length=10, blank=True, choices=EndsBy.choices, help_text="Of damage: what the truss may be set on."
    )
    options = models.JSONField(default=dict, help_text="{ask: the option that was chosen for it}, by id.")
    leaves = models.JSONField(default=list, help_text="Ids of the asks for which nothing is issued, by its reason.")
    lines = models.JSONField(
        default=dict,
        help_text="{run: another line that the builder is asked about}, by id, as runs are written.",
    )
    shows = models.JSONField(
        default=list, help_text="Numbers of photos of a repair drawing, from before drawings were attached."
    )
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering = ("request", "id")

    def __str__(self) -> str:
        return f"decision {self.pk} on request {self.request_id}: {self.verdict}"


class Repair(Immutable):
    """A sealed drawing of the repair of what an ask tells as damage. The last that isn't withdrawn counts."""

    ask = models.ForeignKey(Ask, on_delete=models.PROTECT, related_name="repairs")
    drawing = models.OneToOneField(SealedDrawing, on_delete=models.PROTECT, related_name="repair")

    class Meta:
        ordering = ("id",)

    def __str__(self) -> str:
        return f"repair of {self.ask}"


class Issue(Immutable):
    """That a decision issued a revision: the link from a sheet back to who asked and who decided.

    From an option, or, without one, because the mark carries others that change; `because` names them.
    """

    decision = models.ForeignKey(Decision, on_delete=models.PROTECT, related_name="issues")
    option = models.ForeignKey(Option, null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    because = models.JSONField(default=list, blank=True)
    revision = models.OneToOneField(Revision, on_delete=models.PROTECT, related_name="issue")

    def __str__(self) -> str:
        return f"{self.revision} by decision {self.decision_id}"


class Hold(models.Model):
    """A wish that the saw waits for a request, on the copies of one mark that are not yet cut. A page notes in `still`
    who else holds them."""

    still: str

    class Standing(models.TextChoices):
        ASKED = "asked", "asked"
        ACKNOWLEDGED = "acknowledged", "acknowledged"
        REFUSED = "refused", "refused"
        RELEASED = "released", "released"

    request = models.ForeignKey(Request, on_delete=models.PROTECT, related_name="holds")
    truss = models.ForeignKey(Truss, on_delete=models.PROTECT, related_name="holds")
    copies = models.ManyToManyField(Copy, related_name="holds")
    standing = models.CharField(max_length=12, choices=Standing.choices, default=Standing.ASKED)
    asked_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    asked_at = models.DateTimeField(default=timezone.now)
    answered_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    answered_at = models.DateTimeField(null=True, blank=True)
    released_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = [models.UniqueConstraint(fields=("request", "truss"), name="one_hold_for_a_request_and_mark")]

    def __str__(self) -> str:
        return f"hold on {self.truss}: {self.standing}"
