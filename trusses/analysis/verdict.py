"""May a truss be called passing, and if not, why not: one function that sheets, options, decisions, programs ask.

`Passes` never stands alone. Lumber, plates, restraint and seal are four answers, each with a state and its reasons.
Reasons are codes with values; `words.verdict` says them. What a kind of truss keeps from ever being called passing is a
fact of the truss document or of the set, never a word in a title or a note.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Protocol

from trusses.analysis.format.model import Truss
from trusses.analysis.format.shared_wood import clashes, pieces_of
from trusses.analysis.piece_names import panel_names, told
from trusses.analysis.words.checks import short

PASSES, FAILS, NOT_CHECKED, MISSING = "passes", "fails", "not checked", "missing"
#: Nothing here answers for it: the sealed drawing that is attached does.
BY_SEAL = "by the sealed drawing"

#: From this span on a registered design professional designs the bracing (IBC 2303.4.1.3), inches.
LONG_SPAN_IN = 720.0
#: What the set can say of a mark: kinds that nothing automatic answers for (engineering.md, "Never automatic").
KINDS = ("drag", "gable-end", "fire-rated", "treated", "repair", "damaged")
#: Codes of the reasons why the numbers of a truss are shown and it is never called passing, whatever they are.
NEVER_AUTOMATIC = frozenset({"shared-wood", "long-span", "carries-trusses", "wet-lumber", "incised-lumber", *KINDS})
#: Those of them for which a drawing of the truss as it was designed answers nothing.
_NOT_SEALED = frozenset({"shared-wood", "damaged"})


@dataclass(frozen=True, slots=True)
class Reason:
    """Why an answer is what it is: a code, and the plain JSON values of its sentence."""

    code: str
    values: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Answer:
    """One of the four: `about` is lumber, plates, restraint or seal."""

    about: str
    state: str
    reasons: tuple[Reason, ...]


@dataclass(frozen=True, slots=True)
class Sealed:
    """A sealed drawing that is attached: what it covers beside the lumber (plates, restraint), and what the job asks of
    it that nobody has recorded yet (`reviewed`, `accepted`)."""

    covers: frozenset[str] = frozenset()
    lacks: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Known:
    """What is known of a truss beside its document: from the set that it stands in, and from who decided on it.

    `carries` are the marks that stand or hang on it, `kinds` those of KINDS that it is of, `behind` the marks on it
    that put something else there today than its document has. `accepted` are the rules of failed checks of
    serviceability that a designer accepted with a reason, `plate_report` names the job's table of plate values.
    `seal` is the sealed drawing that stands for it.
    """

    carries: tuple[str, ...] = ()
    kinds: tuple[str, ...] = ()
    behind: tuple[str, ...] = ()
    accepted: frozenset[str] = frozenset()
    plate_report: str = ""
    seal: Sealed | None = None

    def answered_by_seal(self, about: str) -> bool:
        """Whether a sealed drawing that counts answers for the plates or the restraint."""
        return self.seal is not None and not self.seal.lacks and about in self.seal.covers


NOTHING_KNOWN = Known()


@dataclass(frozen=True, slots=True)
class Verdict:
    """The four answers, and every reason why the truss may not be called passing; none where it may."""

    lumber: Answer
    plates: Answer
    restraint: Answer
    seal: Answer
    why_not: tuple[Reason, ...]

    @property
    def answers(self) -> tuple[Answer, Answer, Answer, Answer]:
        return self.lumber, self.plates, self.restraint, self.seal

    @property
    def may_be_called_passing(self) -> bool:
        """Every check passes, every opening is clear, and the truss is of no kind that waits for its sealed drawing."""
        return not self.why_not

    @property
    def numbers_only(self) -> bool:
        """Nothing but its kind keeps it from being called passing."""
        return bool(self.why_not) and all(reason.code in NEVER_AUTOMATIC for reason in self.why_not)


class _Analysed(Protocol):
    """What is asked of an analysis that was just made (`analysis.Analysis`)."""

    @property
    def worst_ratio(self) -> float: ...
    @property
    def checks(self) -> tuple[Any, ...]: ...
    @property
    def openings(self) -> tuple[Any, ...]: ...


def verdict(truss: Truss, analysis: _Analysed | Mapping[str, Any], known: Known = NOTHING_KNOWN) -> Verdict:
    """The verdict on a truss by its analysis or its analysis document, and by what is known beside both."""
    checks, openings = _numbers(analysis)
    failing = [check for check in checks if not check["passes"]]
    kinds = tuple(never_automatic(truss, known))
    blocked = [opening["id"] for opening in openings if not opening["fits"]]
    why_not = [
        *(Reason("behind", {"marks": list(known.behind)}) for _ in known.behind[:1]),
        *(_fails(truss, failing) for _ in failing[:1]),
        *(Reason("opening-blocked", {"openings": blocked}) for _ in blocked[:1]),
        *kinds,
    ]
    return Verdict(
        _lumber(truss, checks, failing, kinds, known),
        _plates(known),
        _restraint(truss, known),
        _seal(known),
        tuple(why_not),
    )


_Rows = Sequence[Mapping[str, Any]]


def _numbers(analysis: _Analysed | Mapping[str, Any]) -> tuple[_Rows, _Rows]:
    """The checks and the openings, as an analysis document writes what is read of them here."""
    if isinstance(analysis, Mapping):
        return analysis["checks"], analysis["openings"]
    checks = [short(check) | {"passes": check.passes} for check in analysis.checks]
    return checks, [{"id": opening.id, "fits": opening.fits} for opening in analysis.openings]


def never_automatic(truss: Truss, known: Known = NOTHING_KNOWN) -> Iterator[Reason]:
    """Of what kind a truss is that is never called passing: its numbers are shown, its sealed drawing is waited for."""
    for clash in clashes(truss.members, truss.names, truss.xy)[:1]:
        # a revision from before such trusses were refused
        called = panel_names(truss.document)
        yield Reason("shared-wood", {"pieces": [called.get(piece, piece) for piece in pieces_of(clash, truss)]})
    if truss.span_in >= LONG_SPAN_IN:
        yield Reason("long-span", {"span_in": truss.span_in})
    if known.carries or truss.carries_trusses:
        yield Reason("carries-trusses", {"marks": list(known.carries)})
    if truss.service.wet:
        yield Reason("wet-lumber")
    if truss.service.incised:
        yield Reason("incised-lumber")
    yield from (Reason(kind) for kind in KINDS if kind in known.kinds)


def _fails(truss: Truss, failing: list[Mapping[str, Any]]) -> Reason:
    worst = max(failing, key=lambda check: check["ratio"])
    return Reason("check-fails", told(truss.document, worst))


def _lumber(
    truss: Truss, checks: _Rows, failing: list[Mapping[str, Any]], kinds: tuple[Reason, ...], known: Known
) -> Answer:
    if known.behind:
        return Answer("lumber", MISSING, (Reason("behind", {"marks": list(known.behind)}), *kinds))
    if failing and not {check["rule"] for check in failing} <= known.accepted:
        return Answer("lumber", FAILS, (_fails(truss, failing), *kinds))
    worst = max((check["ratio"] for check in checks), default=None)
    told = Reason("no-check") if worst is None else Reason("worst", {"ratio": worst})
    if failing:
        told = Reason("deflection-accepted")
    if kinds and known.seal and not known.seal.lacks and _NOT_SEALED.isdisjoint(kind.code for kind in kinds):
        return Answer("lumber", BY_SEAL, (told, Reason("numbers-by-seal")))
    return Answer("lumber", NOT_CHECKED if kinds else PASSES, (told, *kinds))


def _plates(known: Known) -> Answer:
    if known.answered_by_seal("plates"):
        return Answer("plates", BY_SEAL, (Reason("covered-by-seal"),))
    told = Reason("plate-table", {"report": known.plate_report}) if known.plate_report else Reason("no-plate-table")
    return Answer("plates", NOT_CHECKED, (told,))


def _restraint(truss: Truss, known: Known) -> Answer:
    if known.answered_by_seal("restraint"):
        return Answer("restraint", BY_SEAL, (Reason("restraint-by-seal"),))
    held = truss.lateral_restraint
    if held.top_chord_in is None and held.bottom_chord_in is None and not held.webs:
        return Answer("restraint", MISSING, (Reason("no-restraint"),))
    return Answer("restraint", NOT_CHECKED, (Reason("restraint-counted-on"),))


def _seal(known: Known) -> Answer:
    if known.seal is None:
        return Answer("seal", MISSING, (Reason("no-seal"),))
    if known.seal.lacks:
        return Answer("seal", MISSING, tuple(Reason(f"seal-not-{step}") for step in known.seal.lacks))
    return Answer("seal", PASSES, (Reason("sealed"),))
