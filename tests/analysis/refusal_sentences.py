"""For each code of a refusal, sample values and the sentence that they give; by subject, in the tables' order."""

LENGTHS = {
    "length-negative": ({"shown": "-3"}, "-3: a length can't be negative here."),
    "length-too-long": (
        {"shown": "81'", "most_in": 960},
        "81' is more than 80'-0\", the most that is possible here.",
    ),
    "length-too-short": (
        {"shown": "3'", "least_in": 48},
        "3' is less than 4'-0\", the least that is possible here.",
    ),
    "length-feet-or-inches": (
        {"shown": "12", "readings": ["12'", '12"']},
        "12 could be 12' or 12\": write it one of these ways.",
    ),
    "length-mixed-dash": (
        {"shown": "3-1/2", "whole": "3", "fraction": "1/2"},
        '3-1/2 could be 3 1/2" or 3\' 1/2": write it one of these ways.',
    ),
    "length-no-number": ({}, "A length is a number of inches, or feet and inches such as 12' 3 1/2\"."),
    "length-not-finite": ({"shown": "nan"}, "nan is not a length."),
    "length-empty": ({}, "Type a length, such as 12' 3 1/2\" or 147.5 (inches)."),
    "length-sixteenths": ({"shown": "12-3-16"}, "12-3-16: the third number is sixteenths of an inch, 0 to 15."),
    "length-decimal-feet-and-inches": (
        {"shown": "12.5' 3\""},
        "12.5' 3\": write either decimal feet, or feet and inches, not both.",
    ),
    "length-a-foot-of-inches": (
        {"shown": "12-13.5", "inches": 13.5},
        "12-13.5: 13.5 inches after the feet make another foot; write 0 to 11 and a fraction.",
    ),
    "length-over-nothing": ({"shown": "1/0"}, "1/0: a fraction can't have 0 below the line."),
    "length-too-fine": (
        {"shown": "1/128", "finest": 64},
        "1/128: 1/64 is the finest fraction of an inch here.",
    ),
    "length-improper-fraction": (
        {"shown": "5/4", "fraction": "5/4"},
        "5/4: the fraction 5/4 is 1 or more; write a whole number and a fraction.",
    ),
    "length-decimals-and-fraction": (
        {"shown": "1.5 1/2"},
        "1.5 1/2: write either decimals or a fraction, not both.",
    ),
    "length-text-too-long": ({"shown": "99999…"}, "99999… is too long to be a length."),
    "length-turned": (
        {"shown": "12' 3\""},
        "12' 3\" holds a mark that turns letters round; it isn't what it looks like. Type it anew.",
    ),
    "length-unit": (
        {"shown": "3 m", "unit": "m"},
        "3 m can't be read: “m” is not a unit here. Write feet and inches, such as 12' 3 1/2\".",
    ),
    "length-comma": ({"shown": "147,5"}, "147,5: write the decimal with a point, not a comma."),
    "length-which-is-feet": (
        {"shown": "12 3", "pair": ["12", "3"]},
        "12 3: say which is feet, such as 12' 3\".",
    ),
    "length-unreadable": (
        {"shown": "'"},
        "' can't be read as a length; write it like 12' 3 1/2\" or 147.5 (inches).",
    ),
}

