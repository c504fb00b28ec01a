"""What comes next of a request, in a few lines: who, by when, until when it can change, whether the saw waits."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from typing import Any

from changes.asks.kinds import designs
from changes.models import Consequence, Hold, Issue, Kind, Request
from changes.pages.in_short import past_last_day, told_over
from changes.pages.section import Section
from changes.workflow.waiting import Kept, kept_by_others
from trusses.models import CHANGEABLE_STAGES, Copy

_SAW = {
    Hold.Standing.ASKED: "the shop has not answered the hold on {what}",
    Hold.Standing.ACKNOWLEDGED: "waits for {what}",
    Hold.Standing.REFUSED: "does not wait for {what}",
}


def next_step(change: Request, told: Iterable[Section], holds: Iterable[Any], waits_for: str) -> list[tuple[str, str]]:
    """(what about, what is so) of a request that is open; nothing of one that has ended."""
    if not change.is_open:
        return []
    told, today = list(told), change.job.today()
    late = [one.mark for one in past_last_day(change, (ask for section in told for ask in section.asks))]
    too_late = f". {told_over(late)}" if late else ""
    lines = [("Waits for", waits_for), ("An answer by", _day(change.needed_by, today) + too_late)]
    if told and _past_the_saw(told):
        return lines  # neither a last day nor the saw has to do with wood that is cut
    days = sorted({(one.truss.can_change_until, one.truss.mark) for one in told if one.truss.can_change_until})
    for last in dict.fromkeys(day for day, _ in days):
        marks = ", ".join(mark for day, mark in days if day == last)
        lines.append((f"Last day for changes of {marks}", _day(last, today)))
    if told:
        saw = [
            _SAW[standing].format(what=", ".join(_copies(hold) for hold in those))
            for standing in _SAW
            if (those := [hold for hold in holds if hold.standing == standing])
        ]
        lines.append(("The saw", "; ".join(saw) or "does not wait: no hold was asked for"))
    return lines


def kept_after(
    change: Request, told: Iterable[Section], chain: Iterable[Consequence], issued: Iterable[Issue], *, decides: bool
) -> list[Kept]:
    """What other requests keep from the saw and from being set of the marks that a decision would issue, where the
    person `decides`, or that it has issued."""
    trusses = [issue.revision.truss for issue in issued]
    if decides:
        trusses = [one.truss for one in told if designs(one.asks)] + [one.carrier for one in chain]
    return kept_by_others(trusses, change) if trusses else []


def _past_the_saw(told: Iterable[Section]) -> bool:
    """Whether all that is asked is of copies that are cut already, as damage may be."""
    asks = [ask for section in told for ask in section.asks]
    if any(ask.kind not in Kind.as_built() for ask in asks):
        return False
    wanted = {(ask.truss_id, number) for ask in asks for number in ask.copies}
    rows = Copy.objects.filter(truss__in={pk for pk, _ in wanted}).exclude(stage__in=CHANGEABLE_STAGES)
    return wanted <= set(rows.values_list("truss", "number"))


def _copies(hold: Any) -> str:
    return f"{hold.truss.mark} ({hold.not_cut} not yet cut)" if hold.not_cut else f"{hold.truss.mark} (all cut)"


def _day(day: date, today: date) -> str:
    left = (day - today).days
    when = "today" if left == 0 else f"{abs(left)} day{'' if abs(left) == 1 else 's'} {'over' if left < 0 else 'left'}"
    return f"{day:%a, %b} {day.day}, {when}"
