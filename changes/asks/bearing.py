"""A bearing moved, added, taken away, or walls as they were measured: how it is read, refused, answered."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from types import MappingProxyType
from typing import Any

from changes.asks.answers import Answered, Case, described, moves
from changes.asks.wanted import answered, fields_of, fits, found, no_answer, only, refuse_second, refused_here
from changes.asks.wishes import Document, Over, Wish, read_copies, read_truss, refuse_what_is_over
from changes.models import Kind
from trusses.analysis.bearings import changed
from trusses.analysis.bearings.changed import Changed, State
from trusses.analysis.bearings.edits import TOLERANCE_IN, BearingError, added, as_measured, moved, taken_away
from trusses.analysis.checks.surroundings import Surroundings
from trusses.analysis.format.document import DocumentError, read_stored
from trusses.analysis.format.document import read as read_document
from trusses.analysis.format.model import Truss as Design
from trusses.analysis.format.strict import place as named
from trusses.analysis.frame.mechanism import Mechanism
from trusses.analysis.loads.arrangements import missing
from trusses.analysis.redesign.layouts import Note
from trusses.analysis.words.checks import short
from trusses.analysis.words.phrases import Coded, coded
from trusses.drawing import AskedBearing
from trusses.job.building import of_job
from trusses.models import Job, Stage
from trusses.refusals import because

KEYS = ("truss", "copies", "bearing")
ANSWERED_AS = Kind.BEARING.value
DESIGNS = True

_KEYS_OF = {
    "moved": ("joint", "to_in"),
    "added": ("at_in", "width_in"),
    "taken away": ("joint",),
    "measured": ("walls",),
}
CHANGES = tuple(_KEYS_OF)
_MOST_WALLS = 20
#: A bearing of an option stands where it was asked for within this, inches.
_THERE_IN = 0.0625


def read(job: Job, ask: Mapping[str, Any], path: tuple[str | int, ...], before: Sequence[Wish]) -> list[Wish]:
    """Other bearings under some copies of a mark. Raises Refused; Http404 for a mark that isn't this job's."""
    at = named(path)
    truss = read_truss(job, ask, at)
    refuse_what_is_over(truss, f"{at} ({truss.mark})")
    copies = read_copies(truss, ask, at)
    with refused_here(f"{at}.bearing"):
        every = [key for keys in _KEYS_OF.values() for key in keys]
        change = fields_of(ask.get("bearing"), (*path, "bearing"), ("change",), every).choice("change", CHANGES)
        fields = fields_of(ask.get("bearing"), (*path, "bearing"), ("change", *_KEYS_OF[change]))
        wanted: Document = {"change": change}
        for key in ("joint",) if "joint" in _KEYS_OF[change] else ():
            wanted[key] = fields.name(key)
        for key in {"to_in", "at_in"} & set(_KEYS_OF[change]):
            wanted[key] = fields.number(key, "in", most=fields.limits.length_in)
        if change == "added":
            wanted["width_in"] = fields.length("width_in", zero=False)
        if change == "measured":
            wanted["walls"] = [
                _wall(wall, (*path, "bearing", "walls", i)) for i, wall in enumerate(fields.items("walls", _MOST_WALLS))
            ]
    return [Wish(Kind.BEARING.value, truss, copies, wish=wanted)]


def _wall(value: Any, path: tuple[str | int, ...]) -> Document:
    fields = fields_of(value, path, ("joint", "x_in", "y_in"))
    most = fields.limits.length_in
    return {"joint": fields.name("joint"), **{key: fields.number(key, "in", most=most) for key in ("x_in", "y_in")}}


def refuse(wish: Wish, at: str) -> None:
    """Raises Refused for a bearing that can't be there."""
    if wish.truss and wish.wish:
        with refused_here(f"{at}.bearing"):
            document_of(wish.wish, read_stored(wish.truss.current.document))