DOCUMENT = {
    "file-unreadable": ({"problem": "is a directory"}, "the file can't be read: is a directory"),
    "document-too-large": ({"most": 1_000_000}, "the document is larger than 1,000,000 bytes"),
    "document-not-utf8": ({"byte": 7}, "the document is not UTF-8 text: byte 7 can't be read"),
    "document-empty": ({}, "the document is empty"),
    "document-not-json": (
        {"problem": "extra data", "line": 1, "column": 10},
        "the document is not JSON: extra data at line 1, column 10",
    ),
    "document-too-deep": ({"levels": 16}, "the document is nested deeper than 16 levels"),
    "document-no-object": ({"given": []}, "the document must be an object in braces, not a list"),
    "not-json": ({"kind": "set"}, "must be JSON, not set"),
    "key-twice": ({"key": "mark"}, '"mark" stands twice'),
    "key-no-text": ({"given": 3}, "every key must be text, not 3"),
    "key-unprintable": ({"key": "a\a"}, 'the key "a\\x07" holds a character that can\'t be printed'),
    "text-unprintable": ({"text": "R\n1"}, 'the text "R\\n1" holds a character that can\'t be printed'),
    "number-nan": ({}, "must be a number, not NaN"),
    "number-too-large": ({"number": "1e+13"}, "1e+13 is far too large a number"),
    "no-object": ({"given": None}, "must be an object in braces, not null"),
    "key-of-a-cut": (
        {"key": "notch_in"},
        '"notch_in": lumber is not drilled or notched here, so no check counts what that leaves',
    ),
    "key-unknown": ({"key": "hinge", "meant": "hinges"}, 'unknown key "hinge"; did you mean "hinges"?'),
    "key-missing": ({"key": "mark"}, '"mark" is missing'),
    "no-text": ({"key": "title", "given": 7}, "title must be text, not 7"),
    "text-too-long": ({"key": "title", "most": 500}, "title is longer than 500 characters"),
    "name-empty": ({"key": "mark"}, "mark must not be empty"),
    "name-padded": ({"key": "mark", "name": " R1"}, 'mark " R1" must not begin or end with a space'),
    "name-unseen": (
        {"key": "mark", "name": "R1\u200b"},
        'mark "R1\\u200b" holds a character that can\'t be seen',
    ),
    "name-too-long": (
        {"key": None, "name": "J" * 41, "most": 40},
        f'a joint\'s name "{"J" * 39}…" is longer than 40 characters',
    ),
    "no-choice": (
        {"key": "ceiling", "choices": ["none", "gypsum", "plaster"], "given": "tin"},
        'ceiling must be none, gypsum or plaster, not "tin"',
    ),
    "no-flag": ({"key": "flat", "given": 1}, "flat must be true or false, not 1"),
    "no-number": (
        {"key": "spacing_in", "unit": "in", "given": "24"},
        'spacing_in must be a number of inches, not the text "24"',
    ),
    "number-too-much": (
        {"key": "down_lb", "unit": "lb", "given": 1e10, "most": 1e9},
        "down_lb is 10000000000 pounds; no truss has more than 1,000,000,000",
    ),
    "inches-below-0": ({"key": "from_in", "given": -1.0}, "from_in must be 0 or more inches, not -1"),
    "inches-not-over-0": ({"key": "spacing_in", "given": 0.0}, "spacing_in must be more than 0 inches, not 0"),
    "no-whole-number": ({"key": "plies", "given": 1.5}, "plies must be a whole number, not 1.5"),
    "whole-number-bounds": (
        {"key": "plies", "least": 1, "most": 12, "given": 13},
        "plies must be from 1 to 12, not 13",
    ),
    "no-list": ({"key": "hinges", "given": "A"}, 'hinges must be a list of joint names, not the text "A"'),
    "list-too-long": (
        {"key": "point", "count": 2001, "most": 2000},
        "point holds 2,001 point loads; the limit is 2,000",
    ),
    "too-many": ({"key": "joints", "count": 1401, "most": 400}, "1,401 joints are more than the limit of 400"),
    "no-point": ({"given": []}, "must be two numbers [x, y] in inches, not a list"),
    "no-coordinate": ({"given": True}, "must be two numbers [x, y] in inches, but holds true"),
    "coordinate-too-large": ({"given": 2_000_000}, "2000000 inches is outside of any building"),
    "no-joints": ({"given": []}, "joints must be an object of names and [x, y] in inches, not a list"),
    "joint-unknown": ({"joint": "K"}, 'joint "K" does not exist'),
    "joint-unused": ({"joint": "X"}, 'no member ends at joint "X"'),
    "joints-at-one-place": ({"joint": "E", "other": "B"}, 'joint "E" is at the same place as joint "B"'),
    "no-members": ({}, "the truss has no members"),
    "no-two-joints": ({}, "joints must be two joint names"),
    "member-id-twice": ({"other": "members[0]"}, "members[0] has the same id"),
    "member-beside-member": ({"other": "T1"}, "joins the same two joints as T1"),
    "member-at-one-joint": ({"joint": "B"}, 'has no length: both ends are at joint "B"'),
    "member-without-length": (
        {"joints": ["B", "D"]},
        'has no length: joints "B" and "D" are at the same place',
    ),
    "joint-in-wood": (
        {"joint": "k", "member": "B1"},
        'joint "k" lies in the wood of B1, which doesn\'t end there',
    ),
    "along-wood": (
        {"member": "B1", "joint": "t0"},
        'lies in the wood of B1 from joint "t0" on, hardly ever beside it',
    ),
    "through-wood": (
        {"member": "X1", "joint": "b1", "away_in": 33.62},
        'goes through the wood of X1 2\'-9 5/8" from joint "b1", and they share no joint',
    ),
    "no-joint-name": ({"given": 3}, "must be a joint's name, not 3"),
    "hinge-twice": ({"joint": "A"}, 'joint "A" is already a hinge'),
    "no-bearings": ({}, "the truss has no bearings"),
    "bearing-twice": ({"joint": "A"}, 'joint "A" already has a bearing'),
    "bearing-without-chord": ({"joint": "E"}, 'joint "E" has webs only; a bearing must hold a chord'),
    "opening-id-twice": ({}, "another opening has the same id"),
    "no-rows": ({"given": []}, "webs must be an object of web names and rows, not a list"),
    "web-unknown": ({"web": "W9"}, 'web "W9" does not exist'),
    "no-web": ({"member": "T1", "role": "top_chord"}, '"T1" is a top chord, not a web'),
    "temperature-bounds": (
        {"least": -130.0, "most": 150.0, "given": 160.0},
        "temperature_f must be from -130 to 150 °F, not 160",
    ),
    "share-bounds": ({"given": 1.01}, "uplift_dead_share must be from 0 to 1, not 1.01"),
    "pattern-alone": (
        {},
        'pattern must not be named "alone"; write "acts": "alone" for a load that acts alone',
    ),
    "dead-load-in-part": (
        {"key": "acts"},
        'dead load is always there as a whole, so "acts" is not for it; leave that out',
    ),
    "member-unknown": ({"member": "B9"}, 'member "B9" does not exist'),
    "beyond-member": (
        {"key": "to_in", "given": 60.1, "member": "B1", "length_in": 60.0},
        'to_in 60.1 is beyond the end of member "B1", which is 60 in. long',
    ),
    "window-empty-in-plan": (
        {"from_in": 90.0, "to_in": 60.0},
        "the window is reversed or empty: from_x_in 90 is not left of to_x_in 60",
    ),
    "window-empty": (
        {"from_in": 60.0, "to_in": None},
        "the window is reversed or empty: from_in 60 is not before the member's end",
    ),
    "point-load-nowhere": (
        {},
        "a point load stands on a member or at a joint, and this one names neither a member nor a joint",
    ),
    "point-load-at-both": (
        {},
        "a point load stands on a member or at a joint, and this one names both a member and a joint",
    ),
    "at-in-without-member": ({}, "at_in is for a load on a member, not for one at a joint"),
}

