"""The sentence of each refusal of a sealed drawing, with the values that it is made with."""

from __future__ import annotations

from typing import Any

SEALING: dict[str, tuple[dict[str, Any], str]] = {
    "pdf-none": ({}, "That is no PDF: the file doesn't begin as one."),
    "pdf-broken": ({}, "The PDF can't be read to its end; save it anew from the program that made it."),
    "pdf-locked": ({}, "The PDF is locked with a password or against reading; attach one that opens without."),
    "pdf-runs": (
        {"what": "JavaScript"},
        "The PDF holds something that runs, plays or carries another file (JavaScript); attach plain pages.",
    ),
    "pdf-too-large": ({"most_mb": 10}, "The PDF is larger than 10 MB."),
    "pdf-too-many-pages": (
        {"pages": 30, "most": 12},
        "The PDF has 30 pages; attach those of this truss alone, 12 at most.",
    ),
    "pdf-too-much": (
        {"most": 20000},
        "The PDF has more in it than is read here (20,000 objects); save it anew, as plain pages.",
    ),
    "seal-needs": ({"what": "sealed_by"}, "Say who sealed it: the name on the seal, in one line."),
    "seal-unprintable": (
        {"given": "J\x07 Doe"},
        '"J\\x07 Doe" holds a character that can\'t be printed; type it anew.',
    ),
    "seal-text-long": ({"length": 130, "most": 120}, "That has 130 characters; there can be 120."),
    "licence-state": ({"given": "ZZ"}, "Give the state of the license by its two letters, such as CO."),
    "no-such-day": ({"on": "2027-01-04"}, "Jan 4, 2027 can't be the day: give one that has been, not after today."),
    "covers-unknown": (
        {"given": "roof"},
        "A sealed drawing covers plates, restraint, both or neither beside the lumber.",
    ),
    "sealed-before-it": (
        {"number": 1, "issued": "2026-11-20", "sealed_on": "2026-11-03"},
        "Revision 1 was issued on Nov 20, 2026; a drawing sealed on Nov 3, 2026 is of an earlier one.",
    ),
    "sealed-for-another": (
        {"mark": "K1", "number": 0, "by": "A Name", "on": "2026-11-03"},
        "That very file is on record for K1 revision 0, attached by A Name on Nov 3, 2026: each revision needs one of"
        " its own.",
    ),
    "sealed-elsewhere": (
        {
            "others": [
                {"mark": "R3", "number": 0, "by": "A Name", "on": "2026-11-03"},
                {"mark": "R5", "number": 1, "by": "Another", "on": "2026-11-04"},
            ],
            "mark": "K1",
            "number": 2,
        },
        "That very file is on record for R3 revision 0 (attached by A Name on Nov 3, 2026) and R5 revision 1 (attached"
        " by Another on Nov 4, 2026). It is taken only once you looked into it and say that it shows K1, revision 2, as"
        " well.",
    ),
    "sealed-already": (
        {"mark": "K1", "number": 0},
        "Revision 0 of K1 has a sealed drawing: correct it by replacing it, with the reason.",
    ),
    "sealed-late": (
        {"mark": "K1", "number": 0, "current": 1},
        "K1 has revision 1 now, so nothing was attached to revision 0. What is drawn of revision 0 counts only for"
        " copies that are built to it.",
    ),
    "sealed-withdrawn-mark": ({"mark": "K1"}, "K1 is withdrawn: nothing was attached to it."),
    "sealed-by-another": (
        {"mark": "K1", "number": 0, "by": "A Name"},
        "The PDF chosen for K1 revision 0 was not attached: another is, by A Name. If yours is right, it replaces that"
        " one, with the reason.",
    ),
    "seal-stands-no-more": ({}, "What it would replace counts no more; look at it again."),
    "seal-unchanged": ({}, "That is the drawing which is attached already, with the same said of it."),
    "seal-withdrawn": ({}, "That drawing is withdrawn: nothing more is recorded of it."),
    "before-the-seal": (
        {"on": "2026-11-02", "sealed_on": "2026-11-03"},
        "Nov 2, 2026 is before it was sealed, on Nov 3, 2026.",
    ),
    "recorded-already": (
        {"kind": "accepted"},
        "Its acceptance by the building department is recorded already; look at it again.",
    ),
    "recorded-by-another": (
        {"mark": "R1", "number": 2, "by": "Builder", "name": "An invented reviewer", "on": "2027-01-04"},
        "What you typed of R1 revision 2 was not recorded: Builder recorded An invented reviewer, Jan 4, 2027,"
        " already.",
    ),
    "record-late": (
        {"mark": "R1", "number": 2, "current": 3},
        "R1 has revision 3 now. What is decided of the drawing of revision 2, which counts only for copies that are"
        " built to it, is recorded on its own page.",
    ),
    "record-withdrawn": (
        {"mark": "R1", "number": 2},
        "The drawing of R1 revision 2 is withdrawn: nothing more is recorded of it.",
    ),
    "record-withdrawn-mark": ({"mark": "R1"}, "R1 is withdrawn: nothing was recorded of its drawing."),
    "carried-out-own": (
        {"own": "Site Lead"},
        "Whoever looked at the repair records it, in their own name: you are Site Lead. If somebody else looked at it,"
        " that person records it.",
    ),
    "carried-out-early": (
        {"lacks": ["reviewed", "accepted"]},
        "Not before its review by the building designer and its acceptance by the building department are recorded:"
        " this job asks for that, and a repair is carried out by the drawing that has it. If it is carried out already,"
        " call the designer; the truss stays off limits.",
    ),
    "carried-out-before": (
        {"on": "2026-11-02", "since": "2026-11-03"},
        "Nov 2, 2026 is before its drawing had the review and acceptance that this job asks for, on Nov 3, 2026. If it"
        " was carried out then, call the designer; the truss stays off limits.",
    ),
    "no-such-record": ({}, "Recorded are a review, an acceptance, and of a repair that it is carried out."),
    "seal-without": (
        {"choices": ["blocks", "warns"]},
        "Without a sealed drawing the job does one of these: blocks and warns.",
    ),
    "seal-altered": (
        {},
        "The file on disk isn't the one that was attached; it is not handed out. Attach it anew.",
    ),
    "not-sealed": (
        {"mark": "K1", "copies": [1, 2, 3], "to": "cut"},
        "K1: copies 1–3 can't be cut: no sealed drawing of their revision is on record, with all that this job asks of"
        " one and all that the sheet leaves to it.",
    ),
    "paper-code-ended": (
        {},
        "This code was withdrawn meanwhile; the papers printed since have another.",
    ),
    "paper-code-reason": (
        {},
        "Say why the code is withdrawn.",
    ),
}
