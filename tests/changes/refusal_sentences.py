"""For each code that the change refuses with, values and the sentence that they give."""

AT = ["2026-11-03T21:05:00+00:00", "America/Denver"]
NO_BEARING = {"code": "no-bearing-at-joint", "place": "", "values": {"mark": "K5", "joint": "C"}}
SENTENCES = {
    "not-text": (
        {},
        "must be text.",
    ),
    "too-many-characters": (
        {"length": 2345, "most": 2000},
        "2,345 characters are more than the limit of 2,000.",
    ),
    "unprintable": (
        {},
        "holds a character that can't be printed.",
    ),
    "say-what-for": (
        {},
        "Say in a sentence what it is for; the designer decides by it.",
    ),
    "answer-needed": (
        {},
        "Answer the designer's question in a sentence.",
    ),
    "key-empty": (
        {},
        "Idempotency-Key: is empty.",
    ),
    "say-why-revised": (
        {},
        "Say why the truss is revised; the record keeps it.",
    ),
    "ask-the-builder": (
        {},
        "Ask a question; sending back needs one.",
    ),
    "say-why-declined": (
        {},
        "Say why; declining needs a reason.",
    ),
    "say-why-no-hold": ({}, "Say why the saw can't wait; who asked for the hold reads it."),
    "leaving-needs-a-reason": ({}, "Say why some of what was asked is left as it is."),
    "leaves-all": ({}, "decide at least one; where all is left as it is, decline with the reason."),
    "left-together": (
        {"mark": "R1", "copies": [2, 3]},
        "R1, copies 2 and 3: the option that was chosen has what is to be left too; leave both, or neither.",
    ),
    "accepting-needs-a-reason": (
        {},
        "Accepting a failed check needs a reason; the sheet repeats it.",
    ),
    "no-ask": (
        {},
        "A request needs at least one ask: a truss and an opening in it.",
    ),
    "too-many-asks": (
        {"asks": 41, "most": 40},
        "41 asks are more than the limit of 40 in one request.",
    ),
    "asked-twice": (
        {"mark": "K1", "other": "asks[0]"},
        "asks the same of K1 as asks[0].",
    ),
    "openings-overlap": (
        {"one": "O2", "two": "O1", "other": "asks[0]", "mark": "K1", "by_in": 3},
        'opening O2 overlaps opening O1 of asks[0] in K1 by 3", with the clear space of both; move one of the'
        " two, or ask for one opening.",
    ),
    "ask-no-object": (
        {"given": []},
        "must be an object with a truss, a kind and an opening, not a list.",
    ),
    "copies-no-list": (
        {"mark": "K1", "given": 2},
        "must be a list of numbers of copies of K1, not 2.",
    ),
    "no-such-copy": (
        {"mark": "K1", "given": 9, "copies": [1, 2, 3, 5]},
        "K1 has no copy 9; it has copies 1 to 3 and 5.",
    ),
    "copies-cut": (
        {"mark": "K1", "copies": [1, 2]},
        "Copies 1 and 2 of K1 are cut already. What remains for them is a repair request or a new truss; call the"
        " truss designer.",
    ),
    "carrier-apart": (
        {
            "mark": "G1",
            "standing": ["K5", "K6"],
            "why": {
                "code": "not-in-plan",
                "place": "",
                "values": {"unplaced": "K5", "mark": "K5", "carrier": "G1"},
            },
        },
        "other trusses stand on G1 (K5 and K6), and which of them on which copy isn't known, so its copies change all"
        " or none. K5 has no place in plan, so where K5 lands on G1 can't be seen: place it, or name the bottom-chord"
        " members of G1 and the distances. Or ask for all copies.",
    ),
    "answered-apart": (
        {"mark": "K1", "kind": "load", "other": "asks[0]"},
        "a load and what asks[0] asks of the same copies of K1 are answered apart; send it as a request of its own.",
    ),
    "no-such-kind": (
        {"kinds": ["opening", "load", "bearing", "damage"]},
        "must be opening, load, bearing or damage.",
    ),
    "damage-ends-by": (
        {"choices": ["repair", "new truss"]},
        "say what ends the damage: must be repair or new truss.",
    ),
    "repair-without-drawing": ({}, "attach the sealed repair first, as a PDF; without it the truss is not set."),
    "repairs-no-damage": ({}, "a repair is attached to damage that was told of in this request."),
    "option-barred": (
        {"mark": "R1", "option": 7, "found": [{"code": "designer-drew", "values": {}}]},
        "R1: option 7 can't be approved. A designer drew a redesign that is clear and passes.",
    ),
    "keep-off-alone": (
        {},
        "what stays off limits is said of damage alone; this request also asks for another design, which isn't decided"
        " yet. Decide that first, in a request of its own.",
    ),
    "repairs-several": (
        {"mark": "R1", "copies": [3, 4]},
        "R1: copies 3 and 4 are recorded as built to more than one revision by now. Have the request computed again.",
    ),
    "damaged-built-since": (
        {"mark": "R1", "copies": [3, 4]},
        "R1: this was worked out from another revision than copies 3 and 4 are recorded as built to by now. Have the"
        " request computed again.",
    ),
    "repairs-other": (
        {"mark": "R1", "copies": [3]},
        "R1: this was worked out from another revision than copy 3 is recorded as built to by now. Have the request"
        " computed again.",
    ),
    "repairs-other-decided": (
        {"mark": "R1", "copies": [3, 4]},
        "R1: this was worked out from another revision than copies 3 and 4 are recorded as built to by now. Keep off"
        " again with the reason, then compute again: its repair is another one.",
    ),
    "repairs-left-out": (
        {},
        "the damage was told of before the answer to the question, which tells of none, so no repair can be attached"
        " to it. Keep off, and have the damage told of again in a request of its own.",
    ),
    "repairs-nothing-withdrawn": ({}, "this request was withdrawn; nothing is attached to it."),
    "nothing-to-move": (
        {"request": 7},
        "Request 7 asks for nothing on the plan, or somebody moved it already.",
    ),
    "repair-lacks": (
        {"mark": "K1", "copies": [3], "request": 7, "lacks": ["carried out"]},
        "K1: copy 3 can't be set: of the sealed repair of request 7 who looked at it, carried out as drawn, isn't"
        " recorded. If it can't be carried out, tell of the damage again: a designer ends it by a new truss.",
    ),
    "ends-no-damage": ({}, "no damage is ended here, so nothing is attached to it."),
    "wish": (
        {"why": {"code": "bearing-not-of-truss", "place": "", "values": {"mark": "K1", "joint": "Q"}}},
        'K1 has no bearing at joint "Q".',
    ),
    "one-at-a-time": (
        {"kind": "load", "mark": "K1", "other": "asks[0]"},
        "a load is asked of the same copies of K1 as in asks[0]: each is answered by itself, so send them one after the"
        " other.",
    ),
    "weight-both-ways": (
        {"mark": "K1", "copies": [3], "others": [1, 2]},
        "in plan copy 3 is turned end for end to copies 1 and 2 of K1, so one weight over all of them lies at two"
        " places of their drawing. Name the copies that stand one way alone.",
    ),
    "weighs-nothing": ({}, "a weight is more than 0 lb."),
    "needs-a-length": ({"shape": "pair"}, "a pair needs its length along the span."),
    "row-too-short": (
        {"mark": "K1"},
        "K1 needs three copies in one row, some distance apart, for something to go between them.",
    ),
    "damaged-copies": ({"mark": "K1"}, "name the copies of K1 that are damaged."),
    "photos-no-list": ({"most": 6}, "must be the numbers of at most 6 photos that were sent for this job."),
    "no-such-photo": ({}, "no such photo was sent for this job."),
    "photo-missing": ({}, "Choose a photo."),
    "asks-nothing": ({}, "ask something."),
    "drawing-has-no-level": ({}, "a place on a truss's drawing has no level; a place on the plan has."),
    "place-on-no-drawing": ({}, "a place on a drawing needs the mark whose drawing it is."),
    "say-the-answer": ({}, "Write your answer."),
    "say-what-was-done": (
        {},
        "Say what answers it: of a question your answer; of damage the number and the seal of the repair drawing, or"
        " which new truss takes its place; of a run that asks for no change, that you looked at it.",
    ),
    "copy-damaged": (
        {"mark": "K1", "copies": [3], "request": 7},
        "K1: copy 3 can't be set: damage was told of in request 7, and no sealed repair or new truss ended it.",
    ),
    "undo-damaged": (
        {"mark": "K1", "copies": [3], "request": 7},
        "K1: copy 3: damage was told of in request 7, so the cut isn't taken back: a repair counts for this wood alone."
        " Where another is cut in its place, a designer ends the damage by a new truss.",
    ),
    "not-of-an-ask": (
        {"key": "state"},
        "state is not something that an ask has.",
    ),
    "no-number-of-a-truss": (
        {"given": "K1"},
        'must be the number of a truss, not the text "K1".',
    ),
    "without-a-revision": (
        {},
        "this mark has no revision yet.",
    ),
    "past-change": (
        {"closed": {"code": "all-cut", "values": {"mark": "K1", "copies": 3}}},
        "All 3 copies of K1 are cut already. What remains is a repair request or a new truss; call the truss designer.",
    ),
    "withdrawn-from-the-set": (
        {"mark": "K1"},
        "K1 is withdrawn from the set; call the truss designer.",
    ),
    "opening": (
        {"why": {"code": "length-comma", "place": "", "values": {"shown": "1,5"}}},
        "1,5: write the decimal with a point, not a comma.",
    ),
    "lies-outside": (
        {"away_in": 27, "mark": "K1"},
        "lies 2'-3\" outside of truss K1, which has nothing there; move it to where it crosses the truss.",
    ),
    "larger-than-the-truss": (
        {"size_in": 300, "across": "wide", "clearance_in": 1, "mark": "K1", "longest_in": 264},
        '25\'-0" wide with 1" of clearance is more than the whole truss K1, which is 22\'-0" long.',
    ),
    "run": (
        {"why": {"code": "run-few-points", "place": "", "values": {"points": 1}}},
        "a run needs two points at least, and has 1 point.",
    ),
    "run-level": (
        {"level": "Cellar", "levels": ["Floor", "Roof"]},
        'nothing stands on a level "Cellar"; the plan has Floor and Roof.',
    ),
    "run-crosses-nothing": (
        {"level": "Roof"},
        "it crosses no truss on Roof: draw it through the trusses that it has to pass.",
    ),
    "run-asks-nothing": (
        {},
        "all that it crosses is cut already, and it goes through none of that, so that there is nothing to ask.",
    ),
    "run-in-cut": (
        {"mark": "K1", "copies": [2, 3], "how": "in the way"},
        "Copies 2 and 3 of K1 are cut already, and the run doesn't get through as built. Move the run, or ask without"
        " them: what remains there is a repair or a new truss.",
    ),
    "run-without": (
        {"given": 3},
        "must be a list of cut copies that it doesn't get through, such as R3-2, not 3.",
    ),
    "run-without-other": (
        {"given": "K1-3"},
        "the text \"K1-3\" is no cut copy that the run doesn't get through, so it isn't left out of it.",
    ),
    "run-together": ({"given": 3}, "must be true or false, not 3."),
    "run-corner": (
        {"corner": 2, "name": "K1-2", "has_in": 6, "needs_in": 8.75, "moves": [[2.75, 0], [0, -14.75]]},
        'corner 2 stands in K1-2: it needs 8 3/4" to the middle of that truss and has 6".'
        ' It is clear 2 3/4" to the right or 1\'-2 3/4" down on the plan.',
    ),
    "run-meets-itself": (
        {"beside": ["K1-2", "K1-2"], "path_in": 30, "within_in": [20, 40], "by_in": 1},
        'it comes into itself, in K1-2, 2\'-6" along it: 1" too near there, with the clear space on both sides. One of'
        " its pieces has to move, or goes up or down at a corner.",
    ),
    "run-shares-itself": (
        {"name": "K1-2", "by_in": 0.25},
        'two of its openings come 1/4" into each other in K1-2: copies that it crosses nearly alike, or that are to be'
        " of one design, share an opening that holds all of theirs. Its pieces have to be farther apart there.",
    ),
    "run-beside": (
        {"leg": 1, "names": ["K1-1", "K1-2"], "bay_in": 22.5, "needs_in": 23},
        "piece 1 runs along K1-1 and K1-2 and lies in their wood: it needs 1'-11\", where 1'-10 1/2\" are clear between"
        " the trusses. Move it into the middle of a bay, or make it narrower.",
    ),
    "no-such-date": (
        {"typed": "soon"},
        "'soon' is not a date such as 2026-11-30.",
    ),
    "needs-a-date": (
        {},
        "the request needs a date.",
    ),
    "date-past": (
        {"date": "2026-11-30", "today": "2026-12-01"},
        "Nov 30, 2026 is past; today is Dec 1, 2026 at the building.",
    ),
    "date-far-off": (
        {"date": "9999-12-31"},
        "Dec 31, 9999 is more than a hundred years away.",
    ),
    "another-body": (
        {"request": 7, "at": AT},
        "This Idempotency-Key made request 7 on Nov 3, 2026 at 2:05 PM MST from another body.",
    ),
    "link-for-nobody": ({}, "Say for whom the link is."),
    "link-days": ({"most": 365}, "A link is good for 1 to 365 days."),
    "link-ended": ({}, "This link has ended. Ask the builder or the truss designer for a new one."),
    "corrections-too-many": (
        {"most": 50},
        "50 corrections are open; more are taken once some of them are accepted.",
    ),
    "correction-moved": ({}, "Something was said of it meanwhile: read that first, then say it again."),
    "correction-of-another": ({}, "It came by another inspector’s link: what was done is accepted by that one."),
    "correction-has-an-inspector": (
        {},
        "It is closed without the inspector’s word only once it is answered and no link is left by which the inspector"
        " could accept that.",
    ),
    "not-yet-because": ({}, "Say what is still to be done."),
    "correction-sent": (
        {},
        "This form was sent already, with other words; those stand. Send these with a new one, from the page loaded"
        " anew.",
    ),
    "correction-answered": ({}, "Somebody answered it meanwhile; their answer stands."),
    "place-offered-no-more": ({}, "That place isn't offered any more: load the page anew."),
    "line-moves-only": (
        {},
        "another line lies elsewhere or at another height, and keeps all else of the run that was asked for; say in"
        " words what else is to be different.",
    ),
    "moves-openings-only": (
        {},
        "Only openings and runs are moved by one tap; say in words what is to be different of the rest.",
    ),
    "line-offered-no-more": ({}, "That line isn't asked about any more: load the page anew."),
    "lines-when-sent-back": (
        {},
        "another line is asked about when a request is sent back, not with another decision.",
    ),
    "line-as-asked": ({}, "that is the line that was asked for; give another one."),
    "asked-already": (
        {"request": 7, "state": "filed"},
        "You asked exactly this already: request 7 is filed.",
    ),
    "damage-stays": (
        {"request": 7},
        "The damage that request 7 tells of isn't taken back: a designer ends it, who declines where the truss isn't"
        " damaged.",
    ),
    "nothing-moved": (
        {"request": 7},
        "Request 7 is computed from today's revisions; nothing changed since.",
    ),
    "no-revision-yet": (
        {"mark": "K1"},
        "K1 has no revision yet.",
    ),
    "no-such-state": (
        {"states": ["filed", "computing"]},
        "must be filed, computing.",
    ),
    "no-such-verdict": (
        {"choices": ["approve", "send back", "decline"]},
        "must be approve, send back or decline.",
    ),
    "nobody-accepts": (
        {"rule": "bending", "can": ["live deflection", "total deflection"]},
        "bending can't be accepted by anyone; only live deflection and total deflection can.",
    ),
    "two-options": (
        {"mark": "K1"},
        "K1: its asks share one option; two were chosen.",
    ),
    "nothing-to-draw": (
        {"ask": 7, "kind": "question"},
        "ask 7 (question) is answered in words; no truss is drawn for it.",
    ),
    "no-option": (
        {"ask": 3, "mark": "K1"},
        "choose an option that answers ask 3 (K1).",
    ),
    "option-of-another-ask": (
        {"option": 9, "ask": 3, "mark": "K1"},
        "option 9 does not answer ask 3 (K1).",
    ),
    "copies-moved": (
        {"mark": "K1", "copies": [2, 3]},
        "K1 lost copies 2 and 3 to another mark since. Have the request computed again.",
    ),
    "copies-cut-since": (
        {"mark": "K1", "copies": [2]},
        "K1: copy 2 cut since, so the design stays there. Have the request computed again.",
    ),
    "run-made-anew-since": (
        {"mark": "K1", "copies": [2]},
        "Copy 2 of K1 isn't as when the run was asked for, which was to go through as built: it was made anew since, or"
        " went from that place. The run has to be asked for anew.",
    ),
    "run-in-cut-since": (
        {"mark": "K1", "copies": [2], "how": "damaged"},
        "Copy 2 of K1 is cut by now, and damage was told of it, so that nobody knows by the drawing what is there. The"
        " run has to be asked for anew, moved or without it: what remains there is a repair or a new truss.",
    ),
    "option-overtaken": (
        {"mark": "K1", "number": 1, "at": AT, "by": "Dana Plate, designer", "option": 9, "computed_from": 0},
        "K1 has revision 1 since Nov 3, 2026 at 2:05 PM MST by Dana Plate, designer; option 9 was computed"
        " from revision 0. Have the request computed again.",
    ),
    "option-stale": (
        {"mark": "K1", "option": 9},
        "K1: option 9 is of an earlier computation; choose from the current one.",
    ),
    "option-unsound": (
        {"mark": "K1", "option": 9, "found": [{"code": "not-analysed", "values": {"trouble": "no joints"}}]},
        "K1: option 9 can't be approved. It can't be analysed: no joints.",
    ),
    "option-not-computed": (
        {"mark": "K1", "option": 9},
        "K1: option 9 can't be approved. It is not computed yet.",
    ),
    "option-of-another-document": (
        {"mark": "K1", "option": 9},
        "K1: the analysis of option 9 belongs to another truss document; nothing is approved on it.",
    ),
    "option-unchanged": (
        {"mark": "K1", "option": 9},
        "K1: option 9 is today's truss, unchanged; there is nothing to issue.",
    ),
    "option-lacks": (
        {"mark": "K1", "option": 9, "kind": "opening", "name": "O1"},
        "K1: option 9 lacks the opening O1 that was asked for.",
    ),
    "option-blocked": (
        {"mark": "K1", "option": 9, "openings": ["O1", "O2"]},
        "K1: in option 9 the opening O1 and O2 is not clear.",
    ),
    "option-asks-less": (
        {
            "mark": "K1",
            "option": 9,
            "first": {"code": "plies", "values": {"before_plies": 2, "after_plies": 1}},
            "more": 2,
        },
        "K1: option 9 is designed for less than today's truss: 1 ply, today 2 plies. (and 2 more) Issuing"
        " it needs a reason.",
    ),
    "option-not-passing": (
        {"mark": "K1", "option": 9, "found": ["Spans of 60 ft and more wait."]},
        "K1: option 9 is not offered as passing. Spans of 60 ft and more wait.",
    ),
    "option-fails": (
        {
            "mark": "K1",
            "of": "member",
            "id": "B1",
            "object": "member B1.1",
            "rule": "bending",
            "ratio": 1.234,
            "combination": "D + S",
        },
        "K1: bending of member B1.1 fails at 123% of what is allowed (D + S); nobody can accept that.",
    ),
    "accept-by-name": (
        {"mark": "K1", "rule": "total deflection"},
        "K1: total deflection fails; accept it by name with a reason, or choose another.",
    ),
    "revised-since": (
        {"mark": "K1", "number": 1, "at": AT, "by": "Dana Plate, designer"},
        "K1 has revision 1 since Nov 3, 2026 at 2:05 PM MST by Dana Plate, designer. Look at the request"
        " again, then decide.",
    ),
    "carrier-revised": (
        {
            "mark": "G1",
            "number": 1,
            "at": AT,
            "by": "Dana Plate, designer",
            "option": 9,
            "carried": "K5",
            "computed_from": 0,
        },
        "G1 has revision 1 since Nov 3, 2026 at 2:05 PM MST by Dana Plate, designer. What option 9 of K5 does"
        " to it was worked out from revision 0. Have the request computed again.",
    ),
    "basis-moved": (
        {"mark": "K5"},
        "What K5 stands on, what stands beside it there, or its sheathing is not as it was computed. Have the"
        " request computed again.",
    ),
    "goes-elsewhere": (
        {"goes": [["join", {"mark": "K1", "variant": "K1-b", "copies": [2], "stays": [3], "turned": [2]}]]},
        "Another decision came between: this one makes something else by now than the page showed. Copy 2 of K1 joins"
        " K1-b, which has such a design already, copy 2 turned end for end. K1 keeps copy 3. Look at the request again,"
        " then decide.",
    ),
    "chain-moved": (
        {},
        "What the marks stand on changed just now. Look at the request again, then decide.",
    ),
    "carrier-unknown": (
        {
            "carrier": "G1",
            "because": ["K5", "K6"],
            "why": NO_BEARING,
        },
        "What that does to G1, which carries K5 and K6, can't be worked out: K5 has no bearing at joint C.",
    ),
    "not-worked-out-together": (
        {"carrier": "G1"},
        "What these options together put on G1 is not worked out yet. The worker does it now: look at it in a few"
        " seconds, then decide the same.",
    ),
    "carrier-fails": (
        {
            "carrier": "G1",
            "because": ["K5"],
            "of": "member",
            "id": "B1",
            "object": "member B1.1",
            "rule": "bending",
            "ratio": 1.234,
            "combination": "D + S",
        },
        "G1, which carries K5: bending of member B1.1 fails at 123% of what is allowed (D + S); nobody can"
        " accept that.",
    ),
    "carrier-cut": (
        {"mark": "G1", "copies": [1, 2], "because": ["K5"]},
        "G1: copies 1 and 2 are cut already and would carry the changed load of K5; no revision reaches what"
        " is cut. What remains is a repair or another way above it; call the truss designer.",
    ),
    "overtaken-while-drawing": (
        {"mark": "K1"},
        "K1 got a new revision since; have the request computed again, then draw.",
    ),
    "not-written-in": (
        {"kind": "opening", "name": "O1"},
        "the opening O1 that was asked for is not written in.",
    ),
    "drawn-of-another-mark": (
        {"mark": "R9", "wanted": "K1"},
        "it is of mark R9; the ask is about K1.",
    ),
    "too-late": (
        {"request": 7, "last": "send back", "by": "Dana Plate, designer", "at": AT, "verb": "decline"},
        "Request 7 was sent back by Dana Plate, designer on Nov 3, 2026 at 2:05 PM MST; it can't be declined now.",
    ),
    "moved-since": (
        {"request": 7, "state": "sent back", "last": "send back", "by": "Dana Plate, designer", "at": AT},
        "Request 7 was sent back by Dana Plate, designer on Nov 3, 2026 at 2:05 PM MST, after this decision was begun;"
        " it is sent back now. Look at the request again, then decide.",
    ),
    "not-now": (
        {"request": 7, "state": "filed", "verb": "draw"},
        "Request 7 is filed; it can't be given another option now.",
    ),
    "hold-released": (
        {"mark": "K1", "at": AT},
        "The hold on K1 was lifted on Nov 3, 2026 at 2:05 PM MST; there is nothing to answer.",
    ),
    "hold-of-an-end": (
        {"request": 7, "mark": "K1", "state": "approved"},
        "Request 7 is approved: the saw has nothing to wait for on K1.",
    ),
    "hold-of-cut": (
        {"request": 7, "mark": "K1"},
        "All copies of K1 that request 7 asks a hold on are cut: no saw can wait for them.",
    ),
    "hold-answered": (
        {"mark": "K1", "standing": "acknowledged", "by": "Dana Plate, designer", "at": AT},
        "The hold on K1 was acknowledged by Dana Plate, designer on Nov 3, 2026 at 2:05 PM MST.",
    ),
    "held": (
        {"holds": [{"request": 7, "asked": False, "copies": [1, 2]}, {"request": 9, "asked": True, "copies": [2]}]},
        "The saw waits. Copies 1–2 are held for request 7 until it is decided. Request 9 asks for a hold on copy 2:"
        " acknowledge or refuse it first.",
    ),
    "verb": (
        {"who": [["builder", "own"], ["designer", "any"]], "verb": "compute"},
        "Only the builder who filed it or a designer of this job can have a request computed again.",
    ),
    "no-role-for-it": (
        {"role": "worker", "verb": "approve"},
        "A worker can't approve a request.",
    ),
    "edit-option": (
        {},
        "Only a designer of this job can edit an option, while the request awaits a decision.",
    ),
}