LUMBER = {
    "lumber-unknown": (
        {"shown": "2x4 Oak", "near": ["2x4 SPF No.3", "2x4 SP No.1"]},
        'lumber "2x4 Oak" is not in the table; the nearest are 2x4 SPF No.3, 2x4 SP No.1',
    ),
    "km-unknown": ({"km": 2400, "known": [2300, 1200]}, "KM is 2300 or 1200 (NDS 4.4.2), not 2400"),
}

LOADS = {
    "cases-alike": (
        {"name": "live/alone/left"},
        'the patterns are named so that two arrangements are both called "live/alone/left"',
    ),
    "too-many-combinations": (
        {"count": 1_001, "most": 1_000},
        "the patterns make 1,001 combinations, more than the limit of 1,000",
    ),
    "too-many-pieces": ({}, "the loads cut the members into too many pieces to analyse"),
    "arrangement-impossible": (
        {"case": "roof_live", "lacking": ["left", "right"]},
        "the roof live load can't be arranged as roof_live/left and roof_live/right: it presses down in one place and"
        " lifts in another within the same stretch, so that no part of it is the whole. Write that arrangement by"
        " hand.",
    ),
    "roof-live-on-floor": ({}, "Roof live load is for roofs; this truss is a floor's."),
    "roof-live-on-broken-chord": (
        {},
        "The top chord is not one line from eave to eave, so its roof live load has to be typed.",
    ),
    "snow-on-floor": ({}, "Snow is for roofs; this truss is a floor's."),
    "snow-on-broken-chord": (
        {},
        "The top chord is not one line from eave to eave, so its snow has to be typed.",
    ),
    "snow-in-valley": (
        {},
        "The roof falls to a valley, where snow gathers (ASCE 7 §7.6.3); its snow has to be typed.",
    ),
    "snow-title": (
        {"over": 12},
        "The title must leave room for where the snow comes from: 12 characters too many.",
    ),
    "snow-number": (
        {"label": "Ground snow", "unit": "psf", "least": 0.0, "most": 400.0},
        "Ground snow must be a number, more than 0, up to 400 psf.",
    ),
    "snow-importance": ({}, "Importance factor Is must be 0.8, 1.0, 1.1 or 1.2 (risk category I to IV)."),
    "snow-surface": ({"surfaces": ["other", "slippery"]}, "The surface must be one of other, slippery."),
    "snow-edition": ({"editions": ["7-16", "7-22"]}, "The edition of ASCE 7 must be one of 7-16, 7-22."),
    "winter-wind-needless": (
        {},
        "The winter wind parameter W2 belongs to ASCE 7-22; leave it out with 7-16.",
    ),
    "winter-wind-missing": (
        {},
        "ASCE 7-22 needs the winter wind parameter W2 of the site for the unbalanced snow.",
    ),
}