def refuse_both(wish: Wish, other: Wish, at: str, at_other: str) -> None:
    refuse_second(wish, other, at, at_other)


def document_of(wanted: Document, design: Design) -> Document:
    """Today's truss on the bearings that are wanted. Raises BearingError."""
    if wanted["change"] == "moved":
        return moved(design, wanted["joint"], wanted["to_in"])
    if wanted["change"] == "added":
        return added(design, wanted["at_in"], wanted["width_in"])
    if wanted["change"] == "taken away":
        return taken_away(design, wanted["joint"])
    return as_measured(design, _walls(wanted)).document


def _walls(wanted: Document) -> dict[str, tuple[float, float]]:
    return {wall["joint"]: (wall["x_in"], wall["y_in"]) for wall in wanted["walls"]}


def places(wanted: Mapping[str, Any]) -> dict[str, float]:
    """{joint: the x at which its bearing is wanted, inches} of the bearings that a wish gives another place."""
    if wanted["change"] == "measured":
        return {wall["joint"]: float(wall["x_in"]) for wall in wanted["walls"]}
    return {wanted["joint"]: float(wanted["to_in"])} if wanted["change"] == "moved" else {}


def at(document: Mapping[str, Any], x_in: float) -> str:
    """The joint of the bearing that a document has there; empty where it has none."""
    xs = {one["joint"]: document["joints"][one["joint"]][0] for one in document["bearings"]}
    return min((joint for joint, x in xs.items() if abs(x - x_in) <= _THERE_IN), default="")


def drawn(wanted: Document, document: Document) -> list[AskedBearing]:
    """The bearings as asked for, as a drawing of today's truss shows them."""
    wide = {one["joint"]: float(one["width_in"]) for one in document["bearings"]}
    if wanted["change"] == "added":
        return [AskedBearing(wanted["at_in"], wanted["width_in"])]
    if wanted["change"] == "measured":
        return [_measured(wall, document, wide) for wall in wanted["walls"]]
    joint = wanted["joint"]
    if joint not in wide:
        return []
    x = document["joints"][joint][0]
    if wanted["change"] == "moved":
        return [AskedBearing(wanted["to_in"], wide[joint], from_in=x)]
    return [AskedBearing(x, wide[joint], gone=True)]


def _measured(wall: Document, document: Document, wide: Mapping[str, float]) -> AskedBearing:
    x = document["joints"][wall["joint"]][0] if wall["joint"] in wide else wall["x_in"]
    off = abs(wall["x_in"] - x) > TOLERANCE_IN
    return AskedBearing(wall["x_in"], wide.get(wall["joint"], 0.0), from_in=x if off else None)


def answer(case: Case) -> Answered:
    """Whether the truss stands on it as it is, what happens on the way there, and which redesigns stand on it."""
    wanted = only(case)
    case.tell(0.1, coded("trying-other-bearings"))
    try:
        truss = read_document(case.document)
        if lacking := missing(truss):
            return no_answer(coded("loads-lack-first", names=list(lacking)))
        told, figures, outcome = _worked(case, wanted, truss)
    except DocumentError as refused:
        return no_answer(coded("today-unread", trouble=because(refused)))
    except BearingError as gone:
        return no_answer(coded("bearing-not-today", trouble=because(gone, placed=False)))
    except Mechanism as loose:
        return no_answer(moves("today-moves", loose))
    figures["between"] = [_state(case, truss, state) for state in outcome.between]
    told += [coded("in-between", **state) for state in figures["between"]]
    if isinstance(outcome.as_it_is, Mechanism):
        told.insert(0, moves("bearing-lets-move", outcome.as_it_is))
    elif outcome.fits:
        option = described(
            case.document, case.before, outcome.as_it_is, [coded("bearing-as-it-is")], [coded("bearing-written")]
        )
        return fits([coded("bearing-fits"), *told], case.judge(option), figures)
    else:
        told.insert(0, coded("bearing-strains"))
    return answered(told, [found(case, way) for way in outcome.ways], figures)


