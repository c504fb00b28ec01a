"""What a mark's page shows of its copies: by stage, with what moves them on, and what was found of each."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from trusses.analysis.piece_names import told
from trusses.analysis.words import checks
from trusses.analysis.words.phrases import sentence
from trusses.copies import harmed, looks, trail, undoing
from trusses.copies.models import Look
from trusses.models import Copy, Revision, Stage, Truss
from trusses.permissions import STAGE_MOVES, next_stage
from trusses.plan.shown import places
from trusses.production import (
    FOUND_FIELDS,
    KeptOff,
    kept_from_saw,
    kept_off,
    never,
    unsaid,
    unsaid_says,
    what_is_open,
    without_seal,
)
from trusses.sealing import seals
from trusses.sheets import sheet
from trusses.words import runs
from trusses.words.copies import DAMAGE

TAPS: Mapping[str, str] = {
    Stage.BUILT: "Built",
    Stage.DELIVERED: "Delivered, as it should be",
    Stage.SET: "Set, as it should be",
}
"""What one tap says of one copy."""
_BEFORE_THE_SAW = (Stage.RELEASED, Stage.CUT)
_AFTER = {start: {"to": to.label, "by": role.label} for (start, to), role in STAGE_MOVES.items()}
"""What comes after a stage, and who says so."""


def stages_of(truss: Truss, copies: list[Copy], role: str | None) -> list[dict[str, Any]]:
    """The copies by stage, with the stage to which this person moves them on, if any, and what to know before. Those
    that are released to an earlier revision stand by themselves: they are released to the current one first."""
    current, groups, blocks = truss.current, [], seals.asked(truss.job).blocks
    moved = trail.of_family(truss)
    ticks = {next_stage(copy.stage, role) for copy in copies} & {*FOUND_FIELDS}
    known = looks.newest(truss.job_id) if ticks else 0
    for stage in Stage:
        here = [copy for copy in copies if copy.stage == stage]
        old = [copy for copy in here if stage == Stage.RELEASED and copy.released_to_id != current.pk]
        for group in (old, [copy for copy in here if copy not in old]):
            to = next_stage(stage, role)
            if group is old and to:
                to = Stage.RELEASED
            if group:
                numbers = sheet.numbers(group)
                told: dict[str, Any] = {
                    "asks_found": to in FOUND_FIELDS,
                    "points": looks.POINTS.get(to or "", ()),
                    "warns": _warns(to, current),
                    "never": _never(to, current),
                }
                kept = list(kept_from_saw(group)) if to == Stage.CUT else []
                off = list(kept_off(group)) if to == Stage.SET else []
                hurt = harmed.off(group) if to in FOUND_FIELDS else []
                told |= {"kept": kept, **_who_may(group, kept, off, hurt)}
                open_now = what_is_open(group) if to == Stage.SET else {}
                told["taps"] = [one for one in told["free"] if one.pk not in open_now] if to in TAPS else []
                told["known"] = known
                # nothing else is said of it than its button says
                told["one_tap"] = bool(told["alone"] and told["taps"]) and to not in FOUND_FIELDS
                stood = places(copy.pk for copy in group) if to == Stage.SET else {}
                told["stood"] = stood.items()
                told["tapped"] = [
                    {"pk": one.pk, "number": one.number, "stood": stood.get(one.pk, "")} for one in told["taps"]
                ]
                told["tap"] = TAPS.get(to or "", "")
                waits = unsaid(truss, group) if to in (Stage.BUILT, Stage.DELIVERED) else []
                told["later"] = [copy.pk for copy in waits]
                told["later_says"] = sentence(unsaid_says(truss, waits)) if waits else ""
                bare = without_seal(group, to or "")
                told["valid"] = bool(bare and to == Stage.CUT and (seal := seals.seal_of(current)) and seal.counts)
                told |= {"unsealed": sheet.numbers(bare), "blocked": bool(bare) and blocks, "after": _AFTER.get(stage)}
                hands = trail.hands(truss, group, moved)
                told["hands"] = [
                    {"hand": hand, "numbers": sheet.numbers(hand.copies), "until": undoing.until(hand.event)}
                    | {"open": undoing.open_to(role, hand.event) and hand.event.truss_id == truss.pk}
                    if hand.event
                    else {"hand": hand, "numbers": sheet.numbers(hand.copies)}
                    for hand in hands
                ]
                # what is set was built to a revision of its own, which another drawing may be sealed for
                told["bare_of"] = sheet.by_revision(bare) if to == Stage.SET else []
                groups.append(
                    {"stage": stage, "copies": group, "numbers": numbers, "to": to, "anew": group is old, **told}
                )
    return groups


def say_just(groups: list[dict[str, Any]], copy: Copy, just: undoing.Just) -> None:
    """Where the copy that somebody just tapped is, and in the row of the list that it left, stands what was said of it
    and no button: another tap on the same spot says nothing more."""
    was = just.event.values["from"] if just.event else ""
    for group in groups:
        if copy in group["copies"]:
            group["taps"] = [one for one in group["taps"] if one != copy]
            group["tapped"] = [one for one in group["tapped"] if one["pk"] != copy.pk]
            group["just"] = True
        elif group["taps"] and group["stage"] == was:
            group |= {"alone": None, "sound": sorted([*group["sound"], copy], key=lambda one: one.number)}
            group["left"] = True


def _who_may(group: list[Copy], kept: list[KeptOff], off: list[KeptOff], hurt: list[harmed.Off]) -> dict[str, Any]:
    """Which of some copies can't be chosen, which go where all are meant, and why others don't. What is damaged stands
    apart and never goes with all."""
    harm = {number for one in hurt for number in one.copies}
    held, not_set = ({copy.pk for one in those for copy in one.copies} for those in (kept, off))
    first = {copy.pk for one in off if one.asks for copy in one.copies}
    found = {copy.pk for one in off if one.why.code == "look-open" for copy in one.copies}
    for_good = {copy.pk for one in off if not one.asks and one.why.code != "look-open" for copy in one.copies}
    # what stands wrong is put right and ticked so, and of what asks for a word first somebody says that word: such a
    # copy is chosen by itself, never with all
    right = looks.to_put_right(group) if found else set()
    again = not_set - for_good - (found - right)
    waits = held | (not_set - again)
    return {
        "alone": group[0] if len(group) == 1 and group[0].pk not in held | not_set and not harm else None,
        "waits": waits,
        "kept_off": not_set,
        "asks": first & again - found,
        "asks_copies": _called(copy.number for copy in group if copy.pk in first & again),
        "ask_first": [one for one in off if one.asks and any(copy.pk in again for copy in one.copies)],
        "free": [copy for copy in group if copy.pk not in held | not_set and copy.number not in harm],
        "hurt": hurt,
        "all_hurt": harmed.together(hurt),
        "apart": [copy for copy in group if copy.number in harm],
        "sound": [copy for copy in group if copy.number not in harm],
        "off": [sentence(one.why.says) for one in off if not one.asks],
        "off_of_ticked": [sentence(one.why.says) for one in off if not one.asks and not _all_wait(one, waits)],
        "untickable": _untickable(kept, off, waits, harm),
    }


def _all_wait(one: KeptOff, waits: set[int]) -> bool:
    return all(copy.pk in waits for copy in one.copies)


def _untickable(kept: list[KeptOff], off: list[KeptOff], waits: set[int], harm: set[int]) -> list[tuple[str, str, str]]:
    """Copies that can't be ticked now, in words, each time with what is said in the tick's place and why."""
    found = []
    for one in (*kept, *off):
        those = [copy.number for copy in one.copies if copy.pk in waits and copy.number not in harm]
        if those and not one.asks:
            says = "The saw waits, as told above." if one in kept else sentence(one.why.says)
            found.append((_called(those), "held" if one in kept else "don’t set", says))
    return found


def _called(numbers: Iterable[int]) -> str:
    """Copy 3, copies 1–2 and 4, as one says them."""
    held = list(numbers)
    return f"cop{'y' if len(held) == 1 else 'ies'} {runs(held)}"


def before_the_saw(to: Stage, current: Revision) -> str:
    """Why nothing of a revision is released or cut, or what whoever does it must know; else empty."""
    return _never(to, current) or _warns(to, current)


def _warns(to: Stage | None, current: Revision) -> str:
    """What whoever lets a mark go to the saw must know, where the current revision fails a check; else empty."""
    if to not in _BEFORE_THE_SAW or current.analysis["passes"] or never(current):
        return ""
    return f"{sheet.fails_say(current)} Once {to} it may be built like this; ask the designer first."


def _never(to: Stage | None, current: Revision) -> str:
    """Why nothing of the current revision is released or cut; else empty."""
    worst = never(current) if to in _BEFORE_THE_SAW else None
    if worst is None:
        return ""
    place = checks.rule_of(told(current.document, worst))
    return f"{place[0].upper()}{place[1:]} stands at {worst['ratio']:.0%} of what is allowed: it can't be {to}."


def looks_of(copies: list[Copy]) -> list[dict[str, Any]]:
    """What was found of each copy, the newest first, and whether it keeps the copy from being set. Copies of which one
    hand found the same at once share a row, unless something is wrong, or was found wrong since."""
    rows = looks.of_this_wood(copies)[::-1]
    open_now = {look.pk for look in looks.open_looks(copies)} if rows else set()
    back = looks.taken_back(rows)
    names = {point.name: point for points in looks.POINTS.values() for point in points}
    groups: dict[Any, list[Look]] = {}
    wrong_since: dict[int, set[str]] = {}
    no_more: dict[int, list[str]] = {}
    for look in rows:
        found = wrong_since.setdefault(look.copy_id, set())
        no_more[look.pk] = [name for name in look.right if name in found]
        found.update(look.wrong)
        same = look.when, str(look.points), look.note, str(look.photos), look.by_id, look.at, str(no_more[look.pk])
        alike = *same, back.get(look.pk)
        groups.setdefault(look.pk if look.wrong else alike, []).append(look)
    return [
        {
            "look": those[0],
            "copies": [look.copy for look in those],
            "numbers": runs(look.copy.number for look in those),
            "keeps": those[0].pk in open_now,
            "back": back.get(those[0].pk),
            "damage": bool(DAMAGE.intersection(those[0].wrong)),
            "wrong": [f"{names[one].label}: {names[one].wrong}" for one in those[0].wrong if one in names],
            "right": [_right(names[one]) for one in those[0].right if one in names and one not in no_more[those[0].pk]],
            "no_more": [_right(names[one]) for one in no_more[those[0].pk] if one in names],
        }
        for those in groups.values()
    ]


def _right(point: looks.Point) -> str:
    return f"{point.label.lower()} {point.right}"