OPENINGS = {
    "opening-lacks-size": ({"shape": "circle", "measure": "diameter"}, "a circle needs its diameter"),
    "opening-size-not-over-0": (
        {"measure": "height", "size_in": -2.0},
        "its height must be more than 0 in., not -2 in.",
    ),
    "opening-clearance-below-0": ({"clearance_in": -1.0}, "its clearance can't be less than 0 in., as -1 is"),
    "opening-not-finite": (
        {"measure": "x", "shown": "nan"},
        "its distance along the span is not a number of inches (nan)",
    ),
    "opening-too-large": (
        {"measure": "y", "size_in": 1e300},
        "its height above the bottom of 1e+300 in. is larger than any building",
    ),
}

RUNS = {
    "run-few-points": ({"points": 1}, "a run needs two points at least, and has 1 point"),
    "run-rises": (
        {"corners": 2, "given": 1},
        "the run has 2 corners, and 1 change of height at corners: give one for each, 0 where it stays level",
    ),
    "run-point-twice": ({}, "this point is the one before it: a run goes on from point to point"),
}

SHAPES = {
    "shape-unknown": (
        {"shown": "scisors", "meant": "scissors", "shapes": ["scissors", "w"]},
        "scisors is not a shape here; did you mean scissors?",
    ),
    "shape-no-field": (
        {"shape": "double W", "name": "botom_pitch", "meant": "bottom_pitch"},
        "A double W truss has no botom pitch; did you mean bottom pitch?",
    ),
    "shape-field-empty": ({"label": "Span"}, "Span: say how much, such as 36'."),
    "shape-field-refused": (
        {"label": "Span", "why": {"code": "length-comma", "place": "", "values": {"shown": "3,5"}}},
        "Span: 3,5: write the decimal with a point, not a comma.",
    ),
    "shape-field-unreadable": ({"label": "Plies"}, "Plies: this can't be read."),
    "shape-number": (
        {"label": "Pitch", "shown": "steep", "least": 0.25, "most": 24.0, "unit": "in 12"},
        "Pitch: steep won't do; give a number, 0.25 to 24 in 12.",
    ),
    "shape-whole-number": ({"label": "Plies", "shown": "1.5"}, "Plies: 1.5 is not a whole number."),
    "shape-choice": (
        {"label": "Ceiling", "shown": "tin", "choices": ["none", "gypsum", "plaster"]},
        "Ceiling: tin is not one of none, gypsum, plaster.",
    ),
    "shape-text-too-long": ({"label": "Mark", "most": 20.0}, "Mark: at most 20 characters."),
    "shape-text-refused": (
        {"why": {"code": "name-empty", "place": "", "values": {"key": "mark"}}},
        "mark must not be empty.",
    ),
    "shape-overhang": ({"side": "left"}, 'Left overhang: it is none, or 1" at least.'),
    "shape-panels": (
        {"panels": 5, "least": 4},
        "Panels: 5 won't do; this shape needs an even number, 4 or more.",
    ),
    "shape-bottom-pitch": (
        {"bottom": 4.0, "top": 4.5},
        "Bottom pitch: 4 in 12 must be at least 1 in 12 less than the top chord's 4.5 in 12.",
    ),
    "shape-heel-height": (
        {"height_in": 5.0, "chords_in": 7.3125},
        'Heel height: 5" is less than the 7 5/16" that the two chords take one above the other; leave it empty for a'
        " plain heel.",
    ),
    "shape-depth": ({"depth_in": 9.0}, 'Depth: 9" leaves no room for webs between the chords.'),
    "shape-level-part": (
        {"level_in": 96.0, "span_in": 120.0},
        "Level part: 8'-0\" leaves less than 2'-0\" at each end of a span of 10'-0\" for the chord to rise in.",
    ),
    "shape-setback": (
        {"setback_in": 96.0, "level_in": 0, "span_in": 192.0},
        'Setback: 8\'-0" at each end leaves 0" of a span of 16\'-0" level; a hip truss needs 2\'-0" at least.',
    ),
    "shape-chase": (
        {"width_in": 24.0, "center_in": 10.0, "span_in": 192.0},
        'Chase: 2\'-0" wide about 10" comes nearer than 1\'-0" to a bearing of a span of 16\'-0".',
    ),
    "shape-long-web": (
        {"length_in": 840.0},
        "A web of this truss would be 70'-0\" long: lower the pitch or shorten the span.",
    ),
    "shape-splices": (
        {"role": "bottom_chord", "length_in": 528.0, "stock_in": 240.0},
        "The bottom chord is 44'-0\" long, and pieces of 20'-0\" can't be spliced at panel points where a splice may"
        " stand: add panels, or allow longer stock.",
    ),
    "shape-no-room": (
        {
            "why": {
                "code": "along-wood",
                "place": "members[11] (X1)",
                "values": {"member": "B1", "joint": "t0"},
            }
        },
        'The pieces have no room beside each other: members[11] (X1): lies in the wood of B1 from joint "t0" on, hardly'
        " ever beside it. Give the truss more height, or shallower lumber.",
    ),
    "shape-roof-live-reduced": (
        {"whole_psf": 20.0},
        "Roof live reduced: it starts from 20 psf, so Roof live must be 20 psf too.",
    ),
    "shape-attic-by-room": (
        {"beside_psf": 10.0},
        "Attic load: by the room between the webs, Bottom chord live must be 10 psf and Attic storage empty.",
    ),
    "shape-snow-twice": (
        {},
        "Give the snow on the ground or the snow on the roof, not both: one follows from the other.",
    ),
}

