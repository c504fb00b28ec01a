"""What comes next of a revision, on whichever page it is told."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby
from typing import Any

from django import template
from django.urls import reverse

from trusses.analysis.words.phrases import listed
from trusses.copies import looks, onward
from trusses.models import Copy, Revision, Stage, Truss
from trusses.permissions import VERBS, role_in
from trusses.sealing.seals import OTHERS
from trusses.sheets import fixing
from trusses.sheets.words import sealed_but
from trusses.words.onward import STEPS, to_do

register = template.Library()
register.filter("sealed_but", sealed_but)


@register.inclusion_tag("trusses/_onward.html", takes_context=True, name="onward")
def onward_of(
    context: dict[str, Any],
    revision: Revision,
    copies: Sequence[Copy] | None = None,
    together: str = "",
    recorded_together: str = "",
) -> dict[str, Any]:
    """The steps of a current revision; nothing where all of them are done, or no more is made of it. `together`: where
    its sealed drawing is attached with others, `recorded_together`: where its review and acceptance are recorded with
    others', which the page leads to itself."""
    if (truss := context.get("truss")) and truss.pk == revision.truss_id:
        revision.truss = truss  # read already
    if copies is None:
        copies = list(revision.truss.copies.only("number", "stage", "released_to", "truss"))
    found = onward.of_revision(revision, copies)
    still_open = _beside_setting(revision.truss, copies) if found else {}
    found += still_open
    step = onward.next_of(found)
    if step is None:
        return {}
    at = found.index(step)
    mine = role_in(context["request"].user, revision.truss.job) in step.roles
    return {
        "revision": revision,
        "steps": _told(found, at),
        "to_do": to_do(step.name, step.copies, onward.stopped(revision.truss, step)) + still_open.get(step, ""),
        # the release is asked about here; what was done at a saw or on site is said where the copies are listed
        "all": step.stage if mine and step.name == Stage.RELEASED else "",
        "at": address(revision, step) if mine else "",
        "with_others": bool(together if step.name == "sealed" else recorded_together if step.name in OTHERS else ""),
        "who": " or ".join(sorted(str(role.label).lower() for role in step.roles)),
    }


def _told(found: Sequence[onward.Step], at: int) -> list[dict[str, Any]]:
    """The steps, of which that at `at` is next, in words. What was done before an earlier one reads as no tick, since
    that isn't made good by it; steps of which that is so one after the other are told as one."""
    told: list[dict[str, Any]] = []
    for ahead, those in groupby(enumerate(found), key=lambda one: one[1].done and one[0] > at):
        says = [(STEPS[one.name].done, i, one) for i, one in those]
        if ahead:
            told.append({"says": listed([done for done, _, _ in says]), "ahead": True})
        else:
            told += [{"says": done, "done": one.done, "next": i == at} for done, i, one in says]
    return told


def _beside_setting(truss: Truss, copies: Sequence[Copy]) -> dict[onward.Step, str]:
    """What goes on once copies are set, each with how much of it is open: rows, hangers and ties are ticked, and what
    was found of copies that stand already is closed."""
    there = [copy for copy in copies if copy.stage == Stage.SET]
    if not there:
        return {}
    ticks = [one.done for one in fixing.listed(truss)]
    told = (
        {onward.Step("fixed", all(ticks), "fixed", VERBS[fixing.VERB]): f": {ticks.count(False)} open"} if ticks else {}
    )
    wrong = tuple(sorted({look.copy.number for look in looks.open_looks(there)}))
    if wrong:
        told[onward.Step("looks", False, "looks", VERBS[looks.VERB], wrong)] = ""
    return told


def address(revision: Revision, step: onward.Step) -> str:
    """Where a step is done."""
    truss, to = revision.truss, {"sealed": "attach", "plates": "covers-plates", "restraint": "covers-restraint"}
    if step.where in (onward.COPIES, "looks"):
        part = "#looks" if step.where == "looks" else "#copies"
        return reverse("trusses:mark", args=(truss.job_id, truss.pk)) + part
    if step.where == "fixed":
        return reverse("trusses:fixed", args=(truss.job_id, truss.pk))
    at = reverse(f"trusses:{step.where}", args=(truss.job_id, truss.pk, revision.number))
    return f"{at}#{to.get(step.name, f'record-{step.name}')}" if step.where == onward.SEAL else at
