"""What would answer an ask, and what it makes of the marks that carry its truss."""

from __future__ import annotations

from typing import Any

from django.conf import settings
from django.db import models
from django.utils import timezone
from django.utils.functional import cached_property

from changes import words
from changes.models.requests import Ask, Request
from trusses import verdicts
from trusses.analysis.piece_names import checked, panel_names
from trusses.analysis.redesign.changes import measure
from trusses.analysis.verdict import Verdict as TrussVerdict
from trusses.analysis.words.phrases import Coded, coded, with_names
from trusses.models import Immutable, Revision, Truss


class Option(models.Model):
    """A truss document that would answer the asks on some copies of one truss, found by the search or drawn by a
    designer.

    Written once and never edited: an edited option is another option. `analysis`, `comparison`, `passes` stay empty
    only while a designer's own option waits for its computation.
    """

    plainly = False  # a page sets it for whoever doesn't read an engineer's letters

    request = models.ForeignKey(Request, on_delete=models.PROTECT, related_name="options")
    asks = models.ManyToManyField(Ask, related_name="options")
    truss = models.ForeignKey(Truss, on_delete=models.PROTECT, related_name="+")
    copies = models.JSONField(default=list, blank=True, help_text="Numbers of the copies that it is for: its asks'.")
    revision = models.ForeignKey(
        Revision, on_delete=models.PROTECT, related_name="+", help_text="What it departs from."
    )
    drawn_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    redrawn_of = models.OneToOneField(
        "self",
        null=True,
        blank=True,
        on_delete=models.PROTECT,
        related_name="redrawn",
        help_text="The drawn option that this is, computed anew.",
    )
    titled = models.JSONField(help_text="A person's own words, or what leads to it: code, values.")
    rank = models.PositiveIntegerField(default=0)
    document = models.JSONField()
    sha256 = models.CharField(max_length=64)
    analysis = models.JSONField(null=True, blank=True)
    comparison = models.JSONField(null=True, blank=True)
    passes = models.BooleanField(null=True, blank=True, help_text="Its lumber checks pass and its openings are clear.")
    worst_ratio = models.FloatField(null=True, blank=True)
    told = models.JSONField(default=list, blank=True, help_text="What decides about it: code, values.")
    elsewhere = models.JSONField(
        default=list,
        blank=True,
        help_text='Its openings elsewhere than asked: [{"opening", "asked_in": [x, y], "centre_in": [x, y]}].',
    )
    stale = models.BooleanField(default=False, help_text="From a computation that was done again since.")
    bars = models.JSONField(
        default=list, blank=True, help_text="Why nobody approves it, whatever else is accepted: code, values."
    )
    joins = models.JSONField(
        default=list, blank=True, help_text="The marks, by id, that its copies would join: its basis covers these too."
    )
    basis = models.CharField(
        max_length=64,
        blank=True,
        help_text="What its consequences rest on; empty where nothing carries the mark.",
    )
    created_at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering = ("request", "truss", "rank", "id")
        constraints = [
            # Whatever the queue does, a computation's effect is written once.
            models.UniqueConstraint(
                fields=("request", "truss", "copies", "rank"),
                condition=models.Q(stale=False, drawn_by=None),
                name="one_option_of_a_rank_in_a_computation",
            )
        ]

    def __str__(self) -> str:
        return self.title

    @property
    def title(self) -> str:
        return words.called(self.titled)

    @property
    def says(self) -> str:
        return words.told(self.told, plainly=self.plainly)

    @property
    def below(self) -> str:
        """What it asks of what is below it: `tie`, `more` or nothing."""
        return words.below(self.told)

    @property
    def below_says(self) -> str:
        """The same in a few words, to stand with its title."""
        return words.BELOW.get(self.below, "")

    @cached_property
    def verdict(self) -> TrussVerdict | None:
        """The verdict on its own truss as the set is today, whatever it makes of the carriers; None before its
        computation."""
        return None if self.analysis is None else verdicts.of_document(self.truss, self.document, self.analysis)

    @property
    def numbers_only(self) -> bool:
        """It isn't called passing because it is of a girder with hangers or of another kind that nothing automatic
        answers for, and for no other reason."""
        if self.passes or self.verdict is None or not self.verdict.numbers_only:
            return False
        return all(one.passes is None for one in self.consequences.all())

    @cached_property
    def members_changed(self) -> int | None:
        """How many members differ from the revision that it departs from, as the search counts and sorts them: a chord
        with a panel point more is the piece that it was. None before its computation."""
        if self.comparison is None:
            return None
        return measure(self.revision.document, self.document, ()).size[0]

    @cached_property
    def plies_alone(self) -> int:
        """How many plies it has where its members differ from that revision in that alone, else 0."""
        was, now = self.revision.document, self.document
        alike = all(was[key] == now[key] for key in ("joints", "members"))
        return int(now.get("plies", 1)) if alike and was.get("plies", 1) != now.get("plies", 1) else 0