LOAD_PATH = {
    "no-bearing-at-joint": ({"mark": "R5", "joint": "Q"}, "R5 has no bearing at joint Q."),
    "lands-differently": (
        {"mark": "R5", "carriers": 2, "carrier": "G1"},
        "R5 lands differently on the 2 copies of G1: one drawing can't serve them all, so give those that carry"
        " differently a mark of their own.",
    ),
    "places-and-copies": (
        {"mark": "R5", "copies": 1, "places": 2, "carrier": "G1", "carriers": 3},
        "R5 has 1 copy, and 2 places on each of the 3 copies of G1 are named: name one place for each copy that hangs"
        " there.",
    ),
    "places-of-which-copy": (
        {"carrier": "G1", "mark": "R5"},
        "G1 has copies of R5 at places that were named, and not one for each copy: which copy hangs where can't be"
        " told, so ask for all of them, or place both marks in plan.",
    ),
    "carrier-without-member": ({"carrier": "G1", "member": "B9"}, "G1 has no member B9."),
    "no-bottom-chord-member": (
        {"member": "T1", "carrier": "K1", "mark": "R5"},
        "T1 is no bottom-chord member of K1; hang R5 to one that is.",
    ),
    "beyond-carrier-member": (
        {"at_in": 361.0, "member": "B1", "carrier": "G1", "length_in": 360.0},
        "30'-1\" is not on B1 of G1, a member of 30'-0\".",
    ),
    "not-in-plan": (
        {"unplaced": "G1", "mark": "R5", "carrier": "G1"},
        "G1 has no place in plan, so where R5 lands on G1 can't be seen: place it, or name the bottom-chord members of"
        " G1 and the distances.",
    ),
    "not-all-in-plan": (
        {"unplaced": "R5", "copies": 5, "places": 4, "mark": "R5", "carrier": "G1"},
        "R5 has 5 copies and 4 places in plan, so it can't be seen which copy of R5 stands on which copy of G1. Give"
        " each copy its place in plan.",
    ),
    "runs-alongside": (
        {"mark": "R5", "carrier": "G1"},
        "R5 runs the same way as G1 in plan, so it can't stand on it.",
    ),
    "other-level": (
        {"mark": "R5", "level": "Roof", "carrier": "G1", "levels": ["Floor", "Porch"]},
        "R5 stands on the level Roof and G1 on Floor and Porch: they don't meet.",
    ),
    "carrier-without-bottom-chord": (
        {"carrier": "G1", "mark": "R5"},
        "G1 has no bottom chord for R5 to hang to.",
    ),
    "beside-carrier": (
        {"joint": "B", "mark": "R5", "copy": 1, "off_in": 24.0, "carrier": "G1"},
        "Bearing B of R5, copy 1, is 2'-0\" beside G1 in plan, not on it.",
    ),
    "beyond-carrier-end": (
        {"joint": "B", "mark": "R5", "copy": 1, "by_in": 40.0, "end": "right", "carrier": "G1"},
        "Bearing B of R5, copy 1, comes 3'-4\" beyond the right end of the bottom chord of G1, not on it.",
    ),
    "stands-on-itself": ({"mark": "G1"}, "G1 can't stand on itself."),
    "carries-in-a-circle": (
        {"marks": ["G1", "G2", "G3", "G1"]},
        "G1 would stand on G2, which stands on G3, which stands on G1: each would carry the other, and nothing carries"
        " them.",
    ),
    "carried-unknown": ({"mark": "R5", "carrier": "G1"}, "What R5 would put on G1 can't be worked out."),
    "carrier-loose": (
        {"joint": "C", "direction": "sideways", "almost": False, "code": "no-tie", "values": {"joint": "D"}},
        "The truss can move freely: joint C slides sideways, since no member ties it to joint D.",
    ),
}

