"""What the sheet of one revision says: may one build from it, and everything that whoever sets it has to know."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from trusses.analysis import verdict as core
from trusses.analysis.compare import compare
from trusses.analysis.format.model import Truss as Design
from trusses.analysis.piece_names import SawnPiece, panel_names, sawn_pieces
from trusses.analysis.words import verdict as said
from trusses.analysis.words.phrases import listed
from trusses.copies import earlier, harmed
from trusses.copies.harmed import Off
from trusses.designs import design_of
from trusses.models import Copy, Revision
from trusses.production import kept_from_saw
from trusses.sealing.seals import Seal
from trusses.sheets import changed, words
from trusses.sheets.weights import Issued
from trusses.words import runs

HEAVY = ("built_to__document", "built_to__analysis")
"""What a list of copies leaves out of the revisions that they were built to."""

_TONES = {core.PASSES: "good", core.BY_SEAL: "good", core.FAILS: "stop", core.MISSING: "stop"}


@dataclass(frozen=True)
class Answer:
    """One of the four answers that stand beside each other: what about, its state, and its reasons in words."""

    what: str
    state: str
    says: str
    tone: str
    """The page's class for it: `good`, `look` or `stop`."""
    answered: bool
    """It passes, or the sealed drawing answers for it."""


@dataclass(frozen=True)
class Status:
    """The first line: whether this is the current revision or dead, as a word that is read from six feet away."""

    current: bool
    word: str
    says: str


@dataclass(frozen=True)
class Verdict:
    """The second line: build from this or don't, and why; before it which of its copies are damaged."""

    build: bool
    says: str
    why: str
    off: tuple[Off, ...] = ()

    @property
    def all_off(self) -> Off | None:
        """Those that are damaged, by whatever request, in one; None where there are none."""
        return harmed.together(self.off)

    @property
    def harmed(self) -> tuple[int, ...]:
        """Their numbers."""
        return self.all_off.copies if self.all_off else ()

    @property
    def whole(self) -> str:
        """As one line, for the edges of paper."""
        return f"{self.all_off.says} {self.says}" if self.all_off else self.says


def answers(found: core.Verdict) -> tuple[Answer, ...]:
    """Lumber, plates, restraint and seal as a sheet says them, each by itself."""
    return tuple(
        Answer(
            said.ABOUT[answer.about],
            said.state(answer),
            said.why(answer.reasons),
            _TONES.get(answer.state, "look"),
            answer.state in (core.PASSES, core.BY_SEAL),
        )
        for answer in found.answers
    )


def fails_say(revision: Revision) -> str:
    """The failed check of largest ratio, in one sentence. The analysis must have one."""
    found = core.verdict(design_of(revision.document), revision.analysis)
    return said.why(reason for reason in found.why_not if reason.code == "check-fails")


def status(revision: Revision, current: Revision, copies: Sequence[Copy] | None = None) -> Status:
    """With all `copies` of the mark it says as well which of them it is current for."""
    mark = revision.truss.mark
    if revision.truss.withdrawn_at is not None:
        return Status(False, "DEAD", f"{mark} is withdrawn: it is out of the set. Take this down.")
    if revision.pk == current.pk:
        which = earlier.says(revision.truss, copies) if copies else ""
        for_which = f": {which}." if which else "."
        return Status(True, "CURRENT", f"Revision {revision.number} of {mark} is the current one{for_which}")
    says = f"Revision {revision.number} of {mark} was superseded by revision {current.number}. Take it down."
    by_it = [group for group in earlier.groups(revision.truss, copies or ()) if group.revision.pk == revision.pk]
    if stay := [copy for group in by_it if group.what == Copy.Earlier.STAYS for copy in group.copies]:
        those = f"copy {stay[0].number} stays" if len(stay) == 1 else f"copies {numbers(stay)} stay"
        says += f" Only {those} by it, built already; nothing more is cut from this."
    if wait := [copy for group in by_it if group.what != Copy.Earlier.STAYS for copy in group.copies]:
        those = f"Copy {wait[0].number} is" if len(wait) == 1 else f"Copies {numbers(wait)} are"
        them = "it" if len(wait) == 1 else "them"
        says += f" {those} built to it too: don't set {them} before a designer says what is to be done."
    return Status(False, "DEAD", says)