class Consequence(Immutable):
    """What an option makes of a mark that carries its truss, directly or by way of others.

    `passes` is false where a check fails, and never true: a girder with hangers waits for its sealed drawing, and its
    numbers are shown alone. `document` and what follows from it are empty where `trouble` says why it can't be worked
    out.
    """

    plainly = False  # a page sets it for whoever doesn't read an engineer's letters

    option = models.ForeignKey(Option, on_delete=models.PROTECT, related_name="consequences")
    carrier = models.ForeignKey(Truss, on_delete=models.PROTECT, related_name="+")
    revision = models.ForeignKey(Revision, on_delete=models.PROTECT, related_name="+")
    place = models.PositiveIntegerField(help_text="In the chain, after all that it carries.")
    because = models.JSONField(help_text="The marks on it whose loads change.")
    document = models.JSONField(null=True)
    sha256 = models.CharField(max_length=64, blank=True)
    analysis = models.JSONField(null=True)
    comparison = models.JSONField(null=True)
    fails = models.JSONField(default=list, help_text="Its failing checks, the worst first.")
    findings = models.JSONField(default=list, help_text="What a person has to look at: code, values.")
    trouble = models.JSONField(null=True, blank=True, help_text="A refusal: code, place, values.")

    class Meta:
        ordering = ("option", "place")
        constraints = [models.UniqueConstraint(fields=("option", "carrier"), name="one_consequence_for_a_carrier")]

    def __str__(self) -> str:
        return self.says

    @property
    def findings_say(self) -> list[str]:
        return [words.finding(one) for one in self.findings]

    @property
    def trouble_says(self) -> str:
        return words.trouble(self.trouble)

    @property
    def passes(self) -> bool | None:
        return False if self.fails or self.trouble else None

    @property
    def worst_ratio(self) -> list[float] | None:
        """[before, after]."""
        return self.comparison["worst_ratio"] if self.comparison else None

    @property
    def over(self) -> list[dict[str, Any]]:
        """Its failing checks, each with what it is of, as people call it."""
        return [{**check, "object": checked(self.document, check["of"], check["id"])} for check in self.fails]

    @property
    def members(self) -> list[dict[str, Any]]:
        """Its members before and after, each under the name that the drawing has."""
        if self.document is None or self.comparison is None:
            return []
        names = panel_names(self.document)
        return [{**one, "called": names.get(one["id"], one["id"])} for one in self.comparison["members"]]

    @property
    def told(self) -> Coded:
        worst = self.fails[0] if self.fails else None
        said = coded(
            "carrier",
            carrier=self.carrier.mark,
            because=self.because,
            trouble=self.trouble,
            worst_ratio=self.worst_ratio,
            fails=worst,
        )
        return with_names(said, panel_names(self.document)) if worst and self.document else said

    @property
    def says(self) -> str:
        """One sentence, such as “G1 carries R5: worst ratio 71% → 83%, no check over its limit.”"""
        return words.told([self.told], plainly=self.plainly)


class Together(models.Model):
    """What options of several marks make at once of the marks that carry them, which may be another thing than each of
    them makes alone. `analyses` are the carriers' by the SHA-256 of their documents; empty before the computation."""

    request = models.ForeignKey(Request, on_delete=models.PROTECT, related_name="together")
    options = models.JSONField(help_text="The ids of the options, in order.")
    analyses = models.JSONField(default=dict)

    class Meta:
        verbose_name_plural = "together"
        ordering = ("id",)

    def __str__(self) -> str:
        return f"Options {', '.join(map(str, self.options))} together"