SEARCH = {
    "today-shares-wood": (
        {
            "why": {
                "code": "along-wood",
                "place": "members[11] (X1)",
                "values": {"member": "B1", "joint": "t0"},
            }
        },
        "Today's truss can't be built as it is drawn. members[11] (X1): lies in the wood of B1 from joint \"t0\" on,"
        " hardly ever beside it.",
    ),
    "opening-impossible": (
        {"opening": "O1", "fit": {"code": "reaches-outside", "values": {}}},
        "Opening O1 can't be made here. It reaches outside of the truss; an opening must lie between the chords.",
    ),
    "arrangements-missing": (
        {"lacking": ["snow/left", "snow/right"]},
        "The truss lacks load arrangements (snow/left, snow/right); without them no option is offered.",
    ),
}

PLATES = {
    "plates-too-large": (
        {"count": 70_000, "most": 65_536},
        "The table has 70,000 characters; it can have 65,536.",
    ),
    "plates-not-csv": ({"problem": "unexpected end of data"}, "The file can't be read as CSV: unexpected end of data."),
    "plates-empty": ({}, "The table is empty; its first row names the columns."),
    "plates-too-many": ({"count": 1_501, "most": 500}, "The table has 1,501 plates; it can have 1 to 500."),
    "plates-column-unknown": (
        {"column": "gauge"},
        'The first row has a column "gauge" that a table of plates doesn\'t have.',
    ),
    "plates-column-twice": ({"column": "plate"}, 'The first row has the column "plate" twice.'),
    "plates-columns-missing": (
        {"columns": ["length_in", "width_in"]},
        "The first row lacks the columns length_in, width_in.",
    ),
    "plate-twice": ({"plate": "x"}, 'the plate "x" stands in the table twice'),
    "plate-row-length": ({"count": 4, "columns": 5}, "it has 4 values for 5 columns"),
    "plate-name": ({"most": 40}, "plate needs a name of 1 to 40 plain characters"),
    "plate-number": (
        {"column": "width_in", "shown": "a lot"},
        'width_in is "a lot"; it must be a number over 0',
    ),
}

