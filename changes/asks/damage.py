"""A truss that was damaged: how it is read, refused, answered. Its answer is no design, and calls nothing good.

At once it says what to keep off, whom to call and where it is shored, by whom; then what the truss does as it is, and
what a repair has to carry. It ends by a repair drawing that a registered design professional sealed, or by a new truss;
until then the copy is not set (`workflow.setting`).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from changes.asks.answers import Answer, Answered, Case, moves
from changes.asks.as_built import revisions
from changes.asks.wanted import fields_of, only, read_photos, refuse_second, refused_here
from changes.asks.wishes import Document, Over, Wish, read_copies, read_truss
from changes.models import Kind
from changes.refusals import Refused
from trusses.analysis.analysis import analyse
from trusses.analysis.damage.damaged import HOW, Damage, damaged, taken_as
from trusses.analysis.damage.repair import demand
from trusses.analysis.damage.standing import Standing, shore_at, standing
from trusses.analysis.format.document import DocumentError, read_stored
from trusses.analysis.format.model import CASES, Truss
from trusses.analysis.format.strict import place as named
from trusses.analysis.frame.mechanism import Mechanism
from trusses.analysis.piece_names import panel_names
from trusses.analysis.words.checks import short
from trusses.analysis.words.phrases import Coded, coded, with_names
from trusses.models import Job, Stage
from trusses.refusals import because

KEYS = ("truss", "copies", "damage", "photos")
ANSWERED_AS = Kind.DAMAGE.value
DESIGNS = False

ACTING = tuple(case for case in CASES if case not in ("dead", "wind"))
"""What may be up there besides the dead load."""


def read(job: Job, ask: Mapping[str, Any], path: tuple[str | int, ...], before: Sequence[Wish]) -> list[Wish]:
    """Damage to some copies, cut or set ones too; they are named. Raises Refused; Http404 for a mark that isn't this
    job's."""
    at = named(path)
    truss = read_truss(job, ask, at)
    if ask.get("copies") is None:
        raise Refused("damaged-copies", "asks", f"{at}.copies", mark=truss.mark)
    copies = read_copies(truss, ask, at, cut=True)
    with refused_here(f"{at}.damage"):
        fields = fields_of(
            ask.get("damage"), (*path, "damage"), ("member", "how", "at_in"), ("size_in", "acting", "note")
        )
        acting = fields.items("acting", len(ACTING), [])
        wanted: Document = {
            "member": fields.name("member"),
            "how": fields.choice("how", HOW),
            "at_in": fields.length("at_in", zero=True),
            "size_in": fields.length("size_in", zero=True, default=0.0),
            "note": fields.text("note", "", longest=500),
        }
        if not all(isinstance(case, str) and case in ACTING for case in acting):
            fields.refuse("no-choice", key="acting", choices=list(ACTING), given="")
        wanted["acting"] = sorted(set(acting))
    wanted["photos"] = read_photos(job, ask.get("photos", []), f"{at}.photos")
    found = revisions(truss, copies)
    return [Wish(Kind.DAMAGE.value, truss, those, wish=wanted, revision=revision) for revision, those in found]


def damage_of(wanted: Document) -> Damage:
    return Damage(wanted["member"], wanted["how"], wanted["at_in"], wanted["size_in"])


def refuse(wish: Wish, at: str) -> None:
    """Raises Refused for damage that can't be in this truss as it was built."""
    if wish.revision and wish.wish:
        with refused_here(f"{at}.damage"):
            taken_as(read_stored(wish.revision.document), damage_of(wish.wish))


def refuse_both(wish: Wish, other: Wish, at: str, at_other: str) -> None:
    refuse_second(wish, other, at, at_other)


