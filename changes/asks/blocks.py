"""Signs of weights that are asked for, and of walls that were measured lower, on the copies that bear them: in the set
in three dimensions, of one request and of a whole job."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Mapping

from changes.asks.standing_asks import standing_asks
from changes.asks.weights import weights
from changes.models import Ask, Kind
from trusses.analysis.words.lengths import feet_inches
from trusses.analysis.words.phrases import pounds
from trusses.models import Job, Truss
from trusses.plan.on_walls import Number
from trusses.solid.bodies import Body
from trusses.solid.scene import AFTER, Placed, Scene, Wall
from trusses.solid.weights import shim, weight

Turned = Callable[[Placed], bool]


def in_the_set(job: Job, found: Scene) -> Iterator[Wall]:
    """Of a job's requests that are open, and of what was approved and issued: on the copies as they stand today,
    whichever marks of their family these are of by now."""
    asks = standing_asks(job, Kind.LOAD, Kind.BEARING)
    if not asks:
        return
    roots = {pk: of or pk for pk, of in Truss.objects.filter(job=job).values_list("pk", "variant_of")}
    for ask, decided_at, turned in asks:
        by = f"by the decision on request {ask.request_id}" if decided_at else f"as request {ask.request_id} asks"

        def over(one: Placed, turned: Collection[Number] = turned) -> bool:
            return Number(roots[one.truss], one.number) in turned

        yield from blocks(ask, found, by=by, roots=roots, turned=over)


def blocks(
    ask: Ask,
    found: Scene,
    *,
    by: str = "as it is asked",
    roots: Mapping[int, int] | None = None,
    turned: Turned = lambda _: False,
) -> Iterator[Wall]:
    """A sign of a weight that is asked for, on each copy that bears it; of walls as they were measured, what is missing
    under each of its copies. `roots`: the first mark of each mark's family, where copies may be another's since;
    `turned`: which of them were turned end for end since it was asked."""
    document = ask.revision.document if ask.revision else {}
    wide = {one["joint"]: float(one["width_in"]) for one in document.get("bearings", ())}
    xs = {joint: float(document["joints"][joint][0]) for joint in wide}
    family = (roots or {}).get(ask.truss_id or 0, ask.truss_id)

    def on(copies: list[int]) -> Iterator[tuple[Placed, Body, Callable[[float], float]]]:
        for one in found.placed:
            if one.shown != AFTER and one.number in copies and (roots or {}).get(one.truss, one.truss) == family:
                body, left = found.bodies[one.body], min(xs.values(), default=0.0)
                yield one, body, _mirrored(body, left) if turned(one) else _along(body)

    for joint, shims in ((ask.figures or {}).get("shims_in") or {}).items():
        label = f"{feet_inches(shims)} to shim at {joint}, {by}: its wall was measured that much lower than the highest"
        for one, body, along in on(ask.copies) if joint in wide else ():
            yield from shim(one, body, along(xs[joint]), float(shims), wide[joint], label)
    for what in weights([ask]):
        label = f"{pounds(what.pounds)} {what.name}, {'hung' if what.how == 'hung' else 'standing'} here {by}"
        for one, body, along in on(ask.lies_over or ask.copies):
            yield from weight(one, body, what, f"{label}; how large it is isn't drawn", along)


def _along(body: Body) -> Callable[[float], float]:
    """How far from a body's left bearing what stands at an x of its document is."""
    return lambda x: x - body.left_in


def _mirrored(body: Body, left_in: float) -> Callable[[float], float]:
    """The same where the body is of a copy turned since; `left_in` is the left bearing of its document then."""
    return lambda x: body.span_in - (x - left_in)