DRAWING = {
    "drawing-width": ({"least": 60, "most": 8000}, "a drawing is between 60 and 8000 pixels wide"),
    "drawing-view": ({}, "the views are plain and forces"),
    "drawing-detail": ({}, "the details are sheet, phone and thumb"),
    "drawing-prefix": (
        {},
        "a drawing's id prefix is a letter followed by letters, digits, _ or -, at most 40",
    ),
    "drawing-without-analysis": ({}, "a view of the forces needs the truss's analysis"),
    "drawing-of-another-truss": (
        {"member": "W1"},
        "the analysis has no member W1: it belongs to another truss document",
    ),
    "drawing-combination": ({"combination": "D + S"}, "the analysis has no combination called D + S"),
}

DAMAGE = {
    "damage-no-member": ({"mark": "R1", "member": "W9"}, 'R1 has no member "W9".'),
    "damage-beyond-member": (
        {"member": "W3", "at_in": 80, "length_in": 72.5},
        "6'-8\" is not on W3, a member of 6'-0 1/2\".",
    ),
    "damage-upright-chord": ({"member": "E1"}, "E1 is upright: name its damage on the chord beside it."),
}

CAPACITY = {
    "weight-beside-chord": (
        {"at_in": 450, "chord": "bottom_chord"},
        "At 37'-6\" there is no bottom chord to carry it.",
    ),
    "weight-beyond-trusses": (
        {"low_in": 12, "high_in": 60, "row_in": 48},
        "The weight reaches from 1'-0\" to 5'-0\" across the trusses that share it, which stand within 4'-0\" of the"
        " first.",
    ),
    "weight-lifts-a-truss": (
        {"rule": "stiff", "truss": 1},
        "There, a stiff beam would lift truss 1 of those that share the weight: move it toward their middle, or let"
        " fewer share it.",
    ),
}

BEARINGS = {
    "bearing-not-of-truss": ({"mark": "R1", "joint": "Q"}, 'R1 has no bearing at joint "Q".'),
    "bearing-the-only-one": ({"mark": "R1"}, "R1 would have no bearing left."),
    "bearing-beyond-truss": (
        {"mark": "R1", "at_in": 440, "by_in": 8},
        'A bearing at 36\'-8" is 8" beyond the end of R1: it takes a truss of another length.',
    ),
    "bearing-there-already": ({"mark": "R1", "at_in": 216}, "R1 has a bearing at 18'-0\" already."),
    "bearing-beside-chord": ({"mark": "R1", "at_in": 216}, "At 18'-0\" R1 has no chord to bear on."),
}

PASSAGES = {
    "passage-beside-row": (
        {"low_in": 12, "high_in": 36, "first_in": 24, "last_in": 240},
        "With its clearance it reaches from 1'-0\" to 3'-0\" across the row, whose trusses stand from 2'-0\" to"
        " 20'-0\".",
    ),
    "passage-beside-truss": (
        {"mark": "R1", "from_in": 410, "to_in": 440},
        "With its clearance it reaches from 34'-2\" to 36'-8\" along the span, beyond the ends of R1.",
    ),
}
