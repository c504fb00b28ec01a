"""Something between the trusses of a row: how it is read, refused, answered with every way to make room for it.

A way may change several copies differently; each option is one design for all that it changes, so that they stay one
variant: shown to hold under the loads of each, and drawn with those of the copy on which it comes closest to a limit.
Which of them is shifted or left out is said with it, and done in the plan.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from typing import Any

from changes.asks.answers import Answer, Answered, Case, Found, more_below, moves
from changes.asks.wanted import answered, fields_of, found, no_answer, only, refuse_second, refused_here
from changes.asks.wishes import Document, Over, Wish, read_truss, refuse_what_is_over
from changes.models import Kind, Verdict
from changes.refusals import Refused
from trusses.analysis.format.document import DocumentError, read_stored
from trusses.analysis.format.document import read as read_document
from trusses.analysis.format.model import Truss as Design
from trusses.analysis.format.strict import place as named
from trusses.analysis.frame.mechanism import Mechanism
from trusses.analysis.loads.arrangements import missing
from trusses.analysis.made_stronger import candidate
from trusses.analysis.passages.one_design import OneDesign
from trusses.analysis.passages.row import PLY_IN, Passage, Row, check_between
from trusses.analysis.passages.ways import Way, ways
from trusses.analysis.words.given import brief
from trusses.analysis.words.phrases import Coded, coded
from trusses.bearings import links
from trusses.job.building import of_job
from trusses.models import Copy, Job, Truss
from trusses.refusals import because

KEYS = ("truss", "copies", "passage")
ANSWERED_AS = Kind.PASSAGE.value
DESIGNS = True

WHAT = ("hatch", "skylight", "flue", "stair", "closet flange", "can light")
_REQUIRED = ("what", "across_in", "along_in", "width_in", "length_in", "most_gap_in")
_OPTIONAL = ("clearance_in", "through", "note")
THROUGH: Mapping[str, tuple[Any, ...]] = {
    "ceiling": ("bottom_chord",),
    "roof": ("top_chord",),
    "both": ("bottom_chord", "top_chord"),
}


def read(job: Job, ask: Mapping[str, Any], path: tuple[str | int, ...], before: Sequence[Wish]) -> list[Wish]:
    """Something between the copies of a mark that stand in one row; `copies` names one of the row. Raises Refused;
    Http404 for a mark that isn't this job's."""
    at = named(path)
    truss = read_truss(job, ask, at)
    refuse_what_is_over(truss, f"{at} ({truss.mark})")
    with refused_here(f"{at}.passage"):
        fields = fields_of(ask.get("passage"), (*path, "passage"), _REQUIRED, _OPTIONAL)
        wanted: Document = {
            "what": fields.choice("what", WHAT),
            "note": fields.text("note", "", longest=120),
            "through": fields.choice("through", THROUGH, "ceiling"),
            "clearance_in": fields.length("clearance_in", zero=True, default=0.0),
            "most_gap_in": fields.length("most_gap_in", zero=False),
            "width_in": fields.length("width_in", zero=False),
            "length_in": fields.length("length_in", zero=False),
            "across_in": fields.length("across_in", zero=True),
            "along_in": fields.number("along_in", "in", most=fields.limits.length_in),
        }
        row = row_of(truss, ask.get("copies"), f"{at}.copies")
        wanted["row"] = {"numbers": list(row.numbers), "places_in": list(row.places_in), "thick_in": row.thick_in}
        check_between(read_stored(truss.current.document), row, passage_of(wanted))
    return [Wish(Kind.PASSAGE.value, truss, _touched(row, passage_of(wanted)), wish=wanted)]


def row_of(truss: Truss, named_copies: Any, at: str) -> Row:
    """The row that the named copies stand in, else the first one of the mark; where the copies stand in no plan, all of
    them at the truss's own spacing. Raises Refused."""
    copies = list(Copy.objects.filter(truss=truss).select_related("placement").order_by("number"))
    if named_copies is not None:
        numbers = named_copies if isinstance(named_copies, (list, tuple)) else [named_copies]
        chosen = [copy for copy in copies if copy.number in numbers]
        there = [copy.number for copy in copies]
        for number in numbers:
            if number not in there:
                raise Refused("no-such-copy", "asks", at, mark=truss.mark, given=brief(number), copies=there)
        if not chosen or len(chosen) != len(numbers):
            raise Refused("copies-no-list", "asks", at, mark=truss.mark, given=str(named_copies)[:40])
    else:
        chosen = copies[:1]
    if not chosen:
        raise Refused("row-too-short", "asks", at, mark=truss.mark)
    placement = chosen[0].placement
    mine = [copy for copy in copies if copy.placement_id == chosen[0].placement_id]
    document = truss.current.document
    spacing = placement.spacing_in if placement else document["spacing_in"]
    if len(mine) < 3 or spacing <= 0:
        raise Refused("row-too-short", "asks", at, mark=truss.mark)
    numbers = tuple(copy.number for copy in mine)
    return Row(numbers, tuple(spacing * i for i in range(len(mine))), PLY_IN * document.get("plies", 1))


