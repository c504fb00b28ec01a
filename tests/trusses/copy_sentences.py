"""What is refused of copies one by one, in words."""

COPIES = {
    "earlier-unsaid": (
        {"mark": "K1", "copies": [1, 2], "current": 1},
        "K1: copies 1–2 are built to an earlier revision than 1, and are not set before a designer says that they stay"
        " by it.",
    ),
    "earlier-what": ({}, "Say what is to be done: they stay, they wait, or they are made anew."),
    "earlier-none": (
        {"mark": "K1", "copies": [3], "current": 1},
        "K1: copy 3 is not built to an earlier revision than 1.",
    ),
    "earlier-reason": ({}, "Say why; whoever stands before these trusses reads it."),
    "reason-long": ({"length": 501, "most": 500}, "That has 501 characters; there can be 500."),
    "no-such-move": ({}, "There is no such move of copies of this mark to take back."),
    "undo-late": (
        {"hours": 24},
        "That was said more than 24 hours ago, and is not taken back any more. Ask the designer.",
    ),
    "undo-overtaken": (
        {"mark": "K1", "number": 1},
        "K1 has got revision 1 since these copies were said to be cut, and that decision counted on it. What is to be"
        " done with them a designer says on the mark’s page.",
    ),
    "undo-moved-on": ({"mark": "K1", "copies": [1, 2]}, "K1: copies 1–2 went on since; take that back first."),
    "key-long": ({"length": 201, "most": 200}, "Idempotency-Key: has 201 characters; there can be 200."),
    "key-empty": ({}, "Idempotency-Key: is empty."),
    "key-of-another-act": ({"at": "Nov 3, 2026"}, "This Idempotency-Key was used on Nov 3, 2026 with another body."),
}
