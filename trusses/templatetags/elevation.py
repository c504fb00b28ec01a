"""The drawing on a page. Here alone are drawings taken as safe: `drawing` and `plan` escape what they draw."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from typing import Any, Literal

from django import template
from django.utils.html import format_html
from django.utils.safestring import SafeString, mark_safe

from trusses import drawing, kept_drawings
from trusses.drawing.capacity import capacity as capacity_of
from trusses.plan import crossings
from trusses.plan.parts import on_paper
from trusses.plan.plan import Row

register = template.Library()
_FRAME = 'class="detail-frame"'
_SIZES: tuple[Literal["sheet"], Literal["phone"]] = ("sheet", "phone")


@register.simple_tag
def elevation(document: dict[str, Any], *, keep: bool = True, **how: Any) -> SafeString:
    """The elevation of a truss document; `how` as in `drawing.elevation`. It is kept, unless it is of something typed
    that the next letter changes."""
    return mark_safe((kept_drawings if keep else drawing).elevation(document, **how))


@register.simple_tag
def picture(
    document: dict[str, Any],
    *,
    prefix: str = "picture",
    desk_px: float | None = None,
    named: Collection[str] = (),
    around: dict[str, Any] | None = None,
    joints: bool = False,
    clear: dict[str, Any] | None = None,
    taped: Sequence[drawing.Taped] = (),
    with_detail: bool = True,
    asked: tuple[float, float] | None = None,
    keep: bool = True,
    bearings_asked: Sequence[drawing.AskedBearing] = (),
    **how: Any,
) -> SafeString:
    """The elevation twice, lettered for a phone and for a desk or paper (the stylesheet shows the one that fits), and
    once the enlarged detail of its openings where it has any that are asked for or new.

    `desk_px` is how wide the desk's place for it is, where that is less than the page; `around` an opening that the
    detail shows the place of although this document may not have it.
    """
    drawn_by = kept_drawings if keep else drawing
    whole: dict[str, Any] = {
        "named": named,
        "around": around,
        "joints": joints,
        "clear": clear,
        "taped": taped,
        "asked": asked,
    }
    whole |= {"bearings_asked": bearings_asked, **how}
    desk = drawn_by.elevation(document, prefix=f"{prefix}-desk", width_px=desk_px, **whole)
    phone = drawn_by.elevation(document, prefix=f"{prefix}-phone", detail="phone", **whole)
    enlarged = drawn_by.detail(document, prefix=f"{prefix}-detail", around=around, **how) if with_detail else ""
    return _sizes(desk, phone, enlarged)


@register.simple_tag
def enlarged(document: dict[str, Any], *, prefix: str = "picture", **how: Any) -> SafeString:
    """The enlarged detail of a `picture` that stands elsewhere on the page without it; empty where it has none."""
    sizes = {"desk": {}, "phone": {"detail": "phone"}}
    drawn = {
        size: kept_drawings.elevation(document, prefix=f"{prefix}-{size}", **own, **how) for size, own in sizes.items()
    }
    picture = kept_drawings.detail(document, prefix=f"{prefix}-detail", analysis=how.get("analysis"))
    if not (shown := _framed(drawn)):
        return mark_safe("")
    return format_html('<div class="enlarged in-{}">{}</div>', "-".join(shown), mark_safe(picture))


@register.simple_tag
def dragged(
    document: dict[str, Any],
    ask: dict[str, Any] | None,
    ask_from: tuple[str, int],
    touched: Collection[str],
    *,
    prefix: str,
    desk_px: float,
    shown: str = "",
    theirs: Collection[str] = (),
) -> SafeString:
    """As `picture`, of an opening that is dragged over a truss: only what moves is drawn anew, and of the two sizes
    only the one that is `shown`, "desk" or "phone", where the browser said which."""
    sizes: dict[str, dict[str, Any]] = {"desk": {"width_px": desk_px}, "phone": {"detail": "phone"}}
    asked, drawn = (ask, ask_from, touched), {"desk": "", "phone": ""}
    for size in [shown] if shown in sizes else sizes:
        truss = kept_drawings.backdrop(document, prefix=f"{prefix}-{size}", theirs=theirs, **sizes[size])
        drawn[size] = truss.elevation(*asked)
    return _sizes(**drawn, enlarged=truss.detail(*asked, prefix=f"{prefix}-detail") if _framed(drawn) else "")


def _sizes(desk: str, phone: str, enlarged: str) -> SafeString:
    shown = _framed({"desk": desk, "phone": phone})
    detail = (
        format_html('<div class="enlarged in-{}">{}</div>', "-".join(shown), mark_safe(enlarged))
        if enlarged and shown
        else ""
    )
    return format_html(
        '<div class="for-desk">{}</div><div class="for-phone">{}</div>{}', mark_safe(desk), mark_safe(phone), detail
    )


def _framed(drawn: dict[str, str]) -> list[str]:
    """The sizes whose drawing frames what the enlarged detail shows."""
    return [size for size, svg in drawn.items() if _FRAME in svg]


@register.simple_tag
def capacity(document: dict[str, Any], curve: dict[str, Any], at_in: float | None = None) -> SafeString:
    """What a chord takes at each place, under its truss, lettered for a phone and for a desk or paper."""
    desk, phone = (capacity_of(document, curve["xs_in"], curve["pounds"], at_in, detail=size) for size in _SIZES)
    return _sizes(desk, phone, "")


@register.simple_tag
def plan(rows: list[Row], chosen: str) -> SafeString:
    """The plan of one level."""
    return mark_safe(kept_drawings.plan(rows, chosen))


@register.simple_tag
def level_picture(picture: str) -> SafeString:
    """The plan of a whole level, as `plan.level` draws it."""
    return mark_safe(picture)


@register.simple_tag
def run_signs() -> list[tuple[SafeString, str]]:
    """Each sign of a run's crossing, and what it says."""
    return [(mark_safe(sign), says) for sign, says in crossings.signs()]


@register.simple_tag
def level_on_paper(picture: str, name: str) -> SafeString:
    """The same as it is printed: beside the plan that is read on a screen, and in its place on paper."""
    return on_paper(picture, name)
