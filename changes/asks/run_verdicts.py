"""What each truss that a run crosses answers, by one rule wherever it is told: the page's headline, its list, the signs
on the plan, what is asked, better lines and the API."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Literal, NamedTuple

from changes.asks.as_cut import AsCut
from changes.asks.run import by_mark, groups, lettered, shared
from trusses.analysis.runs.crossing import VERDICTS, Crossed, Verdict
from trusses.analysis.words.runs import headline

Answers = Verdict | Literal["cut"]
"""As a crossing's; `cut`: the copy is cut already and doesn't take the run, so that no redesign helps either."""

WORSE: tuple[Answers, ...] = (*VERDICTS, "cut")


class Counts(NamedTuple):
    """How many trusses of those that it crosses, each once however often, it doesn't fit in as it runs: where a chord
    would be cut or the truss left; that are cut already; that would have to change."""

    never: int
    cut: int
    changes: int

    @property
    def short(self) -> int:
        return self.never + self.cut + self.changes

    @property
    def order(self) -> tuple[int, int]:
        """The fewer of both, the better."""
        return self.never + self.cut, self.short


def answers(crossed: Crossed, cut: Iterable[AsCut], *, together: bool) -> dict[str, Answers]:
    """{letter: what it answers}. Where copies are to share one opening whatever it takes, each answers what that does,
    which is larger than its own."""
    cut = list(cut)
    found: dict[str, Answers] = {name: one.verdict for name, one in lettered(crossed)}
    found |= {one.letter: "cut" for one in cut if not one.fits}
    if together:
        for met in by_mark(crossed, but={one.name for one in cut}).values():
            for those in groups(met, together=True):
                verdict = shared(those)
                found |= {name: max(one.verdict, verdict, key=VERDICTS.index) for name, one in those}
    return found


def counts(crossed: Crossed, told: Mapping[str, Answers]) -> Counts:
    every = list(_each(crossed, told).values())
    change = sum(one in ("moves", "redesign") for one in every)
    return Counts(every.count("never"), every.count("cut"), change)


def worst(crossed: Crossed, told: Mapping[str, Answers]) -> Verdict:
    """The worst of all that a run meets, of trusses as `told`; a copy that is cut and doesn't take it never does."""
    every: list[Verdict] = ["never" if one == "cut" else one for one in told.values()]
    return max([*every, *(one.verdict for one in crossed.between)], key=VERDICTS.index, default="clear")


def said(crossed: Crossed, told: Mapping[str, Answers]) -> str:
    """Of all of them, in one line."""
    return headline(len(_each(crossed, told)), **counts(crossed, told)._asdict())


def _each(crossed: Crossed, told: Mapping[str, Answers]) -> dict[str, Answers]:
    """{truss: the worst that it answers where it is crossed}."""
    found: dict[str, Answers] = {}
    for name, one in lettered(crossed):
        truss = one.stood.name
        found[truss] = max(found.get(truss, told[name]), told[name], key=WORSE.index)
    return found
