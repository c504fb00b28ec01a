"""What comes next of a revision, on whichever page it is told."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from django import template
from django.urls import reverse

from trusses.copies import onward
from trusses.models import Copy, Revision, Stage
from trusses.permissions import role_in
from trusses.sealing.seals import OTHERS
from trusses.words.onward import STEPS, to_do

register = template.Library()


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
    found = onward.of_revision(revision, copies)
    step = onward.next_of(found)
    if step is None:
        return {}
    at = found.index(step)
    mine = role_in(context["request"].user, revision.truss.job) in step.roles
    return {
        "revision": revision,
        # what was done before an earlier step reads as no tick: the earlier one isn't made good by it
        "steps": [
            {"says": STEPS[one.name].done, "done": one.done and i < at, "ahead": one.done and i > at, "next": i == at}
            for i, one in enumerate(found)
        ],
        "to_do": to_do(step.name, step.copies, onward.stopped(revision.truss, step)),
        # the release is asked about here; what was done at a saw or on site is said where the copies are listed
        "all": step.stage if mine and step.name == Stage.RELEASED else "",
        "at": address(revision, step) if mine else "",
        "with_others": bool(together if step.name == "sealed" else recorded_together if step.name in OTHERS else ""),
        "who": " or ".join(sorted(str(role.label).lower() for role in step.roles)),
    }


def address(revision: Revision, step: onward.Step) -> str:
    """Where a step is done."""
    truss, to = revision.truss, {"sealed": "attach", "plates": "covers-plates", "restraint": "covers-restraint"}
    if step.where == onward.COPIES:
        return reverse("trusses:mark", args=(truss.job_id, truss.pk)) + "#copies"
    at = reverse(f"trusses:{step.where}", args=(truss.job_id, truss.pk, revision.number))
    return f"{at}#{to.get(step.name, f'record-{step.name}')}" if step.where == onward.SEAL else at
