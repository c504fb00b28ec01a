"""What happened to marks, append-only."""

from __future__ import annotations

from django.conf import settings
from django.db import models
from django.utils import timezone

from trusses import words
from trusses.models.immutable import Immutable
from trusses.models.marks import Truss


class MarkEvent(Immutable):
    """What happened to a mark and its copies beside requests, append-only: a code with its values.

    `by` is null only for what was done by nobody who signed in, such as a set written by a program.
    """

    class Code(models.TextChoices):
        MOVED = "moved", "copies moved on"  # from, to, copies, revision, found, unsealed, asked, asked_of
        TAKEN_BACK = "taken back", "stage move taken back"  # event, from, to, copies, reason
        EARLIER = "earlier", "said of copies of an earlier revision"  # copies, what, current, revision, reason
        LOOKED = "looked at", "copies looked at"  # copies, when, wrong, found, asked
        MAY_BE_SET = "may be set", "what was found is closed"  # copies, wrong, reason
        ANEW = "made anew", "copies to be made anew"  # copies, from, revision, current, reason
        GONE = "old one gone", "old truss destroyed or set apart"  # event, copies, reason
        CORRECTED = "corrected", "first design corrected"  # before, after, reason
        WITHDRAWN = "withdrawn", "mark withdrawn"  # revision, reason
        COUNTED = "counted", "number of copies set"  # before, after
        PLACED = "placed", "places in plan set"  # level, before, after: rows of places as `placing` tells them
        LEFT = "copies left", "copies became another mark's"  # copies, to, turned, about_in
        CAME = "copies came", "copies came from another mark"  # copies, from, revision, turned
        TURNED = "copies turned", "copies turned end for end"  # copies, turned, about_in
        ENDED = "ended", "ended without copies"
        SHIFTED = "shifted", "copies shifted in plan"  # moved: {number: inches along the row}, out
        SEALED = "sealed", "sealed drawing attached"  # revision, copies, sha256, name, on
        REVIEWED = "reviewed", "sealed drawing reviewed"  # the same
        ACCEPTED = "accepted", "sealed drawing accepted"  # the same
        CARRIED_OUT = "carried out", "sealed repair carried out"  # the same
        COVERED = "seal covers", "said to cover more"  # revision, copies, sha256, name, on, what
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

    @property
    def asked(self) -> str:
        """Which designer was asked before copies were set, and what was said, in the words of whoever set them; empty
        where there was nothing to ask, though somebody wrote it."""
        needless = "asked_of" in self.values and not self.values["asked_of"]
        return "" if needless else self.values.get("asked") or ""
