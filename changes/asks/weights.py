"""Weights that are asked for, as the drawings of a request show them: before as asked, after by what the option's
document bears."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from functools import reduce
from operator import or_
from typing import Any

from django.db.models import Q, QuerySet

from changes.models import Ask, Issue, Kind, Option
from trusses.analysis.alike import alike, alike_turned, middle_in
from trusses.analysis.words.lengths import feet_inches
from trusses.analysis.words.phrases import pounds
from trusses.drawing import Weight
from trusses.models import Revision
from trusses.sheets.weights import Issued
from trusses.sheets.words import ROLE
from trusses.words import runs

#: Designs are alike within this, so that weights of two that became one lie no farther apart, inches.
_ONE_IN = 1.0
_ACROSS = {"stiff": "stiff cross-beam", "continuous": "platform"}


def weights(asks: Sequence[Ask], shown: Option | None = None) -> tuple[Weight, ...]:
    """Those of some asks; with an option, as that carries them."""
    asked = [ask for ask in asks if ask.kind == Kind.LOAD.value and ask.wish]
    beam = _cross_beam(shown.titled) if shown is not None else 0
    found = (_weight(ask, ask.wish or {}, beam) for ask in asked)
    return tuple(found if shown is not None else (replace(one, asked=True) for one in found))


def _weight(ask: Ask, wish: Mapping[str, Any], beam: int) -> Weight:
    over = len(ask.lies_over or ask.copies)
    across = f"{_ACROSS[wish['shared']]} over {over} trusses" if wish["shared"] in _ACROSS and over > 1 else ""
    if beam:
        across = f"{_ACROSS['stiff']} over {beam} trusses"
    name = wish["what"] if wish["what"] != "other" else wish["note"] or "weight"
    places = (wish["chord"], wish["shape"], wish["at_in"], wish["length_in"])
    return Weight(name, wish["weight_lb"], *places, wish["how"], wish["case"], across)


def _cross_beam(said: Any) -> int:
    """To how many trusses an option hands the weight by a cross-beam of its own, from what leads to it."""
    if isinstance(said, Mapping):
        if said.get("code") == "cross-beam":
            return int(said["values"]["trusses"])
        return _cross_beam(list(said.values()))
    return max(map(_cross_beam, said), default=0) if isinstance(said, list) else 0


def issues_of(revision: Revision) -> QuerySet[Issue]:
    """By which options the revision, and those of its mark before it, were issued, the first first."""
    chain = [Q(revision__truss=revision.truss_id, revision__number__lte=revision.number)]
    first = revision if revision.number == 0 else revision.truss.revisions.filter(number=0).first()
    if first is not None and first.comes_from_id:
        chain.append(Q(revision=first.comes_from_id))
    rows = Issue.objects.filter(reduce(or_, chain), option__isnull=False).order_by("pk")
    return rows.select_related("option").prefetch_related("option__asks")


def issued(revision: Revision) -> Iterator[Issued]:
    """The weights that the revision, and those of its mark before it, were issued for, as a sheet tells them: of every
    option whose copies it was issued for, each at its place by this drawing."""
    xs = [revision.document["joints"][one["joint"]][0] for one in revision.document["bearings"]]
    for issue in issues_of(revision).select_related("decision"):
        groups = list(_together(issue))
        drawn: list[Weight] = []
        for option, about_in in groups:
            asks = [ask for ask in option.asks.all() if ask.kind == Kind.LOAD and ask.wish]
            for ask, weight in zip(asks, weights(asks, option), strict=True):
                if about_in is not None:
                    weight = replace(weight, at_in=2 * about_in - weight.at_in)
                says = _told(ask, weight, min(xs))
                if len(groups) > 1 and len(copies := ask.lies_over or ask.copies) == 1:
                    says += f", on copy {runs(copies)}"
                there = option is not issue.option and any(_near(weight, one) for one in drawn)
                drawn.append(weight)
                yield Issued(weight, says, issue.revision_id == revision.pk, drawn=not there)


def _together(issue: Issue) -> Iterator[tuple[Option, float | None]]:
    """The options of the decision whose copies got the design that was issued, that by which it was issued first; of
    those that were turned end for end for it, about which x of their drawing."""
    own = issue.option
    if own is None:
        return
    yield own, None
    rest = set(issue.decision.options.values()) - {own.pk}
    if not rest:
        return
    for other in Option.objects.filter(pk__in=rest, truss=own.truss_id).order_by("pk").prefetch_related("asks"):
        if alike(own.document, other.document) or alike(other.document, own.document):
            yield other, None
        elif alike_turned(own.document, other.document):
            yield other, middle_in(other.document)


def _near(one: Weight, other: Weight) -> bool:
    """Whether two are one on the drawing of copies of which each has one."""
    return abs(one.at_in - other.at_in) <= _ONE_IN and replace(one, at_in=0.0, across="") == replace(
        other, at_in=0.0, across=""
    )


def _told(ask: Ask, weight: Weight, left_in: float) -> str:
    """“220 lb air handler, hung 10'-0" from the left bearing, shared by copies 4–7 by a stiff cross-beam, 55 lb
    each”."""
    wish: Mapping[str, Any] = ask.wish or {}
    along = f"{feet_inches(weight.at_in - left_in)} from the left bearing"
    where = {"pair": f"in two points {feet_inches(weight.length_in)} apart, their middle {along}"}.get(
        weight.shape, along
    )
    if weight.is_band:
        where = f"along {feet_inches(weight.length_in)}, its middle {along}"
    how = "hung" if weight.how == "hung" else "standing"
    chord = "" if (weight.how == "hung") == (weight.chord == "bottom_chord") else f" on the {ROLE[weight.chord]}"
    said = f"{pounds(weight.pounds)} {weight.name}, {how}{chord} {where}"
    shares = ask.shares
    if shares and weight.across:
        by = weight.across.partition(" over ")[0]
        each = {round(lb) for _, lb in shares}
        most = max(lb for _, lb in shares)
        share = f"{pounds(most)} each" if len(each) == 1 else f"{pounds(most)} at most on one"
        of = f"copies {runs(copy for copy, _ in shares)}"
        said += f", shared by {of} by a {by}, {share}" if wish.get("shared") else ""
    elif weight.across:
        said += f", carried by a {weight.across}"
    elif len(over := ask.lies_over or ask.copies) > 1:
        said += f", one in all over copies {runs(over)}: each is designed to carry all of it"
    return said
