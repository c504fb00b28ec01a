"""What a builder asks: a request, and each ask in it."""

from __future__ import annotations

from math import hypot
from typing import Any

from django.conf import settings
from django.db import models
from django.utils import timezone

from changes import words
from changes.words.kinds import harm
from trusses.analysis.damage.places import OnPiece, on_piece
from trusses.analysis.runs.crossing import NEAR_IN
from trusses.models import Immutable, Job, Revision, Truss


class State(models.TextChoices):
    """A request's states; who moves it from one to the next stands in `workflow.TRANSITIONS`."""

    FILED = "filed", "filed"
    COMPUTING = "computing", "computing"
    AWAITING_DECISION = "awaiting decision", "awaiting decision"
    # what a page calls it must not sound like the approval of a registered design professional
    APPROVED = "approved", "revision issued, not sealed"
    SENT_BACK = "sent back", "sent back"
    DECLINED = "declined", "declined"
    WITHDRAWN = "withdrawn", "withdrawn"
    FAILED = "failed", "failed"


OPEN_STATES = (
    State.FILED.value,
    State.COMPUTING.value,
    State.AWAITING_DECISION.value,
    State.SENT_BACK.value,
    State.FAILED.value,
)
"""A request in one of these still waits for somebody or something."""


class Request(models.Model):
    """What a builder asks of one job, with a reason and a date. `state` changes in `workflow` alone."""

    job = models.ForeignKey(Job, on_delete=models.PROTECT, related_name="requests")
    filed_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="requests")
    filed_at = models.DateTimeField(default=timezone.now)
    reason = models.TextField(max_length=2000)
    needed_by = models.DateField()
    state = models.CharField(max_length=20, choices=State.choices, default=State.FILED, db_index=True)
    fingerprint = models.CharField(max_length=64, null=True, editable=False, help_text="SHA-256 of what is asked.")

    class Meta:
        ordering = ("-filed_at", "-id")
        constraints = [
            # A second tap on “send” arrives at the same moment as the first: only the database can tell.
            models.UniqueConstraint(
                fields=("filed_by", "fingerprint"),
                condition=models.Q(state__in=OPEN_STATES),
                name="the_same_request_open_once",
            )
        ]

    def __str__(self) -> str:
        return f"Request {self.pk}"

    @property
    def is_open(self) -> bool:
        return self.state in OPEN_STATES

    @property
    def ended(self) -> bool:
        """Nothing comes of it: what was answered says no more what can be had."""
        return self.state in (State.DECLINED, State.WITHDRAWN)

    @property
    def overtaken(self) -> list[Ask]:
        """The asks whose truss got a new revision since; such a request is computed again before it is approved."""
        asks = self.asks.filter(replaced=False, truss__isnull=False).exclude(revision=models.F("truss__current"))
        return list(asks.exclude(kind__in=Kind.as_built()).select_related("truss")) if self.is_open else []


class Kind(models.TextChoices):
    """What is asked; a kind is answered once it has its file in `asks`, which `asks.kinds` finds by its name."""

    OPENING = "opening", "opening"
    RUN = "run", "run"
    LOAD = "load", "load"
    BEARING = "bearing", "bearing"
    PASSAGE = "passage", "passage"
    DAMAGE = "damage", "damage"
    QUESTION = "question", "question"
    REVISION = "revision", "revision"
    """A designer's own: a revision that no builder asked for."""

    @classmethod
    def as_built(cls) -> tuple[str, ...]:
        """The kinds that are about copies as they were built, whatever their mark's drawing says by now."""
        return (cls.DAMAGE.value,)


class Verdict(models.TextChoices):
    """The answer to one ask."""

    FITS = "fits", words.VERDICTS["fits"]
    MORE = "more", words.VERDICTS["more"]
    TIE = "tie", words.VERDICTS["tie"]
    UNSURE = "unsure", words.VERDICTS["unsure"]
    OPTIONS = "options", words.VERDICTS["options"]
    NONE_PASS = "none pass", words.VERDICTS["none pass"]
    NEVER = "never", words.VERDICTS["never"]


AS_IT_IS = (Verdict.FITS, Verdict.MORE, Verdict.TIE)
"""Today's truss passes, whatever it puts on what is below."""


