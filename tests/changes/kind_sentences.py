"""For each code that the kinds of ask beside an opening tell, values and the sentence that they give."""

WORST = {
    "of": "member",
    "id": "B1",
    "rule": "bending",
    "source": "NDS 3.3.1",
    "combination": "D + S",
    "ratio": 1.234,
    "buckles": False,
}
MOVES = {"joint": "B", "direction": "sideways", "almost": False, "code": "apart", "values": {}}
MOVING = "the truss can move freely: joint B slides sideways, since nothing joins it to the rest of the truss"

TITLES = {
    "load-as-it-is": ({}, "As it is, with the weight written in"),
    "bearing-as-it-is": ({}, "As it is, on the bearings that are asked for"),
}

TOLD = {
    "bearing-not-today": (
        {"trouble": {"code": "bearing-not-of-truss", "place": "", "values": {"mark": "K1", "joint": "C"}}},
        "Today's truss can't bear so. K1 has no bearing at joint \"C\".",
    ),
    "load-taken": (
        {"share_lb": 133.4, "most_lb": 410},
        "Each truss takes its 133 lb there as it is. 410 lb is the most that it takes there, if nothing else is added.",
    ),
    "load-taken-beside": (
        {"share_lb": 150, "most_lb": 400.0},
        "Each truss takes its 150 lb there as it is, with the other weights that are asked for on it; 400 lb would be"
        " the most beside them.",
    ),
    "load-over-beside": (
        {"share_lb": 150, "most_lb": 40.0},
        "Each truss would carry 150 lb there, and as it is takes 40 lb at most beside the other weights that are asked"
        " for.",
    ),
    "load-over": (
        {"share_lb": 1300, "most_lb": 410},
        "Each truss would carry 1,300 lb there, and takes 410 lb at most as it is.",
    ),
    "load-written": (
        {},
        "Nothing on the truss changes but the load that its drawing states, which isn't counted on against uplift.",
    ),
    "run-as-built": (
        {"trusses": 2},
        "All that it goes through is cut already and has room for it as built (2 crossings). Nothing is asked of"
        " anybody, nothing changes in those trusses, and nobody cuts for it. It is on record, and another run that"
        " would lie in it there is refused.",
    ),
    "run-as-built-no-more": (
        {},
        "It doesn't go through all of that any more as it is built and stands: ask for it anew.",
    ),
    "more-below": (
        {
            "rows": [
                {"along_in": 0.0, "end": "left", "up": True, "lb": [0.0, 171.4]},
                {"along_in": 240.0, "end": "right", "up": True, "lb": [20.0, 80.0]},
                {"along_in": 240.0, "end": "right", "up": False, "lb": [900.0, 1000.0]},
                {"along_in": 60.0, "end": "", "up": False, "lb": [None, 1234.0]},
            ]
        },
        "The left bearing needs a tie first: the truss is lifted there by up to 171 lb, by nothing today. The tie"
        " at the right bearing has to hold up to 80 lb of uplift; 20 lb today. What is below the right bearing"
        " has to carry up to 1,000 lb; 900 lb today. What is below the bearing 5'-0\" from the left one has to"
        " carry up to 1,234 lb; nothing bears there today. No tie, wall, header or footing is checked here.",
    ),
    "bearing-fits": ({}, "Once it bears as is asked, today's truss is within its limits."),
    "bearing-strains": ({}, "Once it bears as is asked, and there alone, today's truss is over a limit."),
    "bearing-lets-move": (MOVES, f"Once it bears as is asked, {MOVING}."),
    "bearing-written": ({}, "Nothing on the truss changes but where it bears."),
    "in-between": (
        {"state": "gone", "passes": False, "moving": MOVES, "worst": None, "lifted_lb": []},
        f"Until then, while the old bearing is gone and no other stands, {MOVING}. Shore it first, by whoever designs"
        " the shoring.",
    ),
    "shims": (
        {"shims": [["A", 0.5], ["B", 1.25]]},
        'Shim 1/2" at A and 1 1/4" at B, to bear fully on what is there.',
    ),
    "walls-off": (
        {"off": [["A", -2], ["B", 14]]},
        'Off its line stands the wall at A 2" to the left and B 1\'-2" to the right.',
    ),
    "walls-as-drawn": ({}, "The walls stand where they were drawn, within a quarter of an inch."),
    "passage-fits": ({}, "It fits between the trusses as they stand."),
    "passage-blocked": ({"copies": [4, 5]}, "In the way stand copies 4 and 5."),
    "passage-moved": ({"by_in": -11.75}, 'Moved 11 3/4" down the row, it fits between the trusses as they stand.'),
    "gap-too-wide": (
        {"widest_in": 48, "most_in": 24},
        "The trusses would stand 4'-0\" apart there, more than the 2'-0\" that was given as what is nailed across them"
        " spans.",
    ),
    "one-design": (
        {"copies": [[3, 0.921], [4, 0.6]]},
        "One design for all of them, analysed under what each then carries: 92% on copy 3 and 60% on copy 4 of what is"
        " allowed.",
    ),
    "one-design-spares": (
        {"copies": [4, 5]},
        "With today's wood copies 4 and 5 would pass too; drawn like the others, they stay one design with them.",
    ),
    "one-design-fails": (
        {"copies": [[4, 1.04]]},
        "No one design was found that holds on all of them: this one, the closest, is at 104% on copy 4 of what is"
        " allowed.",
    ),
    "moves-on-carrier": (
        {"mark": "K1", "carriers": ["G1", "G2"]},
        "K1 stands on G1 and G2: with copies moved or left out, what it puts there comes elsewhere, which these sums"
        " don't follow. A designer works that out first.",
    ),
    "moves-carrier": (
        {"mark": "G1", "standing": ["K1"]},
        "G1 carries K1: with copies moved or left out, what stands there lands elsewhere, which these sums don't"
        " follow. A designer works that out first.",
    ),
    "header": (
        {"x_in": 156, "lumber": "2x6 SPF No.1/No.2", "reaction_lb": 512.6},
        "The doubled header at 13'-0\", 2x6 SPF No.1/No.2, brings 513 lb at most to the truss on either side; its"
        " hangers and those of the tails are to be designed.",
    ),
    "weight-counted-on": (
        {"share": 0.811},
        "It counts on the weight to hold the truss down against wind, which may not be there: of its dead load it may"
        " count on 0.811 at most (uplift_dead_share).",
    ),
    "header-not-stocked": (
        {"x_in": 156, "lumber": "2x6 SPF No.1/No.2"},
        "The doubled header at 13'-0\" would be of 2x6 SPF No.1/No.2: the job's stock has nothing of that species and"
        " grade.",
    ),
    "header-fails": (
        {"x_in": 156, "ratio": 1.234},
        "The doubled header at 13'-0\", the largest of the chord's lumber, is at 123% of what is allowed: another one"
        " is to be designed first.",
    ),
    "keep-off": (
        {},
        "Keep off and out from under it, and take off whatever is stacked on it, without stepping on it.",
    ),
    "leave-lying": (
        {"copies": [2, 3], "all": False},
        "Copies 2 and 3 are not recorded as set: leave them lying, and don't lift, turn or set them.",
    ),
    "shore-at": (
        {"joints": ["F", "G"], "along_in": [96, 150.5]},
        "It is shored only as a registered design professional says, and by whom they say: at the panel points of the"
        " bottom chord 8'-0\" and 12'-6 1/2\" from the middle of the left bearing, down to something that carries it."
        " Nobody else goes under it, and nobody before they said so.",
    ),
    "whom-to-call": (
        {},
        "Call the truss designer and a registered design professional now. Nobody cuts, pulls or nails anything before"
        " their repair drawing is there.",
    ),
    "damaged-moves-now": (MOVES, f"Under what is on it now, {MOVING}: it doesn't stand by itself."),
    "damaged-moves-drawn-for": (MOVES, f"Under all that it was drawn for, {MOVING}: it doesn't stand by itself."),
    "damaged-other-revision": (
        {"current": 2, "others": [[0, [3, 4]], [1, [6]]]},
        "Worked out from revision 2, which is current, and not from what was released or built: revision 0 for"
        " copies 3 and 4 and revision 1 for copy 6. Whoever designs the repair works from what stands there.",
    ),
    "damaged-revision": (
        {"number": 1, "current": 2, "unsure": [3, 4], "of": ""},
        "Worked out from revision 1, not from revision 2, which is current. Nobody recorded that copies 3 and 4 were"
        " cut to it. Whoever designs the repair looks first at what stands there.",
    ),
    "damaged-copies-gone": (
        {"mark": "K1", "copies": [3, 4]},
        "The set has no copies 3 and 4 of K1 any more. Whoever deals with it looks first at what is there.",
    ),
    "damaged-unloaded": ({}, "Nothing carries a load in what is left of this truss."),
    "damaged-exceeds": (
        {"when": "now", "lies": False, "acting": ["roof_live", "snow"], **WORST},
        "Under its dead load, roof live and snow, as was said to be on it now, it is over a limit: bending of member B1"
        " is at 123% of what is allowed (D + S).",
    ),
    "damaged-within": (
        {"when": "drawn-for", "lies": True, **WORST, "ratio": 0.5},
        "As if it were set, which it isn't recorded to be: under all that it was drawn for, by these sums alone no"
        " limit is exceeded: bending of member B1 is at 50% of what is allowed (D + S). That is no leave to load it or"
        " to go under it: what the damaged piece and its plates still do isn't known.",
    ),
    "repair-carries": (
        {"member": "W1", "tension_lb": 1652.2, "compression_lb": 0, "moment_inlb": 1344, "shear_lb": 28},
        "W1 carries up to 1,652 lb of tension and 0 lb of compression, and at the"
        " damage 1,344 in-lb of bending and 28 lb of shear.",
    ),
    "repair-holds": (
        {
            "holding_lb": 1652.2,
            "combination": "D + S",
            "nailing": [
                {"nail": "10d common", "z_lb": 117.6, "a_face": 8},
                {"nail": "16d common", "z_lb": 140.9, "a_face": 6},
            ],
        },
        "Over its load-duration factor the largest is 1,652 lb (D + S): by NDS 12.3 two 2x scabs, one on either face,"
        " would need 8 10d common at 118 lb or 6 16d common at 141 lb in each scab, on each side of the break, for the"
        " axial force alone. Spacing, edges, splitting and bending are for the designer.",
    ),
    "question-waits": ({}, "It waits for a designer's answer."),
}