def answer(case: Case) -> Answered:
    """What to do at once, what the truss does as it is, what a repair has to carry. It has no verdict and no option."""
    wanted = only(case)
    case.tell(0.2, coded("looking-at-damage"))
    truss = read_stored(case.document)
    damage = damage_of(wanted)
    called = panel_names(case.document)
    shores = list(shore_at(truss, damage.member))
    # a wall's bearing is what a tape finds; panel points have no name on the drawing
    left = min(truss.joint(bearing.joint).x for bearing in truss.bearings)
    along = [round(truss.joint(name).x - left, 3) for name in shores]
    lying, stands = _lying(case)
    besides = {"lies": bool(lying) and not stands}
    told: list[Coded] = [coded("keep-off")]
    if lying:
        told.append(coded("leave-lying", copies=lying, all=not stands))
    # whoever shores goes under it, so who says how is called first
    told += [coded("whom-to-call"), coded("shore-at", joints=shores, along_in=along, lies=bool(lying))]
    told += _which_revision(case)
    figures: dict[str, Any] = {"shores": shores, "taken": taken_as(truss, damage)}
    try:
        # what a chord is parted or hinged into is called as the piece that people see
        for part in damaged(truss, damage)["members"]:
            called.setdefault(part["id"], called[damage.member])
        for when, one in zip(
            ("now", "drawn-for"), standing(truss, damage, wanted["acting"], case.surroundings), strict=True
        ):
            figures[when] = _figures(one)
            acting = {"acting": [name for name in one.cases if name != "dead"]} if when == "now" else {}
            told.append(with_names(_stands(when, one, {**besides, **acting}), called))
        repair, nails = _repair(truss, damage)
        figures["repair"] = repair
        told += [with_names(one, called) for one in nails]
    except DocumentError as refused:
        told.append(coded("not-analysed", trouble=because(refused)))
    except Mechanism as loose:
        told.append(moves("today-moves", loose))
    return Answered([Answer(None, told, figures=figures)])


def _lying(case: Case) -> tuple[list[int], bool]:
    """The copies that aren't recorded as set, which lie on the ground as far as anybody said; whether any is set."""
    if case.truss is None:
        return [], True
    stages = dict(case.truss.copies.filter(number__in=case.wishes[0].copies).values_list("number", "stage"))
    lying = sorted(number for number, stage in stages.items() if stage != Stage.SET)
    return lying, len(lying) < len(case.wishes[0].copies)


def _which_revision(case: Case) -> list[Coded]:
    """Says from which revision it is worked out where that isn't the current one, which copies aren't recorded as cut
    to it, and which went from the set since."""
    if case.truss is None or case.revision is None:
        return []
    rows = dict(case.truss.copies.filter(number__in=case.wishes[0].copies).values_list("number", "built_to"))
    gone = sorted(set(case.wishes[0].copies) - rows.keys())
    told = [coded("damaged-copies-gone", mark=case.truss.mark, copies=gone)] if gone else []
    unsure = sorted(number for number, built_to in rows.items() if built_to != case.revision.pk)
    if not unsure and case.revision.pk == case.truss.current_id:
        return told
    about = {"number": case.revision.number, "current": case.truss.current.number, "unsure": unsure}
    of = case.revision.truss.mark if case.revision.truss_id != case.truss.pk else ""
    return [*told, coded("damaged-revision", **about, of=of)]


def _figures(one: Standing) -> dict[str, Any]:
    return {
        "cases": list(one.cases),
        "moves": one.moves is not None,
        "worst": short(one.worst) if one.worst else None,
        "exceeds": one.exceeds,
    }


def _stands(when: str, one: Standing, under: Document) -> Coded:
    """`under`: whether all of them lie, as far as anybody said, and what acts besides the dead load."""
    if one.moves is not None:
        found = moves(f"damaged-moves-{when}", one.moves)
        return {**found, "values": {**found["values"], **under}}
    if one.worst is None:
        return coded("damaged-unloaded")
    return coded("damaged-exceeds" if one.exceeds else "damaged-within", when=when, **under, **short(one.worst))


def _repair(truss: Truss, damage: Damage) -> tuple[dict[str, Any], list[Coded]]:
    needs = demand(analyse(truss), damage.member, damage.at_in)
    nailing = [
        {"nail": each.lateral.nail.name, "z_lb": each.lateral.z_lb, "a_face": each.a_face} for each in needs.nailing
    ]
    plain = {name: getattr(needs, name) for name in needs.__slots__ if name != "nailing"}
    told = [
        coded(
            "repair-carries",
            member=needs.member,
            tension_lb=needs.tension_lb,
            compression_lb=needs.compression_lb,
            moment_inlb=needs.moment_inlb,
            shear_lb=needs.shear_lb,
        )
    ]
    if needs.holding_by is not None:
        told.append(coded("repair-holds", holding_lb=needs.holding_lb, combination=needs.holding_by, nailing=nailing))
    return {**plain, "nailing": nailing}, told


def lacks(document: Document, wishes: Iterable[Wish]) -> str:
    return ""


def turned(wanted: Document, over: Over) -> Document:
    """It is about copies as they were built."""
    return wanted