def passage_of(wanted: Document) -> Passage:
    return Passage(
        wanted["across_in"],
        wanted["along_in"],
        wanted["width_in"],
        wanted["length_in"],
        wanted["clearance_in"],
        THROUGH[wanted["through"]],
    )


def _row(wanted: Document) -> Row:
    row = wanted["row"]
    return Row(tuple(row["numbers"]), tuple(row["places_in"]), row["thick_in"])


def _touched(row: Row, passage: Passage) -> tuple[int, ...]:
    """The copies in the way and the one beside them on either side; of one that fits, those on either side of it."""
    met = row.in_the_way(passage)
    if not met:
        after = next(i for i, place in enumerate(row.places_in) if place >= passage.across_in)
        met = (max(after - 1, 0), after)
        return tuple(row.numbers[i] for i in met)
    return row.numbers[max(met[0] - 1, 0) : met[-1] + 2]


def refuse(wish: Wish, at: str) -> None:
    """Copies that are cut can't be changed; that it lies between trusses was seen while it was read. Raises Refused."""
    if wish.truss:
        rows = Copy.objects.filter(truss=wish.truss, number__in=wish.copies)
        if cut := sorted(copy.number for copy in rows if not copy.can_change):
            raise Refused("copies-cut", "asks", f"{at} ({wish.truss.mark})", mark=wish.truss.mark, copies=cut)


def refuse_both(wish: Wish, other: Wish, at: str, at_other: str) -> None:
    refuse_second(wish, other, at, at_other)


def answer(case: Case) -> Answered:
    """Whether it fits between the trusses as they stand, and every way to make room for it."""
    wanted = only(case)
    case.tell(0.1, coded("looking-between"))
    try:
        truss = read_document(case.document)
        if lacking := missing(truss):
            return no_answer(coded("loads-lack-first", names=list(lacking)))
        carried = _not_followed(case.truss) if case.truss else []
        every = ways(
            truss, _row(wanted), passage_of(wanted), wanted["most_gap_in"], case.surroundings, of_job(case.job)
        )
        options = [option for way in every if (option := _option(case, truss, way, carried)) is not None]
        options.sort(key=_members_touched)  # what touches the fewest members is told as the least
    except DocumentError as refused:
        return no_answer(coded("today-unread", trouble=because(refused)))
    except Mechanism as loose:
        return no_answer(moves("today-moves", loose))
    figures = {"ways": [_figures(way, carried) for way in every]}
    if every[0].kind == "as-it-is":
        return Answered([Answer(Verdict.FITS, [coded("passage-fits")], figures=figures)])
    told: list[Coded] = [coded("passage-blocked", copies=list(_in_the_way(wanted)))]
    told += [coded("passage-moved", by_in=way.passage_in) for way in every if way.kind == "moved"]
    return answered(told, options, figures)


def _members_touched(option: Found) -> int:
    """How many members of the trusses that it changes differ from today's; one more ply is every one of them."""
    compared = option.comparison
    if compared is None or len(set(compared["plies"])) > 1:
        return len(option.document["members"])
    return sum(member["change"] != "kept" for member in compared["members"])


def _in_the_way(wanted: Document) -> tuple[int, ...]:
    row = _row(wanted)
    return tuple(row.numbers[i] for i in row.in_the_way(passage_of(wanted)))


def _not_followed(truss: Truss) -> list[Coded]:
    """Why copies of a mark that move or go change more than is worked out here: an option is judged with all carriers
    as the plan has them today."""
    told = []
    if carriers := sorted({link.carrier.mark for link in truss.stands_on.select_related("carrier") if link.carrier}):
        told.append(coded("moves-on-carrier", mark=truss.mark, carriers=carriers))
    if standing := [one.mark for one in links.standing_on(truss)]:
        told.append(coded("moves-carrier", mark=truss.mark, standing=standing))
    return told


def _stays(way: Way) -> bool:
    """No truss moves or goes."""
    return not way.moved_in and not way.left_out