def _worked(case: Case, wanted: Document, truss: Design) -> tuple[list[Coded], Document, Changed]:
    around, building = _with_its_plates(case.surroundings, wanted, truss), of_job(case.job)
    if wanted["change"] == "moved":
        return [], {}, changed.move(truss, wanted["joint"], wanted["to_in"], around, building)
    if wanted["change"] == "added":
        return [], {}, changed.add(truss, wanted["at_in"], wanted["width_in"], around, building)
    if wanted["change"] == "taken away":
        return [], {}, changed.take_away(truss, wanted["joint"], around, building)
    measured = as_measured(truss, _walls(wanted))
    told = [coded("shims", shims=[[joint, by] for joint, by in measured.shims_in.items()])] if measured.shims_in else []
    if measured.off_in:
        told.append(coded("walls-off", off=[[joint, by] for joint, by in measured.off_in.items()]))
    elif not measured.shims_in:
        told.append(coded("walls-as-drawn"))
    figures: Document = {"shims_in": dict(measured.shims_in), "off_in": dict(measured.off_in)}
    return told, figures, changed.on(truss, measured.document, Note("bearings-measured", (), {}), around, building)


def _with_its_plates(said: Surroundings, wanted: Document, truss: Design) -> Surroundings:
    """What is said of the walls that the bearings leave holds where they go: a wall keeps its name and its plate."""
    after, plates = document_of(wanted, truss), dict(said.wall_plates)
    for joint, x in places(wanted).items():
        if joint in said.wall_plates and (new := at(after, x)):
            plates[new] = said.wall_plates[joint]
    return replace(said, wall_plates=MappingProxyType(plates))


def _state(case: Case, truss: Design, state: State) -> dict[str, Any]:
    """Of one moment: how the truss of today bears then, where it moves, and whether any of those copies stands."""
    moving = state.moves
    left = min(truss.joint(bearing.joint).x for bearing in truss.bearings)
    along = {joint.name: round(joint.x - left, 3) for joint in truss.joints}
    keys = ("joint", "direction", "almost", "code", "values")
    return {
        "state": state.name,
        "passes": state.passes,
        "moving": {key: getattr(moving, key) for key in keys} if moving else None,
        "worst": short(state.worst) if state.worst else None,
        "lifted_lb": [[joint, up] for joint, up in state.lifted_lb],
        "along_in": along.get(moving.joint) if moving else None,
        "stands": _any_set(case),
    }


def _any_set(case: Case) -> bool:
    if case.truss is None:
        return True
    return bool(case.truss.copies.filter(number__in=case.wishes[0].copies, stage=Stage.SET).exists())


def lacks(document: Document, wishes: Iterable[Wish]) -> str:
    """The bearing that a document doesn't have where it is wanted, or still has where it isn't."""
    after = read_stored(document)
    there = sorted(after.joint(bearing.joint).x for bearing in after.bearings)
    for wish in wishes:
        if wish.truss is None or wish.wish is None:
            continue
        wanted = read_stored(document_of(wish.wish, read_stored(wish.truss.current.document)))
        xs = sorted(wanted.joint(bearing.joint).x for bearing in wanted.bearings)
        if len(xs) != len(there) or any(abs(a - b) > _THERE_IN for a, b in zip(xs, there, strict=True)):
            return str(wish.wish["change"])
    return ""


def turned(wanted: Document, over: Over) -> Document:
    places: Document = {key: over.x(wanted[key]) for key in ("to_in", "at_in") if key in wanted}
    if "joint" in wanted:
        places["joint"] = over.bearing(wanted["joint"])
    if "walls" in wanted:
        walls = wanted["walls"]
        places["walls"] = [{**one, "joint": over.bearing(one["joint"]), "x_in": over.x(one["x_in"])} for one in walls]
    return {**wanted, **places}
