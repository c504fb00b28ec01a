"""One truss of a request: what was asked of it, the options beside today's design, and every number of the one that is
looked at, before and after."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from changes import words
from changes.asks import bearing, new_walls, on_walls
from changes.asks.documents import departures_of
from changes.asks.opening import with_openings
from changes.asks.pending import Pending
from changes.asks.turned import Turns, turned_since
from changes.asks.weights import weights
from changes.models import Ask, Kind, Option
from changes.pages.beside import Beside, beside
from changes.pages.widths import Width, widths
from trusses import verdicts
from trusses.analysis.piece_names import checked, panel_names
from trusses.analysis.requirements import supports
from trusses.analysis.words.departures import departure
from trusses.analysis.words.phrases import coded, listed
from trusses.analysis.words.phrases import copies as told_copies
from trusses.designs import design_of
from trusses.drawing import AskedBearing, Weight
from trusses.models import JobRates, PlateTable, Truss
from trusses.plan import rows
from trusses.plan.feet import called_by, feet
from trusses.plan.on_walls import Number
from trusses.plan.under import both_ways
from trusses.sheets import floor_movement, pricing, sheet
from trusses.sheets.words import beside_openings
from trusses.variants.homes import root

_SIDE_BY_SIDE_PX = 690
_TALL = 0.12


@dataclass(frozen=True)
class Departs:
    """One difference in what the truss is designed for; `falls`: a design load is smaller."""

    says: str
    falls: bool


@dataclass(frozen=True)
class Way:
    """An option and its price."""

    option: Option
    price: pricing.Price | None

    @cached_property
    def rows_in_the_way(self) -> list[str]:
        """The rows of restraint of the option that its openings are in the way of."""
        return beside_openings(design_of(self.option.document))

    @property
    def says(self) -> str:
        """What decides about it, but for the job's limits of building, which all of them keep."""
        return words.told([one for one in self.option.told if not _limits(one)], plainly=self.option.plainly)


