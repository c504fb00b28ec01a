"""What a sheet says of a truss document, apart from the page that shows it."""

from __future__ import annotations

import copy
import dataclasses
import math
from datetime import date

import pytest
from django.template.loader import render_to_string

from tests.beams import beam, line, push
from trusses import demo_set, drawing, production
from trusses.analysis import verdict as core
from trusses.analysis.analysis import analyse
from trusses.analysis.compare import compare
from trusses.analysis.format.document import read
from trusses.analysis.shapes.shapes import build
from trusses.analysis.verdict import Known
from trusses.analysis.words.lengths import feet_inches
from trusses.designs import design_of
from trusses.models import Copy, Job, Revision, Stage, Truss
from trusses.production import KeptOff, _refuse_never
from trusses.revisions import Refused, read_and_analyse, refuse_failures
from trusses.sealing.models import COVERS, SealedDrawing
from trusses.sealing.seals import Seal
from trusses.sheets import cautions, changed, sheet, sheet_facts, tape, words
from trusses.sheets.report import report
from trusses.templatetags.figures import worst


@pytest.fixture
def revision(king_post) -> Revision:
    document, analysis = read_and_analyse(king_post)
    mark = Truss(pk=1, mark="K1", current_id=1, job=Job(name="Lot 1"))
    return Revision(pk=1, truss=mark, number=0, document=document, analysis=analysis, sha256="0" * 64)


def answers(revision: Revision, known: Known = core.NOTHING_KNOWN) -> tuple[sheet.Answer, ...]:
    return sheet.answers(core.verdict(design_of(revision.document), revision.analysis, known))


class TestTheFirstLine:
    PASSING = tuple(
        sheet.Answer(what, core.PASSES, "", "good", True) for what in ("Lumber", "Plates", "Restraint", "Seal")
    )
    SEALED = Seal(
        SealedDrawing(
            sealed_by="An invented engineer", licence="0", state="CO", sealed_on=date(2026, 11, 3), covers=COVERS
        ),
        {},
        (),
    )

    def test_says_yes_only_when_all_four_answers_pass_and_its_seal_counts(self, revision):
        said = sheet.verdict(revision, revision, self.PASSING, self.SEALED)
        assert said.build
        assert said.says == "Yes: build by its sealed drawing, which is attached."
        assert said.why == (
            "Sealed by An invented engineer, license 0, CO, on Nov 3, 2026. Where this sheet and the sealed drawing"
            " differ, stop and call the designer."
        )
        assert not sheet.verdict(revision, revision, self.PASSING).build
        revision.truss.job.is_demo = True
        said = sheet.verdict(revision, revision, self.PASSING, self.SEALED)
        assert said.says.startswith("A demonstration: build nothing from it. A real sheet would say “Yes: build by")
        assert not sheet.verdict(
            revision, revision, self.PASSING, dataclasses.replace(self.SEALED, lacks=("accepted",))
        ).build

    @pytest.mark.parametrize(
        ("released", "says"),
        [
            (
                (None, 7),
                "Not yet: its sealed drawing is on record, and copies 1–2 aren’t released to revision 0. Do not build"
                " from this.",
            ),
            (
                (1, None),
                "Yes for copy 1: build by its sealed drawing, which is attached. Not yet: copy 2 isn’t released to"
                " revision 0.",
            ),
            ((1, 1), "Yes: build by its sealed drawing, which is attached."),
            (
                (1, 1, 1),
                "Yes for copies 1–2: build by its sealed drawing, which is attached. Not yet: copy 3 is held from the"
                " saw.",
            ),
        ],
    )
    def test_says_no_yes_of_copies_that_are_not_released_to_it(self, revision, monkeypatch, released, says):
        """None was, or to an earlier revision: what is sealed isn't the shop's yet. The third is held."""

        def held(copies):
            return [KeptOff([copy for copy in copies if copy.number == 3], Refused("no-copy"))]

        monkeypatch.setattr(sheet.harmed, "off", lambda copies: [])
        monkeypatch.setattr(production, "before_cut", [held])
        copies = [Copy(pk=n, number=n, released_to_id=to, truss=revision.truss) for n, to in enumerate(released, 1)]
        said = sheet.verdict(revision, revision, self.PASSING, self.SEALED, copies)
        assert (said.says, said.build) == (says, 1 in released)

    @pytest.mark.parametrize("which", range(4))
    @pytest.mark.parametrize("state", [core.FAILS, core.NOT_CHECKED, core.MISSING])
    def test_says_no_for_any_one_that_does_not(self, revision, which, state):
        four = list(self.PASSING)
        four[which] = dataclasses.replace(four[which], state=state, answered=False)
        said = sheet.verdict(revision, revision, four, self.SEALED)
        assert not said.build
        assert said.says.startswith("No. Do not build from this")
        assert said.why == f"{four[which].what}: {state}."

    def test_says_no_for_a_superseded_one_whatever_its_answers(self, revision):
        newer = Revision(pk=2, truss=revision.truss, number=1)
        said = sheet.verdict(revision, newer, self.PASSING, self.SEALED)
        assert not said.build
        assert said.says == "No. Superseded by revision 1: do not build from this."

    def test_is_no_for_every_truss_without_a_seal(self, revision):
        four = answers(revision)
        assert [answer.what for answer in four] == ["Lumber", "Plates", "Restraint", "Seal"]
        assert [answer.state for answer in four] == ["passes", "not checked", "not checked", "missing"]
        assert not sheet.verdict(revision, revision, four).build


