"""What is refused of copies one by one, in words."""

COPIES = {
    "gone-how": ({}, "Say what was done with it: destroyed, or where it stands and how it is marked."),
    "gone-of-none": ({"mark": "K1"}, "K1 has no such old trusses; open its page once more and choose there."),
    "gone-not-anew": (
        {"mark": "K1", "copies": [3, 4]},
        "K1: copies 3–4 were not to be made anew then, so there is no such old truss of them. Leave them out.",
    ),
    "photos-too-many": ({"most": 6, "sent": 7}, "7 photos were sent; 6 can go with it."),
    "photo-too-large": ({"most_mb": 12}, "A photo can have 12 MB at most."),
    "photo-too-many-pixels": ({"most": 60}, "A photo can have 60 million pixels at most."),
    "photo-none": ({}, "That is no picture that can be read; send a JPEG, PNG or WebP."),
    "count-off": (
        {"counted": 3, "chosen": 4},
        "You counted 3 and chose 4: choose those that are here, or count again. Nothing was ticked.",
    ),
    "count-none": ({"given": "many"}, "“many” is no number of trusses that came."),
    "point-unknown": ({"point": "bow"}, "Say of bow whether it is right or wrong."),
    "photo-of-all": ({}, "A photo is of the trusses that it shows: choose these, and send it with them."),
    "look-open": (
        {"mark": "K1", "copies": [1], "what": ["plates"]},
        "K1: copy 1 is not set: it was found with plates wrong. Tell of the damage, so that its repair is sealed, or a"
        " designer says by name that it may be set.",
    ),
    "release-none": ({}, "Choose at least one mark to release."),
    "place-since": (
        {"mark": "K1", "copies": [2]},
        "K1: copy 2 got another place on the plan, or was turned, since the page was opened on which it was ticked."
        " Nothing was recorded as set. Look where it goes now, then tick; where it stands already as the page had it,"
        " call the designer.",
    ),
    "wrong-since": (
        {"mark": "K1", "copies": [2], "what": ["end"]},
        "K1: copy 2 was found with end wrong, by another hand, since the page was opened on which it was ticked as it"
        " should be. Nothing was recorded: read what was found, look again, then tick.",
    ),
    "open-since": (
        {"mark": "K1", "copies": [1, 2]},
        "K1: something was asked of copies 1–2 since the page was opened on which they were ticked. Nothing was"
        " recorded as set: read what is open, then tick.",
    ),
    "wall-moves": (
        {"mark": "K2", "copies": [3], "does": 'Request 4 asks to move grid B 8" up the plan under K1'},
        'K2: the wall under copy 3 moves or may move. Request 4 asks to move grid B 8" up the plan under K1, and'
        " nobody asked that for it. It is not set before the designer was asked: ask, then tick that you did, with whom"
        " you asked and what was said.",
    ),
    "wall-comes": (
        {"mark": "K2", "copies": [3, 4], "does": "Request 4 asks for a wall or post under K1, at grid B"},
        "K2: a wall comes or may come under copies 3–4, which have no bearing there. Request 4 asks for a wall or"
        " post under K1, at grid B. They are not set before the designer was asked how they are kept clear of it: ask,"
        " then tick that you did, with whom you asked and what was said.",
    ),
    "asked-whom": (
        {},
        "Say which designer you asked about the wall, and what was said: the record keeps it with your name.",
    ),
    "asked-late": (
        {"copies": [3]},
        "Copy 3 was set already, by another hand, so what a designer said can't be added. Leave it out here, and call"
        " the designer if it was not to be set.",
    ),
    "asked-tick": (
        {},
        "Tick that you asked the designer, or empty what was said: the words alone don’t say that you did.",
    ),
    "look-of-hurt": (
        {"mark": "K1", "copies": [2]},
        "K1: copy 2: damage was told of, so it isn’t told as sound. Tick it apart from the others, with what is wrong"
        " or that nobody looked.",
    ),
    "look-nothing": ({}, "Nothing wrong was found there."),
    "look-closed": ({}, "That is closed already; look at it again."),
    "look-says": ({}, "Say why it may be set; the record keeps it with your name."),
    "no-item": ({}, "Choose at least one row, hanger or tie."),
    "item-waits": (
        {"waits": ["R1-1", "R1-2", "R1-3", "R1-b-12"]},
        "Not in place until R1-1–3 and R1-b-12 are set.",
    ),
    "no-such-item": ({}, "There is no such row, hanger or tie of this mark today; look at the list again."),
    "anchored-where": ({"longest": 200}, "Say in up to 200 letters to what it is anchored: a row holds nothing alone."),
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
    "undo-left": (
        {"mark": "K1", "copies": [2, 3], "of": "K1-b"},
        "K1: copies 2–3 became K1-b since these were said to be cut, and that decision counted on it: it is not taken"
        " back.",
    ),
    "undo-moved-on": ({"mark": "K1", "copies": [1, 2]}, "K1: copies 1–2 went on since; take that back first."),
    "key-long": ({"length": 201, "most": 200}, "Idempotency-Key: has 201 characters; there can be 200."),
    "move-key-empty": ({}, "Idempotency-Key: is empty."),
    "key-of-another-act": ({"at": "Nov 3, 2026"}, "This Idempotency-Key was used on Nov 3, 2026 with another body."),
}
