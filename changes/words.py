"""The one place where the codes of a request become sentences; nothing reads a sentence back.

What was stored before codes were is a sentence already, and told as it is.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from trusses.analysis.words.findings import FINDINGS
from trusses.analysis.words.phrases import Says, counted, listed, say

Coded = Mapping[str, Any]


def finding(stored: str | Coded) -> str:
    """What a person has to look at in a mark that carries others: {"code", "values"}."""
    if isinstance(stored, str):
        return stored
    return say(_CARRIERS, stored["code"], stored["values"])


def event(verb: str, values: Coded, own: str) -> str:
    """What an event of a request is told as: by its verb and values, then the person's own words. Without values it is
    one from before there were any, or one that its verb says all of."""
    said = say(EVENTS, verb, values) if values else ""
    return " ".join(filter(None, [said, own]))


def holders(requests: Sequence[int]) -> str:
    """`request 7 holds it`, `requests 7 and 9 hold it`."""
    many = len(requests) > 1
    return f"request{'s' if many else ''} {listed([str(pk) for pk in requests])} hold{'' if many else 's'} it"


VERDICTS = {
    "fits": "fits as it is",
    "options": "takes a redesign",
    "none pass": "no redesign passes",
    "never": "not possible here",
}
"""The answer to one ask, in a few words."""


def _asked_to_hold(mark: str, copies: int) -> str:
    return f"The saw should wait for {counted(copies, 'copy', 'copies')} of {mark} not yet cut."


def _released(free: Sequence[str], held: Mapping[str, Sequence[int]]) -> str:
    told = [f"The saw need not wait for {', '.join(free)} any more."] if free else []
    told += [f"The saw still waits for {mark}: {holders(requests)}." for mark, requests in held.items()]
    return " ".join(told)


def _refused_to_hold(mark: str, requests: Sequence[int]) -> str:
    if not requests:
        return f"The saw does not wait for {mark}."
    return f"The saw does not wait for this request, and still for {mark}: {holders(requests)}."


def _overtaken(mark: str, number: int, request: int | None) -> str:
    why = f", from request {request}." if request else ": its designer corrected it."
    return f"{mark} has revision {number} now{why} This request is computed again before it is approved."


def _computed(answers: Sequence[Coded], anew: Sequence[Coded], lost: Sequence[str]) -> str:
    told = [f"{one['mark']} revision {one['number']}: {VERDICTS[one['verdict']]}" for one in answers]
    for one in anew:
        drawn = counted(one["options"], "drawn option", "drawn options")
        told.append(f"{one['mark']} revision {one['number']}: {drawn} computed anew")
    told += [f"“{title}” doesn't hold what is asked now and is not carried over" for title in lost]
    return "; ".join(told)


def _failed(trouble: str, option: bool) -> str:
    return f"A drawn option could not be computed: {trouble}" if option else trouble


EVENTS: Mapping[str, Says] = {
    "ask for a hold": _asked_to_hold,
    "release the hold": _released,
    "acknowledge the hold": "The saw waits for {mark}.",
    "refuse the hold": _refused_to_hold,
    "overtaken": _overtaken,
    "draw": "{mark}: {title}",
    "compute an option": "{mark}: {title}. {found}",
    "finish computing": _computed,
    "fail": _failed,
}


def _cut_copies(mark: str, numbers: Sequence[int]) -> str:
    one = len(numbers) == 1
    return (
        f"Of {mark}, {len(numbers)} {'copy is' if one else 'copies are'} cut already"
        f" ({', '.join(map(str, numbers))}) and keep{'s' if one else ''} the old loads; the numbers here take every"
        " copy as changed."
    )


_CARRIERS: Mapping[str, Says] = {**FINDINGS, "cut-copies": _cut_copies}