class TestTheFourAnswers:
    def test_lumber_that_fails_names_the_worst_check(self, revision):
        worst = {
            **revision.analysis["checks"][0],
            "ratio": 1.4,
            "passes": False,
            "rule": "tension",
            "id": "B1",
            "of": "member",
        }
        revision.analysis = {**revision.analysis, "passes": False, "checks": [worst]}
        answer = answers(revision)[0]
        assert (answer.state, answer.says, answer.tone) == (
            "fails",
            "Tension of member B1.1 stands at 140% of what is allowed.",
            "stop",
        )

    def test_an_acceptance_of_another_check_is_none(self, revision):
        failing = [
            {**revision.analysis["checks"][-1], "rule": rule, "ratio": 1.2, "passes": False}
            for rule in ("live deflection", "total deflection")
        ]
        revision.analysis = {**revision.analysis, "passes": False, "checks": failing}
        known = Known(accepted=frozenset({"live deflection"}))
        assert answers(revision, known)[0].state == "fails"
        known = Known(accepted=frozenset({"live deflection", "total deflection"}))
        assert answers(revision, known)[0].state == "passes, with an exception"

    def test_restraint_that_is_not_named_is_missing(self, revision, king_post):
        del king_post["lateral_restraint"]
        revision.document = king_post
        assert answers(revision)[2].state == "missing"


