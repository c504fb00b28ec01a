"""What a mark stands on that a request moves from under it, on whichever page it is told."""

from __future__ import annotations

from typing import Any

from django import template

from trusses.models import Truss
from trusses.plan import on_walls

register = template.Library()


@register.inclusion_tag("trusses/_walls_move.html")
def walls_move(truss: Truss, *, sheet: bool = False) -> dict[str, Any]:
    """On a `sheet` as one of the lines that say whether to build."""
    return {"walls_move": on_walls.under(truss), "truss": truss, "sheet": sheet}
