"""The record of a mark in words: what happened to it and its copies beside requests."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from trusses.models import MarkEvent

Code = MarkEvent.Code


@dataclass(frozen=True)
class Line:
    """One event as the pages tell it; `found` and `reason` are a person's own words."""

    event: MarkEvent
    says: str
    own_words: str = ""


def lines(events: Iterable[MarkEvent]) -> list[Line]:
    return [Line(event, says(event), event.values.get("found") or event.values.get("reason") or "") for event in events]


def says(event: MarkEvent) -> str:
    """One line without the person's own words."""
    told = event.values
    match event.code:
        case Code.MOVED:
            many = f"Cop{'y' if len(told['copies']) == 1 else 'ies'} {runs(told['copies'])}"
            to = "" if told["revision"] is None else f", to revision {told['revision']}"
            step = "released anew" if told["from"] == told["to"] else f"{told['from']} → {told['to']}"
            return f"{many}: {step}{to}"
        case Code.CORRECTED:
            return f"Corrected: revision {told['after']} in place of revision {told['before']}"
        case Code.WITHDRAWN:
            return f"Withdrawn with its revision {told['revision']}"
        case Code.COUNTED:
            return f"{told['after']} copies in place of {told['before']}"
    raise LookupError(f"an event of a mark has no words for {event.code}")


def runs(numbers: Iterable[int]) -> str:
    """Numbers with their runs shortened: 1–3, 5."""
    held: list[list[int]] = []
    for number in sorted(numbers):
        if held and number == held[-1][-1] + 1:
            held[-1].append(number)
        else:
            held.append([number])
    return ", ".join(f"{run[0]}–{run[-1]}" if len(run) > 1 else f"{run[0]}" for run in held)
