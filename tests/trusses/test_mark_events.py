"""What happened to a mark, in words: a sentence for each code, and no code without one."""

from __future__ import annotations

import pytest

from trusses import words
from trusses.models import MarkEvent

ROW = {"x_in": 24, "y_in": -12, "direction": "y", "spacing_in": 24, "count": 3}
SEALED = {"revision": 0, "copies": [], "sha256": "0123456789ab"}
TOLD = [
    (
        "old one gone",
        {"event": 7, "copies": [10], "reason": "Sawn up behind the shop."},
        "The old truss of copy 10: destroyed or set apart",
    ),
    (
        "moved",
        {"from": "designing", "to": "released", "copies": [1, 2, 3, 5], "revision": 0, "found": ""},
        "Copies 1–3, 5: designing → released, to revision 0",
    ),
    ("moved", {"from": "delivered", "to": "set", "copies": [4], "revision": None}, "Copy 4: delivered → set"),
    (
        "moved",
        {"from": "released", "to": "released", "copies": [2, 1], "revision": 1},
        "Copies 1–2: released anew, to revision 1",
    ),
    (
        "moved",
        {"from": "released", "to": "cut", "copies": [1, 2], "revision": 0, "unsealed": [2]},
        "Copies 1–2: released → cut, to revision 0, 2 of them without a sealed drawing that counts",
    ),
    (
        "moved",
        {"from": "delivered", "to": "set", "copies": [1, 2], "revision": 0, "asked": "D: shored", "asked_of": [2]},
        "Copies 1–2: delivered → set, to revision 0, the designer asked first about the wall under copy 2",
    ),
    (
        "looked at",
        {"copies": [1, 2], "when": "delivered", "wrong": ["bow", "plates"]},
        "Copies 1–2 looked at when delivered: bow, plates wrong",
    ),
    ("looked at", {"copies": [1], "when": "set", "wrong": []}, "Copy 1 looked at when set: nothing wrong"),
    (
        "may be set",
        {"copies": [1], "wrong": ["bow"], "reason": "It straightens"},
        "Copy 1: what was found (bow) is closed by name",
    ),
    (
        "taken back",
        {"event": 7, "from": "set", "to": "delivered", "copies": [1, 2], "reason": "The wrong row"},
        "Copies 1–2: set → delivered, taken back",
    ),
    (
        "earlier",
        {"copies": [1], "what": "stays", "current": 1, "revision": 0, "reason": "It fits"},
        "Copy 1, built to an earlier revision than 1: stays by it",
    ),
    (
        "made anew",
        {"copies": [1, 2], "from": "cut", "to": "designing", "revision": 0, "current": 1, "reason": "Too short"},
        "Copies 1–2: made anew to revision 1; what was built to revision 0 is not used",
    ),
    (
        "old one gone",
        {"copies": [1, 2], "event": 7, "reason": "Sawn up"},
        "The old trusses of copies 1–2: destroyed or set apart",
    ),
    (
        "sealed",
        SEALED | {"name": "A name", "on": "2026-11-03"},
        "Sealed drawing of revision 0 attached, sealed by A name on Nov 3, 2026 (SHA-256 0123456789ab…)",
    ),
    (
        "reviewed",
        SEALED | {"name": "A name", "on": "2026-11-03"},
        "Sealed drawing of revision 0 reviewed for the building designer by A name on Nov 3, 2026 (SHA-256"
        " 0123456789ab…)",
    ),
    (
        "reviewed",
        SEALED | {"name": "A name", "on": "2026-11-03", "told_by": "letter 7"},
        "Sealed drawing of revision 0 reviewed for the building designer by A name on Nov 3, 2026, as told by letter 7"
        " (SHA-256 0123456789ab…)",
    ),
    (
        "accepted",
        SEALED | {"name": "A name", "on": "2026-11-03"},
        "Sealed drawing of revision 0 accepted for the building department by A name on Nov 3, 2026 (SHA-256"
        " 0123456789ab…)",
    ),
    (
        "carried out",
        SEALED | {"copies": [2, 3], "name": "A name", "on": "2026-11-03"},
        "Sealed repair of copies 2–3 carried out, looked at by A name on Nov 3, 2026 (SHA-256 0123456789ab…)",
    ),
    (
        "seal covers",
        {"revision": 0, "copies": [], "sha256": "0123456789ab", "name": "D", "on": "2026-11-03", "what": "plates"},
        "Sealed drawing of revision 0 said to cover the plates as well, by D on Nov 3, 2026 (SHA-256 0123456789ab…)",
    ),
    (
        "seal withdrawn",
        SEALED | {"reason": "typed"},
        "Sealed drawing of revision 0 withdrawn: it counts no more (SHA-256 0123456789ab…)",
    ),
    (
        "shifted",
        {"moved": {"10": -4.5, "3": 2.25}, "out": [4]},
        'Moved on the plan: copy 3 by 2 1/4" up the row; copy 10 by 4 1/2" down the row; copy 4 left out',
    ),
    ("corrected", {"before": 0, "after": 1, "reason": "typed"}, "Corrected: revision 1 in place of revision 0"),
    ("withdrawn", {"revision": 2, "reason": "typed"}, "Withdrawn with its revision 2"),
    ("counted", {"before": 3, "after": 5}, "5 copies in place of 3"),
    (
        "copies turned",
        {"copies": [2, 3], "turned": [2, 3], "about_in": {"2": 120.0, "3": 120.0}},
        "Copies 2–3, turned end for end: its design serves them so",
    ),
    ("copies left", {"copies": [2, 3], "turned": [], "to": "K1-b"}, "Copies 2–3: K1-b now"),
    (
        "copies came",
        {"copies": [2, 3], "turned": [3], "from": "K1", "revision": 4},
        "Copies 2–3, 3 of them turned end for end: came from K1 revision 4",
    ),
    (
        "copies came",
        {"copies": [2], "turned": [2], "from": "K1", "revision": 4},
        "Copy 2, turned end for end: came from K1 revision 4",
    ),
    ("ended", {}, "Without copies: it has ended, its record stays"),
    (
        "placed",
        {"level": "Roof", "before": None, "after": ROW},
        'A place on Roof: 3 up the plan from 2\'-0" right, −1\'-0" up, 24" apart',
    ),
    (
        "placed",
        {"level": "Roof", "before": ROW, "after": None},
        'Taken from Roof: 3 up the plan from 2\'-0" right, −1\'-0" up, 24" apart',
    ),
    (
        "placed",
        {"level": "Roof", "before": ROW, "after": ROW | {"count": 1}},
        "On Roof: 1 up the plan from 2'-0\" right, −1'-0\" up, was 3 up the plan from 2'-0\" right, −1'-0\" up,"
        ' 24" apart',
    ),
]


@pytest.mark.parametrize(("code", "values", "says"), TOLD)
def test_one_line_of_what_happened(code, values, says):
    assert MarkEvent(code=code, values=values).told == says


def test_every_code_has_words_and_no_words_lack_a_code():
    assert set(MarkEvent.Code.values) == words.MARK_EVENTS.keys() == {code for code, _, _ in TOLD}