class TestTheTape:
    def test_a_king_post_by_hand(self, king_post):
        """20 ft, 6 in 12, 2x6 chords (5.5 in. deep), a 2x4 post (3.5 in.) at the middle, bearings of 5.5 in.

        The post's near face is 120 - 1.75 in. from the joint and the wall's outside face 2.75 in. before it. The
        chords' centrelines meet 60 in. up; the top chord's upper edge is 2.75 in. off its centreline, so plumb
        2.75 · sqrt(5)/2 above it; the bottom chord's underside is 2.75 in. below its own.
        """
        first_web, height, walls = tape.dimensions(read(king_post))
        assert first_web.inches == pytest.approx(120 - 1.75 + 2.75, abs=1e-9)
        assert "web W1" in first_web.says
        assert "the wall at A, the marked end" in first_web.says
        assert height.inches == pytest.approx(60 + 2.75 * math.sqrt(5) / 2 + 2.75, abs=1e-6)
        assert walls.inches == pytest.approx(240 + 5.5, abs=1e-9)
        assert {one.tolerance_in for one in (first_web, height, walls)} == {0.5}

    def test_the_clear_width_between_webs_on_a_slant(self):
        """Webs of a W on the bottom chord: each covers width/sin(slope) of its edge, shifted by half its depth."""
        document = build("w", span="24'", pitch=6)
        design = read(document)
        clear = tape.dimensions(design)[0]
        joints = document["joints"]
        (left, right) = sorted(x for name, (x, y) in joints.items() if y == 0 and 0 < x < 288)
        peak = max(joints.values(), key=lambda at: at[1])
        run, rise = peak[0] - left, peak[1]
        length = math.hypot(run, rise)
        foot = 1.75 * run / rise + 1.75 * length / rise
        assert clear.inches == pytest.approx((right - foot) - (left + foot), abs=1e-6)
        assert clear.says.startswith("Clear between webs W2 and W3")

    def test_prefers_the_place_of_an_opening(self):
        document = build("w", span="24'", pitch=6)
        document["openings"] = [{"id": "O1", "shape": "circle", "centre_in": [60, 12], "diameter_in": 4}]
        plain, with_opening = (tape.dimensions(read(d))[0] for d in (build("w", span="24'", pitch=6), document))
        assert "the widest place" in plain.says
        assert "the widest place" in with_opening.says, "the first web of the pocket at 60 in. is the heel's chord"
        document["openings"][0]["centre_in"] = [144, 12]
        assert "at opening O1" in tape.dimensions(read(document))[0].says

    @pytest.mark.parametrize("kind", ["king-post", "w", "scissors", "mono", "hip", "howe", "floor", "flat", "fan"])
    def test_every_shape_has_three(self, kind):
        found = tape.dimensions(read(build(kind, span="24'")))
        assert len(found) == 3
        assert all(one.inches > 1 for one in found)
        assert len({one.says for one in found}) == 3

    def test_mirrors_move_the_marked_end(self, king_post):
        """The same wood the other way round is measured from its own left end: a moved web shows there."""
        king_post["joints"]["D"] = [100, 0]
        moved = tape.dimensions(read(king_post))[0].inches
        king_post["joints"]["D"] = [140, 0]
        assert moved != pytest.approx(tape.dimensions(read(king_post))[0].inches, abs=1)

    def test_tells_first_what_this_revision_has_otherwise(self):
        before = build("howe", span="36'", pitch=6)
        usual = tape.dimensions(read(before))
        assert tape.dimensions(read(before), read(before)) == usual, "where nothing differs, what every truss has"
        after = copy.deepcopy(before)
        web = next(m for m in after["members"] if m["id"] == "W7")
        foot = min(web["joints"], key=lambda name: after["joints"][name][1])
        after["joints"][foot][0] += 9
        found = tape.dimensions(read(after), read(before))
        assert len(found) == 3
        differing = [one for one in found if one.was is not None]
        assert [abs(one.inches - one.was) for one in differing] == [pytest.approx(9, abs=0.3)] * len(differing)
        assert differing == list(found[: len(differing)])
        assert {"W7"} <= {web for one in differing for web in one.webs}

    def test_each_is_drawn_where_the_tape_lies_with_its_letter(self):
        document = build("w", span="36'", pitch=6)
        every = tape.dimensions(read(document))
        taped = [one.drawn(letter) for letter, one in zip("ABC", every, strict=True)]
        for one in taped[:2]:
            assert math.dist(one.start, one.end) == pytest.approx(one.inches)
        for detail in ("sheet", "phone"):
            drawn = drawing.elevation(document, taped=taped, detail=detail)
            assert [f"{one.letter} {feet_inches(one.inches)}" in drawn for one in taped] == [True] * 3, detail
            assert "dim-panels" not in drawn

    def test_a_beam_has_what_can_be_measured(self):
        beam = {
            "format": "chordchange.truss",
            "version": 1,
            "mark": "B1",
            "spacing_in": 24,
            "joints": {"A": [0, 0], "B": [120, 0]},
            "members": [{"id": "B1", "role": "bottom_chord", "joints": ["A", "B"], "lumber": "2x6 DF-L No.2"}],
            "bearings": [
                {"joint": "A", "restrains": "xy", "width_in": 3.5},
                {"joint": "B", "restrains": "y", "width_in": 3.5},
            ],
        }
        assert [round(one.inches, 3) for one in tape.dimensions(read(beam))] == [5.5, 123.5]