def verdict(
    revision: Revision,
    current: Revision,
    four: Sequence[Answer],
    seal: Seal | None = None,
    mine: Sequence[Copy] = (),
) -> Verdict:
    """The second line of a sheet that is for `mine`: it says yes for those of them that are released to it, or built to
    it, and sound; where there are none, nothing is built from it."""
    off, found = tuple(harmed.off(mine)), _verdict(revision, current, four, seal)
    if found.build and mine:
        found = _for_copies(found, revision, mine, {number for one in off for number in one.copies})
    if found.build and revision.truss.job.is_demo:
        told = f"A demonstration: build nothing from it. A real sheet would say “{found.says}”"
        found = replace(found, says=told)
    return replace(found, off=off)


def _for_copies(found: Verdict, revision: Revision, mine: Sequence[Copy], harm: set[int]) -> Verdict:
    """A yes for the copies that it holds for. What the shop has not, or keeps from the saw, is no more to be built than
    what is damaged."""
    uncut = [copy for copy in mine if copy.built_to_id is None]
    waits = [copy for copy in uncut if copy.released_to_id != revision.pk]
    kept = {copy.pk for one in kept_from_saw([copy for copy in uncut if copy not in waits]) for copy in one.copies}
    held = [copy for copy in uncut if copy.pk in kept]
    sound = [copy for copy in mine if copy not in waits and copy not in held and copy.number not in harm]
    if not (waits or held or harm):
        return found
    by_seal = "build by its sealed drawing, which is attached."
    not_yet = listed(
        [
            *([f"{_called(waits)} {_are(waits)}n’t released to revision {revision.number}"] if waits else []),
            *([f"{_called(held)} {_are(held)} held from the saw"] if held else []),
        ]
    )
    if sound and not_yet:
        return replace(found, says=f"Yes for {_called(sound)}: {by_seal} Not yet: {not_yet}.")
    if sound:
        return replace(found, says=f"Yes for the others: {by_seal}")
    if not_yet:
        says = f"Not yet: its sealed drawing is on record, and {not_yet}. Do not build from this."
        return replace(found, build=False, says=says)
    return replace(found, build=False, says="No. Every copy that it is for is damaged.")


def _are(copies: Sequence[Copy]) -> str:
    return "is" if len(copies) == 1 else "are"


def _called(copies: Sequence[Copy]) -> str:
    return f"cop{'y' if len(copies) == 1 else 'ies'} {numbers(copies)}"


def _verdict(revision: Revision, current: Revision, four: Sequence[Answer], seal: Seal | None) -> Verdict:
    """Build only from the current revision, and only when each of the four answers passes or its sealed drawing
    answers for it; then by that drawing."""
    if revision.pk != current.pk:
        return Verdict(
            False,
            f"No. Superseded by revision {current.number}: do not build from this.",
            f"Revision {current.number} of {revision.truss.mark} is current.",
        )
    if revision.truss.withdrawn_at is not None:
        return Verdict(False, "No. This mark is withdrawn: do not build from this.", "It is out of the set.")
    lacking = [answer for answer in four if not answer.answered]
    if not lacking and seal is not None and seal.counts:
        return Verdict(True, "Yes: build by its sealed drawing, which is attached.", words.sealed(seal))
    why = " ".join(f"{answer.what}: {answer.state}." for answer in lacking)
    return Verdict(False, f"No. Do not build from this: {_lacks(seal)}.", why)


def _lacks(seal: Seal | None) -> str:
    """What keeps one from building, of the seal first."""
    if seal is None:
        return "no sealed drawing is attached"
    if seal.missing:
        are = "is" if len(seal.missing) == 1 else "are"
        return f"its sealed drawing is attached, and {words.lacking(seal)} {are} missing"
    return "its sealed drawing is on record, and not every answer below passes"


def code(revision: Revision) -> str:
    """Six figures that are quickly read over the phone and lead to this revision among those of its job."""
    told = f"{revision.truss_id}:{revision.number}:{revision.sha256}"
    figures = int.from_bytes(hashlib.sha256(told.encode()).digest()[:8], "big") % 1_000_000
    return f"{figures // 1000:03d} {figures % 1000:03d}"