class Photo(Immutable):
    """A picture that somebody sent for a job; its file is named by its SHA-256 (`photos.path_of`)."""

    job = models.ForeignKey(Job, on_delete=models.PROTECT, related_name="photos")
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField(default=timezone.now)
    sha256 = models.CharField(max_length=64)
    width_px = models.PositiveIntegerField()
    height_px = models.PositiveIntegerField()

    class Meta:
        ordering = ("id",)

    def __str__(self) -> str:
        return f"Photo {self.pk}"


class Run(Immutable):
    """A path through the set as it was asked for: points in plan, level, height, slope, section, insulation. Each group
    of copies that it meets alike has an ask of its own."""

    request = models.ForeignKey(Request, on_delete=models.PROTECT, related_name="runs")
    name = models.CharField(max_length=120, blank=True)
    wish = models.JSONField()
    together = models.BooleanField(default=False, help_text="One opening for all copies of a mark was asked for.")
    as_cut = models.JSONField(
        default=list, help_text="Copies cut when it was asked for, which it goes through as built or was asked without."
    )

    class Meta:
        ordering = ("request", "id")

    def __str__(self) -> str:
        return self.name or f"run {self.pk}"


_DAMAGE_TOLD = {
    **dict.fromkeys(("keep-off", "leave-lying", "shore-at", "whom-to-call"), "now"),
    **dict.fromkeys(("damaged-copies-gone", "damaged-revision", "damaged-other-revision"), "which"),
    **dict.fromkeys(("damaged-within", "damaged-unloaded"), "sums"),
    **dict.fromkeys(("repair-carries", "repair-holds"), "repair"),
}


def near(verdict: str, told: Any) -> bool:
    """Of an answer to a run that no truss takes where it runs: whether these take it as they are if it moves a little,
    as what stands beside each crossing has it."""
    if verdict not in (Verdict.OPTIONS, Verdict.NONE_PASS):
        return False
    places = [one["values"] for one in told or () if isinstance(one, dict) and one["code"] == "fits-moved"]
    return any(hypot(place["right_in"], place["up_in"]) <= NEAR_IN for place in places)