def test_past_the_pole_report_sheet_and_refusals_say_that_the_member_buckles():
    """1,300 lb on a 2x4 of 6 ft, unbraced: fc 247.6 psi is over FcE 206.9 psi. Bent hard too, so that this governs."""
    loads = {"point": [push(1300)], "line": [line(120)]}
    document = beam(72, "2x4 DF-L No.2", restraint=None, loads=loads)
    document, analysis = read_and_analyse(document)
    told = report(analyse(read(document)))
    assert told.count("compression and bending (it buckles)") == 3
    assert worst(analysis).endswith("% (it buckles)")
    assert worst(read_and_analyse(beam(72, "2x4 DF-L No.2", loads={"point": [push(100)]}))[1]).endswith("%")
    mark = Truss(pk=1, mark="K1", current_id=1)
    revision = Revision(pk=1, truss=mark, number=0, document=document, analysis=analysis, sha256="0" * 64)
    assert answers(revision)[0].says.startswith("Compression and bending of member M (it buckles) stands at ")
    with pytest.raises(Refused, match=r"member M \(it buckles\) stands at .* nobody can accept that"):
        _refuse_never(mark, revision, Stage.RELEASED)
    analysis["checks"] = [check for check in analysis["checks"] if check["rule"] == "compression and bending"]
    with pytest.raises(Refused, match=r"of member M \(it buckles\) fails with .* nobody can accept that"):
        refuse_failures(document, analysis, ())


class TestWords:
    def test_each_kind_of_load(self, king_post):
        b1, b2 = (next(m for m in king_post["members"] if m["id"] == name) for name in ("B1", "B2"))
        length = math.dist(*(king_post["joints"][joint] for joint in b1["joints"]))
        king_post["loads"] = {
            "area": [
                {
                    "case": "attic_storage",
                    "chord": "bottom_chord",
                    "psf": 10,
                    "along": "plan",
                    "acts": "alone",
                    "from_x_in": 60,
                }
            ],
            "line": [{"case": "live", "member": "B2", "plf": 40, "from_in": 12, "to_in": 60}],
            "point": [
                {"case": "dead", "member": "B2", "at_in": 36, "down_lb": 250, "note": "air handler"},
                {"case": "wind", "joint": "B", "down_lb": -120, "right_lb": 30, "pattern": "up"},
                {"case": "dead", "member": "B2", "at_in": 0, "down_lb": 80},
                {"case": "dead", "member": "B1", "at_in": length, "down_lb": 90},
            ],
        }
        assert words.loads(read(king_post)) == [
            "Bottom chord live: 10 psf on the bottom chord, per level foot, beyond 5'-0\" from the left bearing, "
            "never together with other live loads",
            "Live: 40 plf on the bottom chord (B1.2), from 11'-0\" to 15'-0\" from the left bearing",
            "Dead: 250 lb down on the bottom chord (B1.2), 13'-0\" from the left bearing (air handler)",
            "Wind, up: 120 lb up and 30 lb to the right on the top chord, 10'-0\" from the left bearing",
            # a load at a member's very end stands on the joint there
            "Dead: 80 lb down on the bottom chord, 10'-0\" from the left bearing",
            "Dead: 90 lb down on the bottom chord, 10'-0\" from the left bearing",
        ]
        told = report(analyse(read(king_post)))
        assert f"dead: 80 lb down at joint {b2['joints'][0]}" in told
        assert f"dead: 90 lb down at joint {b1['joints'][1]}" in told

    @pytest.mark.parametrize(
        ("held", "says"),
        [
            ({"top_chord_in": 0}, "Top chord: held sideways along its whole length"),
            ({}, "Top chord: held sideways at its ends only"),
            ({"bottom_chord_in": 120}, "Bottom chord: held sideways at 10'-0\" on center or closer."),
            ({"webs": {"W1": 1}}, "Web W1: 1 row of lateral restraint, at mid-length."),
            ({"webs": {"W1": 2}}, "Web W1: 2 rows of lateral restraint, evenly spaced, 3 equal parts."),
        ],
    )
    def test_restraints(self, king_post, held, says):
        king_post["lateral_restraint"] = held
        assert any(line.startswith(says) for line in words.restraints(read(king_post)))

    def test_webs_restrained_alike_share_a_line(self):
        """R3 of the demo has five such webs: a line for each pushed two warnings of its sheet onto an empty page."""
        marks = {mark.mark: mark.document for mark in demo_set.marks()}
        told = words.restraints(read(marks["R3"]))
        assert told[2:] == ["Webs W2, W4, W5, W6 and W8: 1 row of lateral restraint each, at mid-length."]

    def test_changes(self, king_post):
        before, analysis = read_and_analyse(king_post)
        after = copy.deepcopy(king_post)
        after["joints"]["D"] = [100, 0]
        after["joints"]["E"] = [60, 30]
        after["members"][0] = {**after["members"][0], "joints": ["A", "E"]}
        after["members"].append({"id": "T3", "role": "top_chord", "joints": ["E", "B"], "lumber": "2x6 DF-L No.1"})
        after["members"].append({"id": "W2", "role": "web", "joints": ["E", "D"], "lumber": "2x4 SPF No.1/No.2"})
        after["plies"] = 2
        after, later = read_and_analyse(after)
        said = changed.changes(compare(analysis, later, before, after), before, after)
        assert "Web W1 has moved: 5'-3 1/4\" between joints now." in said
        assert "Web W2 is new: 2x4 SPF No.1/No.2, 4'-2\" between joints." in said
        assert "Plies: 2, were 1." in said
        (chord,) = [one for one in said if one.startswith("Top chord T1.1 ")]
        now, was = "5'-7 1/16\" between joints now", "was 11'-2 3/16\""  # √(60² + 30²) and √(120² + 60²) in.
        assert chord == f"Top chord T1.1 is {now}, {was}: a joint at its end has moved."

    def test_no_change_says_nothing(self, king_post):
        document, analysis = read_and_analyse(king_post)
        assert changed.changes(compare(analysis, analysis, document, document), document, document) == []