def what_changed(
    before: Revision,
    after: Revision,
    stands_on: Mapping[str, str],
    asked: Sequence[Issued] = (),
    lists: str = "on this sheet",
) -> list[str]:
    """The differences between two revisions of a mark, one sentence each; `stands_on` for each bearing what is known of
    that, `asked` the weights that the later one was issued for, `lists` where all loads and restraint of it stand."""
    compared = compare(before.analysis, after.analysis, before.document, after.document)
    told = [(one.weight.name, one.says) for one in asked]
    return changed.changes(compared, before.document, after.document, stands_on=stands_on, asked=told, lists=lists)


@dataclass(frozen=True)
class Pieces:
    """Sawn pieces that are alike, as the lumber list writes them. `panels` are for each piece the members that it is in
    the computation, from the left, where these are called otherwise; `length_in` runs from its first joint to its last.
    """

    names: tuple[str, ...]
    role: str
    lumber: str
    flat: bool
    length_in: float
    panels: tuple[tuple[str, ...], ...]


def pieces(design: Design) -> list[Pieces]:
    alike: dict[tuple[str, str, bool, int, int], list[SawnPiece]] = {}
    for piece in sawn_pieces(design.document):
        key = (words.ROLE[piece.role], piece.lumber, piece.flat, len(piece.panels), round(piece.length_in * 16))
        alike.setdefault(key, []).append(piece)
    return [
        Pieces(
            tuple(piece.name for piece in those),
            role,
            lumber,
            flat,
            those[0].length_in,
            tuple(piece.panels for piece in those if piece.panels != (piece.name,)),
        )
        for (role, lumber, flat, _, _), those in alike.items()
    ]


def accepted(revision: Revision) -> list[dict[str, Any]]:
    """The failed serviceability checks that a designer accepted, each with the ratio and the reason."""
    checks = {check["rule"]: check for check in revision.analysis["checks"] if not check["passes"]}
    return [{**accept, "check": checks.get(accept["rule"])} for accept in revision.accepts]


def copies_of(revision: Revision, copies: Sequence[Copy]) -> tuple[list[Copy], list[Copy]]:
    """The copies that this sheet is for, and those that were built to another revision.

    A copy that is not cut yet will be built to the current revision, whichever that is then.
    """
    current = revision.is_current
    mine = [copy for copy in copies if copy.built_to_id == revision.pk or (current and copy.built_to_id is None)]
    others = [copy for copy in copies if copy.built_to_id not in (None, revision.pk)]
    return mine, others


def numbers(copies: Iterable[Copy]) -> str:
    """Their numbers, runs shortened: 1–3, 5."""
    return runs(copy.number for copy in copies)


@dataclass(frozen=True)
class Space:
    """One opening of the document: what it is, whether it is clear of wood, what goes `through` it, and then the rows
    of restraint that it is in the way of."""

    id: str
    says: str
    fits: bool
    touches: tuple[str, ...]
    through: tuple[str, ...] = ()


def spaces(revision: Revision, through: Mapping[str, Sequence[str]]) -> list[Space]:
    fits = {fit["id"]: fit for fit in revision.analysis["openings"]}
    called, design = panel_names(revision.document), design_of(revision.document)
    return [
        Space(
            opening["id"],
            words.opening(opening),
            fits[opening["id"]]["fits"],
            tuple(called.get(member, member) for member in fits[opening["id"]]["touches"]),
            (*through.get(opening["id"], ()), *words.beside_openings(design, opening["id"])),
        )
        for opening in revision.document.get("openings", ())
    ]


def names_elsewhere(those: Iterable[str]) -> str:
    """The numbers that the names O1, O2 … of a drawing's openings leave out, such as 1–3: a name is kept for good, and
    others are of other requests or earlier revisions of the mark."""
    here = {int(found[1]) for one in those if (found := re.fullmatch(r"O([1-9]\d{0,3})", one))}
    return runs(set(range(1, max(here, default=0))) - here)


def by_revision(copies: list[Copy]) -> list[tuple[int, str]]:
    """(revision, numbers of the copies built to it), the oldest first."""
    revisions = sorted({copy.built_to.number for copy in copies if copy.built_to})
    return [
        (number, numbers([copy for copy in copies if copy.built_to and copy.built_to.number == number]))
        for number in revisions
    ]