class Ask(models.Model):
    """One wanted thing for some copies of one mark. `revision` is what the answer was computed from: the current one,
    of damage the one that the copies were built to.

    What concerns no mark has neither `truss` nor `revision` nor copies. Asks of one request on one mark are about the
    same copies or about others, never about some of the same: `asks.reading` splits them.
    """

    plainly = False  # a page sets it for whoever doesn't read an engineer's letters
    to_designer = False  # a page or call says so: others must not take what a repair carries for leave to nail

    request = models.ForeignKey(Request, on_delete=models.PROTECT, related_name="asks")
    truss = models.ForeignKey(Truss, null=True, blank=True, on_delete=models.PROTECT, related_name="asks")
    revision = models.ForeignKey(Revision, null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    copies = models.JSONField(default=list, blank=True, help_text="Numbers of the mark's copies that it is about.")
    kind = models.CharField(max_length=10, choices=Kind.choices)
    opening = models.JSONField(null=True, blank=True, help_text="As in the truss document's `openings`.")
    wish = models.JSONField(null=True, blank=True, help_text="What else is wanted, as it was read.")
    run = models.ForeignKey(Run, null=True, blank=True, on_delete=models.PROTECT, related_name="asks")
    verdict = models.CharField(max_length=10, choices=Verdict.choices, blank=True)
    told = models.JSONField(default=list, blank=True, help_text="The answer for a builder: code, values.")
    nearest = models.JSONField(null=True, blank=True, help_text='{"centre_in": [x, y], "moved_in": d} or null.')
    figures = models.JSONField(default=dict, blank=True, help_text="What its kind wants shown besides.")
    replaced = models.BooleanField(
        default=False, help_text="The builder asked anew when answering; kept for the record."
    )
    walls = models.JSONField(
        null=True,
        blank=True,
        help_text="Of bearings: the walls that they leave and what stood on these, when it was asked and last decided.",
    )

    class Meta:
        ordering = ("request", "id")

    def __str__(self) -> str:
        return f"{self.kind} in {self.truss}" if self.truss else self.kind

    @property
    def on_truss(self) -> Truss:
        """Its mark, for whoever handles only asks that are about one."""
        if self.truss is None:
            raise TypeError(f"ask {self.pk} ({self.kind}) is about no mark")
        return self.truss

    @property
    def overtaken(self) -> bool:
        """Its mark got a new revision since; what is about copies as they were built stays true."""
        return self.truss is not None and self.revision_id != self.truss.current_id and self.kind not in Kind.as_built()

    @property
    def lies_over(self) -> list[int]:
        """The copies that a weight lies on, where these are others than the ask's own; else none."""
        over: list[int] = (self.wish or {}).get("over", [])
        return over if over != self.copies else []

    @property
    def shares(self) -> list[tuple[int, float]]:
        """Of a weight that several share: each copy with its share, pounds."""
        pounds = self.figures.get("shares_lb", ())
        over = self.lies_over or self.copies
        return list(zip(over, pounds, strict=True)) if len(over) == len(pounds) > 1 else []

    @property
    def told_by(self) -> str:
        """The template that says what was asked."""
        return f"changes/asks/{self.kind}.html"

    @property
    def most_rows(self) -> list[tuple[float, float]]:
        """Of a weight: how much the truss takes at each place along its chord."""
        along = self.figures.get("curve", {})
        return list(zip(along.get("xs_in", ()), along.get("pounds", ()), strict=True))

    @property
    def each_told(self) -> list[str]:
        """The answer sentence by sentence."""
        return [words.told([one], plainly=self.plainly) for one in self._heard]

    @property
    def _heard(self) -> list[Any]:
        """The answer without what it says to designers alone: what a repair of damage has to carry, and its nails."""
        own = [one for one in self.told if isinstance(one, dict) and _DAMAGE_TOLD.get(one["code"]) == "repair"]
        return self.told if self.to_designer or not own else [one for one in self.told if one not in own]

    @property
    def shown_figures(self) -> dict[str, Any]:
        """Its figures, likewise."""
        return {name: one for name, one in self.figures.items() if name != "repair" or self.to_designer}

    @property
    def tells_itself(self) -> bool:
        """What was asked and its answer stand in one template: what to do at once comes before any figure."""
        return self.kind == Kind.DAMAGE

    @property
    def told_apart(self) -> dict[str, list[str]]:
        """Of damage, the sentences of its answer: what to do `now`, from `which` revision it was worked out, what the
        truss `does` as it is, which nobody folds away, what by the `sums` alone it takes, what the `repair` has to
        carry."""
        found: dict[str, list[str]] = {"now": [], "which": [], "does": [], "sums": [], "repair": []}
        for one in self._heard:
            found[_DAMAGE_TOLD.get(one["code"], "does")].append(words.told([one], plainly=self.plainly))
        return found

    @property
    def stands(self) -> bool:
        """Of damage: whether any of the copies was recorded as set when it was answered."""
        return not any(one["code"] == "leave-lying" and one["values"]["all"] for one in self.told or ())

    @property
    def on_piece(self) -> OnPiece | None:
        """Of damage: where it is as people say it, on a piece as the drawing calls it."""
        if not (self.wish and self.revision and "member" in self.wish):
            return None
        return on_piece(self.revision.document, self.wish["member"], self.wish["at_in"])

    @property
    def harm(self) -> str:
        """Of damage: which piece, and what became of it."""
        wish = self.wish or {}
        if "how" not in wish:
            return ""
        place = self.on_piece
        return harm(place.name if place else wish["member"], wish["how"])

    @property
    def answered(self) -> str:
        """The answer in a few words; a revision that a designer started asks for none."""
        if self.kind == Kind.REVISION or not self.verdict:
            return (
                "to be answered by a designer"
                if self.kind == Kind.QUESTION
                else "computed, to be decided by a designer"
            )
        moves, below = near(self.verdict, self.told), words.asks_below(self.told or ())
        return words.verdict(self.verdict, of_run=self.kind == Kind.RUN, near=moves, below=below)

    @property
    def as_it_is(self) -> bool:
        """Whether today's truss is the answer: nobody has to look for another."""
        return self.verdict in AS_IT_IS

    @property
    def says(self) -> str:
        return words.told(self._heard, plainly=self.plainly)