@pytest.mark.parametrize(
    ("given", "said"), [([], ""), ([4], "4"), ([3, 1, 2], "1–3"), ([1, 2, 5, 7, 8, 9], "1–2, 5, 7–9")]
)
def test_numbers_of_copies_are_shortened(given, said):
    assert sheet.numbers([Copy(number=n) for n in given]) == said


def test_alike_pieces_share_a_line():
    floor = read(build("floor", span="18'"))
    listed = sheet.pieces(floor)
    webs = [member.id for member in floor.members if member.role == "web"]
    # two chords of one board each, and the webs
    assert sorted(name for piece in listed for name in piece.names) == sorted(["T1", "B1", *webs])
    assert len(listed) < len(webs) / 2
    for piece in listed:
        if piece.role == "web":
            lengths = {round(floor.length(floor.member(name)), 1) for name in piece.names}
            assert lengths == {round(piece.length_in, 1)}
            assert piece.panels == ()
        else:
            assert piece.length_in == pytest.approx(18 * 12)
            (panels,) = piece.panels
            assert set(panels) == {member.id for member in floor.members if piece.role.startswith(member.role[:3])}


class TestCautions:
    def test_each_names_where_it_is_published(self):
        for caution in cautions.ON_EVERY_SHEET:
            assert caution.says.endswith(".")
            assert len(caution.source) > 8

    def test_a_long_span_has_one_more(self):
        """IBC 2303.4.1.3: spans of 60 ft or more."""
        assert cautions.LONG_SPAN not in cautions.cautions(719.9)
        assert cautions.cautions(720.0)[0] is cautions.LONG_SPAN


def test_the_bottom_chords_live_load_is_no_storage(king_post):
    """What acts alone is everybody's 10 psf; what acts with the other loads is stored there."""
    load = {"case": "attic_storage", "chord": "bottom_chord", "psf": 10, "along": "plan"}
    alone = {**king_post, "loads": {"area": [{**load, "acts": "alone"}]}}
    both = {**king_post, "loads": {"area": [{**load, "acts": "alone"}, load]}}
    assert sheet_facts.case_words("attic_storage", alone) == "Bottom chord live"
    assert sheet_facts.case_words("attic_storage", both) == "Attic storage"
    assert sheet_facts.case_words("attic_storage/alone", both) == "Bottom chord live"
    assert sheet_facts.case_words("snow/left", both) == "Snow, left"


@pytest.mark.parametrize(
    ("names", "says"),
    [([], ""), (["O1", "O2"], ""), (["O4"], "1–3"), (["O2", "hatch", "O4"], "1, 3"), (["O0", "x"], "")],
)
def test_numbers_that_openings_leave_out_are_told(names, says):
    assert sheet.names_elsewhere(names) == says
    told = render_to_string("trusses/_opening_names.html", {"document": {"openings": [{"id": name} for name in names]}})
    assert (f" {says} " in told) == bool(says)
    assert ("no other is missing here" in told) == bool(says)