@dataclass
class Section:
    """Some copies of one truss, of a request: their asks share their options."""

    truss: Truss
    copies: list[int]
    asks: list[Ask]
    options: list[Option]
    chosen: Option | None
    rates: JobRates | None = None
    issued: Option | None = None
    table: PlateTable | None = None
    pending: Sequence[Pending] = ()
    whole: bool = True
    """All copies of the truss, or none that is told apart."""
    family: bool = False
    """It is a variant or has some."""
    cut: Sequence[int] = ()
    """Which of the copies are cut, or no longer of this mark."""

    @property
    def called_copies(self) -> str:
        """R1, copies 2 and 3; the mark alone where it is about all of them."""
        return self.truss.mark if self.whole else f"{self.truss.mark}, {told_copies(self.copies)}"

    @property
    def in_short(self) -> str:
        """What was answered here, in a few words; nothing before."""
        return "; ".join(dict.fromkeys(ask.answered for ask in self.asks if ask.verdict))

    @property
    def is_issued(self) -> bool:
        """The option on show is the one that became a revision."""
        return self.issued is not None and self.issued == self.chosen

    @property
    def unchanged(self) -> bool:
        """The option on show is the truss as it is, to start from: there is nothing to issue."""
        today = self.truss.current
        return self.chosen is not None and today is not None and self.chosen.sha256 == today.sha256

    @property
    def elsewhere(self) -> Option | None:
        """Today's truss with what was asked elsewhere, where that is an option."""
        return next((option for option in self.options if option.elsewhere), None)

    @cached_property
    def ways(self) -> list[Way]:
        """Each option with what it costs, for one truss, beside today's; no price where the job has no rates."""
        priced = pricing.has_price(self.rates)
        before = self.revision.document
        return [Way(one, pricing.price(self.rates, before, one.document) if priced else None) for one in self.options]

    @property
    def limits(self) -> str:
        """The job's limits of building that the options keep, said once."""
        said = (
            words.told([{**one, "values": {**one["values"], "openings": bool(option.document.get("openings"))}}])
            for option in self.options
            for one in option.told
            if _limits(one)
        )
        return " ".join(dict.fromkeys(said))

    @property
    def works(self) -> list[Way]:
        """The ways that pass."""
        return [way for way in self.ways if way.option.passes]

    @property
    def asks_whether_there(self) -> str:
        """What a designer asks the builder with one tap."""
        there = self.elsewhere
        return words.told([coded("there-instead", mark=self.truss.mark, **there.titled[0]["values"])]) if there else ""

    @property
    def looks_at(self) -> Any:
        """The opening around which the option on show is drawn enlarged."""
        asked = self.asks[0].opening
        if asked and self.chosen and self.chosen.elsewhere:
            places = {one["opening"]: one["centre_in"] for one in self.chosen.elsewhere}
            return asked | {"centre_in": places.get(asked["id"], asked["centre_in"])}
        return asked

    @property
    def revision(self) -> Any:
        return self.asks[0].revision

    @property
    def overtaken(self) -> bool:
        """A newer revision than the one computed from is current."""
        return any(ask.overtaken for ask in self.asks)

    @cached_property
    def answers(self) -> tuple[sheet.Answer, ...]:
        """The four answers on the option on show."""
        shown = self.chosen
        if not shown or shown.analysis is None:
            return ()
        return sheet.answers(verdicts.of_document(self.truss, shown.document, shown.analysis, self.table))

    @property
    def changed(self) -> list[dict[str, Any]]:
        """The members of the comparison, what bites first on top: limits crossed, reversals, the largest change."""
        if not self.chosen or not self.chosen.comparison:
            return []
        return [
            {
                **member,
                "called": self.called[member["id"]],
                "delta_lb": more(member["force_lb"]),
                "reverses_under": self._reverses_under(member),
            }
            for member in sorted(self.chosen.comparison["members"], key=_bite)
        ]

    @cached_property
    def called(self) -> dict[str, str]:
        """What the drawings call each member: by the option on show, and by today's truss one that is gone, which says
        so where the option gives that name to another."""
        after = panel_names(self.chosen.document) if self.chosen else {}
        given = set(after.values())
        before = panel_names(self.revision.document).items()
        return {member: f"{name}, before" if name in given else name for member, name in before} | after

    @property
    def asked_at(self) -> tuple[float, float] | None:
        """The place on the drawing that a question is about, inches."""
        places = [ask.wish["place"] for ask in self.asks if ask.wish and ask.wish.get("place")]
        return next(((one["x_in"], one["y_in"]) for one in places if one["on"] == "drawing"), None)

    @property
    def damaged(self) -> list[str]:
        """The members that damage was told of."""
        return [ask.wish["member"] for ask in self.asks if ask.wish and "member" in ask.wish]

    @cached_property
    def before_document(self) -> dict[str, Any]:
        """The revision that was computed from, with what other open requests ask of it drawn in."""
        return with_openings(self.revision.document, [one.opening for one in self.pending])

    @cached_property
    def of_others(self) -> list[str]:
        """The ids by which those openings stand in it."""
        own = len(self.revision.document.get("openings", ()))
        return [one["id"] for one in self.before_document.get("openings", ())[own:]]

    @cached_property
    def bearings_asked(self) -> tuple[AskedBearing, ...]:
        """The bearings as asked for."""
        wishes = [ask.wish for ask in self.asks if ask.kind == Kind.BEARING and ask.wish]
        return tuple(one for wish in wishes for one in bearing.drawn(wish, self.revision.document))

    @property
    def shows_what_was_asked(self) -> bool:
        """Whether the truss as it is can have drawn in it what was asked; what lies between trusses stands in none."""
        return bool(any(ask.opening for ask in self.asks) or self.weighs_asked or self.bearings_asked)

    @cached_property
    def weighs_asked(self) -> tuple[Weight, ...]:
        """What is asked to hang or stand on it, as asked."""
        return weights(self.asks)

    @cached_property
    def weighs(self) -> tuple[Weight, ...]:
        """The same as the option on show carries it."""
        return weights(self.asks, self.chosen)

    @cached_property
    def others(self) -> list[Beside]:
        """What other open requests ask of this truss, checked against what is asked here and the option on show."""
        return beside(self.pending, self.asks, self.chosen)

    @cached_property
    def departures(self) -> list[Departs]:
        """How the option on show departs from today's truss in loads, bearings, use and restraint."""
        return [Departs(departure(one), one.falls) for one in departures_of(self.chosen)] if self.chosen else []

    @property
    def asks_less(self) -> bool:
        """A design load is smaller than today: approving it needs a reason."""
        return any(one.falls for one in self.departures)

    def _reverses_under(self, member: dict[str, Any]) -> str:
        """The combinations in which its force changes sides, the largest swing first."""

        comparison = self.chosen.comparison if self.chosen else None

        def swing(name: str) -> float:
            if comparison is None:
                return 0.0
            before, after = comparison["combinations"][name][member["id"]]
            return abs(after - before)

        return listed(sorted(member["reverses_in"], key=swing, reverse=True), most=3)

    @property
    def supports_at_most(self) -> list[supports.Change]:
        """What each bearing carries and is lifted by at most, before and after."""
        return [row for row in self._supports if row.at_most]

    @property
    def below(self) -> list[supports.Change]:
        """Of what each bearing carries and is lifted by at most, what changes."""
        return [row for row in self.supports_at_most if row.changed and any(row.lb)]

    @property
    def supports_by_case(self) -> list[supports.Change]:
        return [row for row in self._supports if not row.at_most]

    @cached_property
    def new_feet(self) -> set[str]:
        """The joints of bearings that today's truss doesn't have; a case that is new somewhere makes no bearing new."""
        return {row.joint for row in self._supports if not row.was}

    @property
    def walls_change(self) -> bool:
        """Whether any bearing carries something else than before."""
        return any(row.changed for row in self._supports)

    @cached_property
    def _supports(self) -> list[supports.Change]:
        if not self.chosen or not self.chosen.analysis:
            return []
        stood, stands = (supports.places(one.document) for one in (self.revision, self.chosen))
        return supports.changes(self.revision.analysis, self.chosen.analysis, stood, stands)

    @cached_property
    def feet(self) -> dict[str, str]:
        """{bearing of the truss that was computed: what it stands on, as far as that is known}, under the copies that
        were meant."""
        turned = [Number(*copy) for copy, turns in self._turns.items() if len(turns) % 2]
        if not turned:
            return {foot.joint: foot.says if foot.known else "" for foot in feet(self.truss, self.copies)}
        under = called_by(self.truss, self.revision.document, self.copies, turned)
        return {one["joint"]: under.get(one["joint"], "") for one in self.revision.document["bearings"]}

    @cached_property
    def _turns(self) -> Turns:
        """Of copies that were turned end for end since that was their drawing."""
        if root(self.truss) not in both_ways(self.truss.job):
            return {}
        return turned_since(self.asks[:1]).get(self.asks[0].pk, {})

    @cached_property
    def beside(self) -> rows.Touched:
        """What the option on show does to the rows of restraint of trusses that keep their design."""
        if not self.chosen or self.overtaken:
            return rows.Touched()
        return rows.touched(self.truss, self.chosen.document, self.chosen.analysis)

    @cached_property
    def rows_in_the_way(self) -> list[str]:
        """The rows of restraint of the option on show that its openings are in the way of."""
        return beside_openings(design_of(self.chosen.document)) if self.chosen else []

    @cached_property
    def moves(self) -> list[floor_movement.Moves]:
        """A floor truss before and after, and those next to it that keep their design; none for a roof."""
        shown = self.chosen
        if not shown or not shown.analysis or self.revision.document.get("use") != "floor":
            return []
        own = [
            floor_movement.moves(f"{self.truss.mark} before", self.revision.document, self.revision.analysis),
            floor_movement.moves(f"{self.truss.mark} after", shown.document, shown.analysis),
        ]
        return own if self.overtaken else [*own, *floor_movement.beside(self.truss)]

    @cached_property
    def widths(self) -> list[Width]:
        """The bearing width that the chord needs at each bearing, before and after."""
        return widths(self.truss, self.revision, self.chosen) if self.chosen and self.chosen.analysis else []

    @cached_property
    def price(self) -> pricing.Price | None:
        """Board feet, pieces and joints of one truss before and after, at the job's rates where it has some."""
        return pricing.price(self.rates, self.revision.document, self.chosen.document) if self.chosen else None

    @property
    def slug(self) -> str:
        """What ends the ids of this truss's drawings on the page."""
        built = "-built" if self.asks[0].kind in Kind.as_built() else ""
        return f"{self.truss.pk}{built}" if self.whole else f"{self.truss.pk}-{self.copies[0]}{built}"

    @property
    def tall(self) -> bool:
        """A roof's elevations stand side by side on a desk; a floor's, long and low, one under the other."""
        return tall(self.revision.document)

    @property
    def desk_px(self) -> int | None:
        return _SIDE_BY_SIDE_PX if self.tall else None

    @cached_property
    def walls(self) -> list[on_walls.Shared | new_walls.Passing]:
        """The walls that its bearings leave and that other trusses bear on; those that come, and what passes over."""
        job = self.truss.job
        return [*on_walls.of_asks(job, self.asks), *new_walls.of_asks(job, self.asks)]

    @property
    def failing(self) -> list[dict[str, Any]]:
        if not self.chosen or not self.chosen.analysis:
            return []
        failing = sorted((c for c in self.chosen.analysis["checks"] if not c["passes"]), key=lambda c: -c["ratio"])
        return [{**c, "object": checked(self.chosen.document, c["of"], c["id"])} for c in failing]


def tall(document: dict[str, Any]) -> bool:
    """Whether an elevation as wide as a desk's screen would be too high for it."""
    xs, ys = zip(*document["joints"].values(), strict=True)
    return max(ys) - min(ys) > _TALL * (max(xs) - min(xs))


def more(force: list[float | None]) -> float | None:
    """How much more a member carries than before; where its force changes sides, the whole swing. Pounds."""
    before, after = force
    if before is None or after is None:
        return None
    return abs(after) - abs(before) if before * after >= 0 else abs(after - before)


def _limits(told: Any) -> bool:
    return isinstance(told, dict) and told["code"] == "building"


def _bite(member: dict[str, Any]) -> tuple:
    before, after = (value or 0 for value in member["force_lb"])
    return (not member["crosses_limit"], not member["reverses"], member["change"] == "kept", -abs(after - before))
