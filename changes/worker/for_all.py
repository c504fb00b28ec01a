"""One design for several groups of copies: the openings of all of them in one truss, offered beside a design for each.

Fewer variants are fewer sheets, fewer set-ups of the saw and fewer trusses that look alike and aren't. It is searched
once for each mark of which a request asks different openings in different copies. Each group has it as an option of its
own, of one and the same document, so that a decision which takes it for all of them makes one mark of them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from changes.asks import opening
from changes.asks.answers import AS_IT_IS, Answered, Case, Found, Judge, redesigns_pass
from changes.models import Verdict
from trusses.analysis.words.phrases import coded

FOR_ALL = "for-all"
#: So many of them are offered.
_OFFERED = 2


def for_all(cases: Sequence[Case], answered: Sequence[Answered], judge: Judge, seconds: float) -> list[Answered]:
    """The answers to openings in several groups of copies of one mark, with the designs that pass for all of them.

    A group of which an opening is never possible has none in common with the others, and stays as it was answered.
    `judge` looks at a design of all the copies.
    """
    possible = [i for i, told in enumerate(answered) if all(one.verdict != Verdict.NEVER for one in told.answers)]
    if len(possible) < 2:
        return list(answered)
    wishes = [
        replace(wish, opening=one.opening or wish.opening)
        for i in possible
        for wish, one in zip(cases[i].wishes, answered[i].answers, strict=True)
    ]
    whole = replace(cases[possible[0]], wishes=wishes, judge=judge, seconds=seconds)
    copies = sorted({number for wish in wishes for number in wish.copies})
    found = [one for one in opening.answer(whole).options if one.passes and not one.elsewhere][:_OFFERED]
    shared = [_of_all(one, copies) for one in found]
    return [_with(told, shared) if i in possible else told for i, told in enumerate(answered)]


def _of_all(one: Found, copies: Sequence[int]) -> Found:
    steps = [] if isinstance(one.titled, str) or list(one.titled) == AS_IT_IS else list(one.titled)
    about = {"copies": list(copies)}
    return replace(one, titled=[coded(FOR_ALL, **about), *steps], told=[*one.told, coded("holds-all", **about)])


def _with(told: Answered, shared: Sequence[Found]) -> Answered:
    """With the shared designs after those that pass for the group alone. Where none does, what passes for all of them
    passes for it too."""
    options = sorted([*told.options, *shared], key=lambda one: (not one.passes, bool(one.elsewhere)))
    if not shared:
        return told
    passing = [one for one in options if one.passes and not one.elsewhere]
    pass_, stuck = redesigns_pass(passing), (Verdict.NONE_PASS, Verdict.UNSURE)
    answers = [
        replace(one, verdict=Verdict.OPTIONS, told=[one.told[0], pass_]) if one.verdict in stuck else one
        for one in told.answers
    ]
    return Answered(answers, options)