def _option(case: Case, truss: Design, way: Way, carried: Sequence[Coded]) -> Found | None:
    """The one design for all copies that a way changes. With what is `carried`, none that moves trusses passes."""
    if way.one is None:
        return None
    analysis = way.one.governing.analysis
    one = candidate(truss, analysis.truss, analysis, of_job(case.job))
    told, bars = [*one.told, *_on_each(way)], _bars(way, carried)
    told += [
        coded("header", x_in=each.x_in, lumber=each.analysis.truss.members[0].lumber, reaction_lb=each.reaction_lb)
        for each in way.headers
    ]
    option = found(case, one, [_step(way), *one.steps])
    besides = [each for each in option.told if each not in one.told]  # what the set had to say of it
    told += [each for each in besides if each["code"] != "more-below"]
    below = _below(case, way.one)
    return replace(option, told=[*bars, *below, *told], bars=bars, passes=option.passes and way.passes and not bars)


def _below(case: Case, one: OneDesign) -> list[Coded]:
    """The most that any copy puts more on what is below it: not the one whose loads are shown alone."""
    rows: dict[tuple[Any, ...], Document] = {}
    for on in one.copies:
        for more in more_below(case.document, case.before, on.analysis.truss.document, on.analysis.document()):
            for row in more["values"]["rows"]:
                key = not row["up"], row["along_in"], row["end"]
                rows[key] = max(rows.get(key, row), row, key=lambda each: each["lb"][1])
    return [coded("more-below", rows=[rows[key] for key in sorted(rows)])] if rows else []


def _on_each(way: Way) -> list[Coded]:
    """What the one design comes to on each copy, where there are several, and which of them don't need it."""
    if way.one is None or len(way.copies) < 2:
        return []
    told = [coded("one-design", copies=[[on.number, on.analysis.worst_ratio] for on in way.one.copies])]
    spared = [each.number for each in way.copies if each.candidate is None and each.passes]
    if way.one.stronger and spared:
        told.append(coded("one-design-spares", copies=spared))
    return told


def _bars(way: Way, carried: Sequence[Coded]) -> list[Coded]:
    """Why a way is none, whatever is accepted of the trusses that it changes."""
    bars = [] if _stays(way) else list(carried)
    if not way.sheathing_spans:
        bars.append(coded("gap-too-wide", widest_in=way.widest_in, most_in=way.most_gap_in))
    if way.one is not None and way.one.hides:
        over = [[on.number, on.analysis.worst_ratio] for on in way.one.failing]
        bars.append(coded("one-design-fails", copies=over))
    weak = [each for each in way.headers if each.stocked and not each.passes]
    bars += [
        coded("header-not-stocked", x_in=each.x_in, lumber=each.analysis.truss.members[0].lumber)
        for each in way.headers
        if not each.stocked
    ]
    return bars + [coded("header-fails", x_in=each.x_in, ratio=each.analysis.worst_ratio) for each in weak]


def _step(way: Way) -> Coded:
    copies = [each.number for each in way.copies]
    if way.kind == "shifted":
        return coded("shifted", moved=[[number, by] for number, by in way.moved_in.items()], copies=copies)
    if way.kind == "left-out":
        return coded("left-out", out=list(way.left_out), copies=copies)
    return coded("headers", out=list(way.left_out), copies=copies)


def _figures(way: Way, carried: Sequence[Coded]) -> dict[str, Any]:
    return {
        "kind": way.kind,
        "passes": way.passes and (_stays(way) or not carried),
        "followed": _stays(way) or not carried,
        "moved_in": [[number, by] for number, by in way.moved_in.items()],
        "left_out": list(way.left_out),
        "passage_in": way.passage_in,
        "widest_in": way.widest_in,
        "sheathing_spans": way.sheathing_spans,
        "places_in": [[n, p] for n, p in zip(way.row.numbers, way.row.places_in, strict=True)],
        "copies": [
            {
                "number": each.number,
                "carries_in": each.tributary_in,
                "worst_ratio": on.analysis.worst_ratio,
                "today_ratio": each.analysis.worst_ratio,
                "passes": on.passes,
                "redesigned": way.one.stronger,
            }
            for each, on in zip(way.copies, way.one.copies, strict=True)
        ]
        if way.one
        else [],
        "headers": [{"x_in": each.x_in, "chord": each.chord, "reaction_lb": each.reaction_lb} for each in way.headers],
    }


def lacks(document: Document, wishes: Iterable[Wish]) -> str:
    """What goes through between trusses stands in none of their documents: no drawn option lacks it."""
    return ""


def turned(wanted: Document, over: Over) -> Document:
    return {**wanted, "along_in": over.x(wanted["along_in"])}
