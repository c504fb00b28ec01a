"""The kinds of ask beside an opening, from what was sent to the answer: read, refused, computed, decided."""

from __future__ import annotations

import re

import pytest
from django.core.exceptions import PermissionDenied
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from changes import workflow
from changes.asks import as_built
from changes.inspection import showing
from changes.models import Kind, Photo, Request, State
from changes.refusals import NotAllowed
from changes.workflow.on_the_plan import shifts_of
from changes.workflow.setting import damaged
from tests.changes.asking import approve, compute, first_options, with_small_chords
from tests.refused import refused
from tests.sealed import SAID, drawing
from tests.trusses.standing import LEVEL, girder, loaded
from trusses.analysis.checks.surroundings import NOTHING_SAID
from trusses.analysis.format.document import read
from trusses.bearings import links
from trusses.copies import earlier, looks, undoing
from trusses.drawing import elevation
from trusses.models import BearingLink, Copy, MarkEvent, Placement, Stage
from trusses.plan.shifting import along_rows
from trusses.production import move
from trusses.refusals import Refused as SetRefused
from trusses.revisions import add_mark, issue_revision, read_and_analyse
from trusses.sealing import seals
from trusses.variants.moving import rows_of

LOAD = {"what": "air handler", "weight_lb": 150, "at_in": 120, "how": "hung"}
PASSAGE = {"what": "hatch", "across_in": 36, "along_in": 60, "width_in": 22, "length_in": 30, "most_gap_in": 24}
DAMAGE = {"member": "W1", "how": "cut", "at_in": 20}


@pytest.fixture
def row(truss):
    """Five copies 24 in. apart."""
    placement = Placement.objects.create(truss=truss, origin_x_in=0, origin_y_in=0, spacing_in=24, count=5)
    Copy.objects.filter(truss=truss).delete()
    Copy.objects.bulk_create(Copy(truss=truss, placement=placement, number=n) for n in range(1, 6))
    return truss


@pytest.fixture
def ask(job, row, builder, needed_by):
    def make(kind, wanted, **more):
        asks = [{"truss": row.pk, "kind": kind, kind: wanted, **more}]
        return workflow.file(builder, job, reason="The house changed", needed_by=needed_by, asks=asks)

    return make


def codes(told):
    return [one["code"] for one in told]


def answer_of(change):
    compute(change)
    assert change.state == "awaiting decision", change.computations.get().trouble
    return change.asks.get()


class TestLoad:
    def test_what_the_truss_takes_is_written_into_it_and_issued(self, ask, designer, row):
        change = ask("load", LOAD, copies=[2])
        one = answer_of(change)
        assert (one.verdict, codes(one.told)) == ("fits", ["load-taken"])
        assert one.figures["shares_lb"] == [150]
        assert len(one.figures["curve"]["xs_in"]) == len(one.figures["curve"]["pounds"]) > 10
        option = one.options.get()
        assert [(load["at_in"], load["down_lb"]) for load in option.document["loads"]["point"]] == [(120, 150)]
        assert option.title == "As it is, with the weight written in"
        approve(designer, change)
        assert change.decisions.get().issues.exists()

    def test_three_trusses_under_a_stiff_beam_take_a_third_each(self, ask):
        one = answer_of(ask("load", {**LOAD, "weight_lb": 450, "shared": "stiff"}, copies=[1, 2, 3]))
        assert one.figures["shares_lb"] == [150, 150, 150]
        assert one.verdict == "fits"

    def test_an_area_over_three_by_a_platform_that_bends(self, ask):
        wanted = {**LOAD, "shape": "area", "length_in": 48, "weight_lb": 160, "shared": "continuous"}
        one = answer_of(ask("load", wanted, copies=[1, 2, 3]))
        assert one.figures["shares_lb"] == pytest.approx([30, 100, 30])

    def test_too_much_of_it_is_answered_with_trusses_that_carry_it(self, ask):
        one = answer_of(ask("load", {**LOAD, "at_in": 60, "weight_lb": 900}, copies=[2]))
        assert (one.verdict, codes(one.told)[:2]) == ("options", ["load-over", "redesigns-pass"])
        assert all(option.worst_ratio <= 1 for option in one.options.filter(passes=True))
        kinds = {code for option in one.options.all() for code in codes(option.titled)}
        assert "upright" in kinds or "lumber" in kinds

    @pytest.mark.parametrize(
        ("wanted", "code"),
        [
            ({**LOAD, "weight_lb": 0}, "weighs-nothing"),
            ({**LOAD, "weight_lb": -1}, "weighs-nothing"),
            ({**LOAD, "shape": "pair"}, "needs-a-length"),
            ({**LOAD, "at_in": 241}, "wish"),
            ({**LOAD, "weight_lb": 20_001}, "wish"),
            ({**LOAD, "what": "piano"}, "wish"),
            ({**LOAD, "size": 3}, "wish"),
            ({**LOAD, "off_in": 60, "shared": "stiff"}, "wish"),
            ({"what": "stone"}, "wish"),
            (None, "wish"),
            ("heavy", "wish"),
        ],
    )
    def test_what_is_refused(self, ask, wanted, code):
        with refused(workflow.Refused, code):
            ask("load", wanted, copies=[1, 2, 3])

    @pytest.mark.parametrize("at_in", [0, 240])
    def test_over_a_bearing_it_has_a_place(self, ask, at_in):
        assert ask("load", {**LOAD, "at_in": at_in}).pk

    def two(self, job, row, builder, needed_by, first, second, copies=([2, 3], [2, 3])):
        those = [(LOAD | one, numbers) for one, numbers in zip((first, second), copies, strict=True)]
        asks = [{"truss": row.pk, "kind": "load", "load": one, "copies": numbers} for one, numbers in those]
        return workflow.file(builder, job, reason="Two", needed_by=needed_by, asks=asks)

    def test_two_weights_on_the_same_copies_are_answered_together(self, job, row, builder, designer, needed_by):
        """On a king post 60 lb at a quarter of the span and 150 lb at its middle: one document has both, and each is
        told what would be the most beside the other, which is less than the most alone."""
        alone = answer_of(self.one(job, row, builder, needed_by)).figures["most_lb"]
        change = self.two(job, row, builder, needed_by, {}, {"at_in": 60, "weight_lb": 60, "what": "stone"})
        compute(change)
        one, other = change.asks.order_by("id")
        assert (one.verdict, other.verdict) == ("fits", "fits")
        assert [codes(ask.told) for ask in (one, other)] == [["load-taken-beside"]] * 2
        assert one.figures["most_lb"] < alone
        option = one.options.get()
        assert option == other.options.get()
        assert [load["down_lb"] for load in option.document["loads"]["point"]] == [150, 60]
        only_one = {**row.current.document, "loads": {**row.current.document["loads"]}}
        only_one["loads"]["point"] = option.document["loads"]["point"][:1]
        with refused(workflow.Refused, "not-written-in", name="stone"):
            workflow.draw_option(designer, change, ask=one, document=only_one, title="Without the stone")
        decided = workflow.decide(
            designer, change, verdict="approve", options={one.pk: option.pk, other.pk: option.pk}, reason="Both"
        )
        assert len(decided.issues.get().revision.document["loads"]["point"]) == 2

    def one(self, job, row, builder, needed_by):
        asks = [{"truss": row.pk, "kind": "load", "load": LOAD, "copies": [4]}]
        return workflow.file(builder, job, reason="One", needed_by=needed_by, asks=asks)

    def test_two_weights_in_one_place_are_more_than_one(self, job, row, builder, designer, needed_by):
        """Half of what both weigh in that place isn't both of them."""
        change = self.two(job, row, builder, needed_by, {}, {"what": "stone"})
        compute(change)
        one = change.asks.first()
        half = {**row.current.document, "loads": {**row.current.document["loads"]}}
        half["loads"]["point"] = one.options.get().document["loads"]["point"][:1]
        with refused(workflow.Refused, "not-written-in"):
            workflow.draw_option(designer, change, ask=one, document=half, title="Half")

    def test_two_weights_on_some_of_the_same_copies(self, job, row, builder, designer, needed_by):
        """300 lb on a stiff beam over copies 1 and 2, 120 lb over 2 and 3: copy 1 carries 150, copy 2 150 and 60, and
        copy 3 60. Each is drawn for what lies on it, and no weight is approved on some of its copies alone."""
        beam = {"weight_lb": 300, "shared": "stiff"}
        stone = {"weight_lb": 120, "shared": "stiff", "at_in": 60, "what": "stone"}
        change = self.two(job, row, builder, needed_by, beam, stone, ([1, 2], [2, 3]))
        compute(change)
        held = {}
        for one in change.asks.all():
            assert one.verdict == "fits", one.says
            option = one.options.get()
            held[tuple(one.copies)] = sorted(load["down_lb"] for load in option.document["loads"]["point"])
        assert held == {(1,): [150], (2,): [60, 150], (3,): [60]}
        assert [codes(one.told)[0] for one in change.asks.order_by("copies", "id")] == [
            "load-taken",
            "load-taken-beside",
            "load-taken-beside",
            "load-taken",
        ]
        chosen = first_options(change)
        first = change.asks.get(copies=[1])
        some = {pk: option for pk, option in chosen.items() if pk != first.pk}
        with refused(workflow.Refused, "left-together"):
            approve(designer, change, some, leaves=[first.pk], reason="Not there")
        approve(designer, change, chosen, reason="All of it")
        assert {copy.number: copy.truss.mark for copy in Copy.objects.all()}.keys() == {1, 2, 3, 4, 5}
        assert len({copy.truss.mark for copy in Copy.objects.filter(number__in=(1, 2, 3))}) == 3

    def test_a_copy_cut_meanwhile_takes_no_share_that_nobody_looked_at(self, job, row, builder, designer, needed_by):
        wanted = {"weight_lb": 300, "shared": "stiff"}
        change = self.two(job, row, builder, needed_by, wanted, {**wanted, "at_in": 60}, ([1, 2], [2, 3]))
        compute(change)
        Copy.objects.filter(truss=row, number=2).update(stage=Stage.CUT)
        compute(workflow.compute_again(builder, change))
        kept = {tuple(one.copies): one.figures["shares_lb"] for one in change.asks.filter(copies__in=([1], [3]))}
        assert kept == {(1,): [300], (3,): [300]}
        left = [one.pk for one in change.asks.filter(copies=[2])]
        chosen = {pk: option for pk, option in first_options(change).items() if pk not in left}
        approve(designer, change, chosen, leaves=left, reason="Copy 2 is cut; its repair is asked for apart")

    def test_too_much_in_all_is_said_of_each(self, job, row, builder, needed_by):
        change = self.two(job, row, builder, needed_by, {"weight_lb": 3000}, {"at_in": 60, "weight_lb": 3000})
        compute(change)
        for one in change.asks.all():
            assert codes(one.told)[0] == "load-over-beside"
            assert one.options.count() == change.options.count() > 0

    def test_an_option_that_lacks_the_weight_is_not_drawn(self, ask, designer, row):
        change = ask("load", LOAD, copies=[2])
        one = answer_of(change)
        with refused(workflow.Refused, "not-written-in", name="air handler"):
            workflow.draw_option(designer, change, ask=one, document=row.current.document, title="Without")


class TestBearing:
    def test_a_bearing_added_under_a_panel_point(self, ask):
        one = answer_of(ask("bearing", {"change": "added", "at_in": 120, "width_in": 3.5}))
        assert one.verdict in ("fits", "options")
        for option in one.options.filter(passes=True):
            assert len(read(option.document).bearings) == 3

    def test_a_wall_moved_is_told_of_in_between(self, ask):
        one = answer_of(ask("bearing", {"change": "moved", "joint": "C", "to_in": 228}))
        assert [state["state"] for state in one.figures["between"]] == ["gone", "both"]
        assert one.figures["between"][0]["moving"]["code"] == "whole-turns"
        assert "in-between" in codes(one.told)
        assert "shore it first" in one.says

    def test_the_only_other_wall_taken_away_has_no_answer(self, ask):
        one = answer_of(ask("bearing", {"change": "taken away", "joint": "C"}))
        assert one.verdict == "none pass"
        assert codes(one.told)[0] == "bearing-lets-move"

    def test_a_moved_bearing_is_issued_and_what_stood_there_is_to_be_said_anew(
        self, ask, designer, row, client_of, job
    ):
        links.set_link(designer, row, "C", wall="south wall")
        change = ask("bearing", {"change": "moved", "joint": "C", "to_in": 236})
        one = answer_of(change)
        option = one.options.filter(passes=True).first()
        assert option, one.says
        approve(designer, change, {one.pk: option.pk}, reason="The wall comes in")
        issued = change.decisions.get().issues.get().revision
        assert sorted(issued.document["joints"][b["joint"]][0] for b in issued.document["bearings"]) == [0, 236]
        page = client_of(designer).get(reverse("trusses:mark", args=[job.pk, issued.truss_id]))
        assert page.status_code == 200

    def test_walls_as_they_were_measured(self, ask):
        walls = [{"joint": "A", "x_in": 0, "y_in": -0.5}, {"joint": "C", "x_in": 240, "y_in": 0}]
        one = answer_of(ask("bearing", {"change": "measured", "walls": walls}))
        assert one.verdict == "fits"
        assert one.figures["shims_in"] == {"A": 0.5}
        assert "shims" in codes(one.told)

    @pytest.mark.parametrize(
        "wanted",
        [
            {"change": "moved", "joint": "Q", "to_in": 20},
            {"change": "moved", "joint": "C", "to_in": 241},
            {"change": "moved", "joint": "C"},
            {"change": "added", "at_in": 240, "width_in": 3.5},
            {"change": "added", "at_in": 120, "width_in": 0},
            {"change": "measured", "walls": [{"joint": "C", "x_in": 250, "y_in": 0}]},
            {"change": "measured", "walls": {}},
            {"change": "bent"},
            None,
        ],
    )
    def test_what_is_refused(self, ask, wanted):
        with refused(workflow.Refused, "wish"):
            ask("bearing", wanted)


class TestPassage:
    def test_a_hatch_in_a_bay_changes_nothing(self, ask):
        one = answer_of(ask("passage", PASSAGE))
        assert (one.verdict, one.copies) == ("fits", [2, 3])
        assert not one.options.exists()
        assert [way["kind"] for way in one.figures["ways"]] == ["as-it-is"]

    def test_a_hatch_on_a_truss_has_every_way_beside_the_others(self, ask):
        one = answer_of(ask("passage", {**PASSAGE, "across_in": 48, "most_gap_in": 48}))
        assert one.copies == [2, 3, 4]
        kinds = {way["kind"] for way in one.figures["ways"]}
        assert {"moved", "shifted", "left-out", "headers"} <= kinds
        assert one.verdict == "options"
        titles = [option.title for option in one.options.all()]
        assert any(title.startswith("Shift copy 3") for title in titles)

    def test_a_shift_is_issued_as_one_design_for_the_trusses_that_change(self, ask, designer):
        change = ask("passage", {**PASSAGE, "across_in": 48, "most_gap_in": 48})
        one = answer_of(change)
        option = next(each for each in one.options.filter(passes=True) if each.titled[0]["code"] == "shifted")
        approve(designer, change, {one.pk: option.pk}, reason="Shifted on the plan")
        issued = change.decisions.get().issues.get().revision
        assert issued.document["spacing_in"] > 24
        assert issued.truss.copies.count() == 3

    def issued(self, ask, designer, code):
        change = ask("passage", {**PASSAGE, "across_in": 48, "most_gap_in": 48})
        one = answer_of(change)
        option = next(each for each in one.options.filter(passes=True) if each.titled[0]["code"] == code)
        approve(designer, change, {one.pk: option.pk}, reason="Shifted on the plan")
        change.refresh_from_db()
        return change, option

    def places(self, row):
        family = [row, *row.variants.all()]
        return along_rows(one for truss in family for one in rows_of(truss))

    def test_what_is_shifted_is_moved_on_the_plan_in_one_act(self, ask, row, designer, builder, site_lead):
        """Five copies stand 24 in. apart along x; copy 3 goes aside by what its option says, the others stay."""
        change, option = self.issued(ask, designer, "shifted")
        ((number, by),) = option.titled[0]["values"]["moved"]
        assert self.places(row) == {1: 0, 2: 24, 3: 48, 4: 72, 5: 96}
        for person in (builder, site_lead):
            with pytest.raises(PermissionDenied):
                workflow.move_on_the_plan(person, change)
        workflow.move_on_the_plan(designer, change)
        assert self.places(row) == {1: 0, 2: 24, 3: pytest.approx(48 + by), 4: 72, 5: 96}
        assert number == 3
        event = MarkEvent.objects.get(code="shifted")
        assert (event.values, event.by) == ({"moved": {"3": by}, "out": []}, designer)
        assert change.events.get(verb="move on the plan").values["moved"] == [[3, by]]
        with pytest.raises(workflow.Conflict):
            workflow.move_on_the_plan(designer, change)

    def test_what_is_left_out_goes_from_the_plan(self, ask, row, designer):
        change, _ = self.issued(ask, designer, "left-out")
        workflow.move_on_the_plan(designer, change)
        assert self.places(row) == {1: 0, 2: 24, 4: 72, 5: 96}
        assert not Copy.objects.filter(number=3, truss__job=row.job).exists()

    def test_a_row_that_stands_otherwise_by_now_is_left_alone(self, ask, row, designer):
        change, _ = self.issued(ask, designer, "shifted")
        Placement.objects.filter(copies__number=3).update(origin_y_in=60)
        with refused(SetRefused, "row-moved-since"):
            workflow.move_on_the_plan(designer, change)
        assert not change.events.filter(verb="move on the plan").exists()

    def test_what_is_cut_meanwhile_is_not_moved(self, ask, row, designer):
        change, _ = self.issued(ask, designer, "shifted")
        Copy.objects.filter(number=3).update(stage=Stage.CUT)
        with refused(SetRefused, "shifted-cut", copies=[3]):
            workflow.move_on_the_plan(designer, change)

    def test_what_is_released_meanwhile_is_not_left_out(self, ask, row, designer):
        change, _ = self.issued(ask, designer, "left-out")
        Copy.objects.filter(number=3).update(stage=Stage.RELEASED)
        with refused(SetRefused, "left-out-begun", copies=[3]):
            workflow.move_on_the_plan(designer, change)
        assert self.places(row)[3] == 48

    def test_what_stands_on_a_carrier_moves_by_no_way_that_passes(self, ask, row, job, designer):
        """K1 along y, 24 in. apart along x, its bearings C on a girder whose sums know no other places."""
        g1 = girder(job, designer, y=240, span=180)
        Placement.objects.filter(truss=row).update(level=LEVEL, direction="y", origin_x_in=42)
        links.set_link(designer, row, "C", carrier=g1)
        loaded(g1, designer)
        assert links.carriers_above([row]) == [g1]
        one = answer_of(ask("passage", {**PASSAGE, "across_in": 48, "most_gap_in": 48}))
        assert one.verdict == "none pass"
        assert {option.titled[0]["code"] for option in one.options.all()} >= {"shifted", "left-out"}
        for option in one.options.all():
            assert not option.passes
            assert option.told[0] == {"code": "moves-on-carrier", "values": {"mark": "K1", "carriers": ["G1"]}}
        assert not any(way["passes"] for way in one.figures["ways"] if way["moved_in"] or way["left_out"])

    def test_copies_that_join_a_variant_are_moved_on_the_plan_too(self, ask, row, designer):
        """The same hatch in another row of the mark: the design is there already, and the plan still has to follow."""
        self.issued(ask, designer, "shifted")
        other = Placement.objects.create(truss=row, origin_x_in=0, origin_y_in=900, spacing_in=24, count=5)
        Copy.objects.bulk_create(Copy(truss=row, placement=other, number=n) for n in range(6, 11))
        change = ask("passage", {**PASSAGE, "across_in": 48, "most_gap_in": 48}, copies=[6])
        one = answer_of(change)
        option = next(each for each in one.options.filter(passes=True) if each.titled[0]["code"] == "shifted")
        decision = approve(designer, change, {one.pk: option.pk}, reason="Here too")
        assert not decision.issues.exists()
        (asked,) = shifts_of(change)
        assert set(asked.moved) == {8}
        before = self.places(row)[8]
        workflow.move_on_the_plan(designer, change)
        assert self.places(row)[8] == before + asked.moved[8]

    def test_accepting_its_deflection_lets_nothing_move_on_a_carrier(self, ask, row, job, designer, monkeypatch):
        """A truss that sags too much once it carries more, and that nothing makes stiffer: what bars it isn't that."""
        soft = with_small_chords(row.current.document)
        for load in soft["loads"]["area"]:
            load["psf"] = 2 if load["case"] == "snow" else load["psf"]
        issue_revision(row, row.current, *read_and_analyse(soft, NOTHING_SAID), designer)
        row.refresh_from_db()
        g1 = girder(job, designer, y=240, span=180)
        Placement.objects.filter(truss=row).update(level=LEVEL, direction="y", origin_x_in=42)
        links.set_link(designer, row, "C", carrier=g1)
        loaded(g1, designer)
        monkeypatch.setattr("trusses.analysis.passages.ways.made_stronger", lambda *_, **__: [])
        change = ask("passage", {**PASSAGE, "across_in": 48, "most_gap_in": 48})
        one = answer_of(change)
        barred = [option for option in one.options.all() if option.titled[0]["code"] in ("shifted", "left-out")]
        failing = [{check["rule"] for check in each.analysis["checks"] if not check["passes"]} for each in barred]
        assert {"total deflection"} in failing
        for option, rules in zip(barred, failing, strict=True):
            assert option.bars[0]["code"] == "moves-on-carrier"
            wanted = {"verdict": "approve", "options": {one.pk: option.pk}, "accepts": rules & {"total deflection"}}
            with refused(workflow.Refused, "option-barred"):
                workflow.decide(designer, change, **wanted, reason="No plaster there")

    @pytest.mark.parametrize("stage", [Stage.RELEASED, Stage.CUT])
    def test_nothing_moves_on_a_carrier_that_is_released(self, ask, row, job, designer, stage):
        change, _ = self.issued(ask, designer, "shifted")
        g1, before = girder(job, designer, y=240), self.places(row)
        for truss in (row, *row.variants.all()):
            BearingLink.objects.create(truss=truss, joint="C", carrier=g1, said_by=designer)
        g1.copies.update(stage=stage)
        with refused(SetRefused, "shifted-off-carrier", carrier="G1"):
            workflow.move_on_the_plan(designer, change)
        assert self.places(row) == before
        g1.copies.update(stage=Stage.DESIGNING)
        workflow.move_on_the_plan(designer, change)
        assert self.places(row) != before

    def test_before_and_after_are_shown_before_it_is_done(self, ask, row, designer, builder, client_of, api_of):
        change, _ = self.issued(ask, designer, "shifted")
        desk, at = client_of(designer), f"/requests/{change.pk}/"
        assert "move them</a>" in desk.get(at).content.decode()
        assert "A designer moves them" in client_of(builder).get(at).content.decode()
        page = desk.get(f"{at}plan/").content.decode()
        assert "After: Roof" in page
        assert page.count('class="plan"') == 2
        assert len(set(re.findall(r'data-scale="([^"]+)"', page))) == 1
        assert client_of(builder).get(f"{at}plan/").status_code == 403
        assert api_of(builder).post(f"/api/v1{at}plan/").status_code == 403
        assert desk.post(f"{at}plan/").status_code == 302
        assert self.places(row)[3] != 48
        assert desk.get(f"{at}plan/").status_code == 404
        assert api_of(designer).post(f"/api/v1{at}plan/").status_code == 409

    @pytest.mark.parametrize(
        "wanted",
        [
            {**PASSAGE, "across_in": 5},
            {**PASSAGE, "across_in": 95},
            {**PASSAGE, "along_in": 230},
            {**PASSAGE, "width_in": 0},
            {**PASSAGE, "what": "door"},
            {},
        ],
    )
    def test_what_is_refused(self, ask, wanted):
        with refused(workflow.Refused, "wish"):
            ask("passage", wanted)

    def test_two_trusses_are_no_row(self, ask, row):
        Copy.objects.filter(truss=row, number__gt=2).delete()
        with refused(workflow.Refused, "row-too-short"):
            ask("passage", PASSAGE)


class TestDamage:
    def test_first_what_to_do_then_what_it_does_and_what_a_repair_carries(self, ask):
        one = answer_of(ask("damage", DAMAGE, copies=[3]))
        assert codes(one.told)[:3] == ["keep-off", "shore-at", "whom-to-call"]
        assert one.verdict == ""
        assert one.figures["shores"] == ["D"]
        assert one.figures["repair"]["nailing"]
        assert not one.options.exists()

    @pytest.mark.parametrize("how", ["cut", "notched", "split", "plate torn", "end short", "bow"])
    @pytest.mark.parametrize("member", ["W1", "B1", "T1"])
    def test_nothing_ever_passes(self, ask, how, member):
        one = answer_of(ask("damage", {**DAMAGE, "how": how, "member": member, "size_in": 1}, copies=[3]))
        assert "pass" not in one.says.lower()

    @pytest.mark.parametrize(
        ("wanted", "more", "code"),
        [
            (DAMAGE, {}, "damaged-copies"),
            ({**DAMAGE, "member": "W9"}, {"copies": [3]}, "wish"),
            ({**DAMAGE, "at_in": 61}, {"copies": [3]}, "wish"),
            ({**DAMAGE, "acting": ["wind"]}, {"copies": [3]}, "wish"),
            ({**DAMAGE, "how": "tired"}, {"copies": [3]}, "wish"),
            (DAMAGE, {"copies": [3], "photos": [1]}, "no-such-photo"),
            (DAMAGE, {"copies": [3], "photos": "1"}, "photos-no-list"),
        ],
    )
    def test_what_is_refused(self, ask, wanted, more, code):
        with refused(workflow.Refused, code):
            ask("damage", wanted, **more)

    def test_a_copy_that_is_set_can_be_told_of(self, ask, row):
        Copy.objects.filter(truss=row).update(stage=Stage.SET)
        assert ask("damage", DAMAGE, copies=[3]).asks.get().copies == [3]

    def test_it_is_not_set_until_a_sealed_repair_ends_it(self, judged_here, ask, row, designer, builder, site_lead):
        change = ask("damage", DAMAGE, copies=[3])
        answer_of(change)
        Copy.objects.filter(truss=row).update(stage=Stage.DELIVERED, built_to=row.current)
        third, fourth = Copy.objects.filter(truss=row, number__in=(3, 4)).order_by("number")
        with refused(SetRefused, "copy-damaged", copies=[3], request=change.pk):
            move(site_lead, row, [third.pk, fourth.pk], Stage.SET)
        assert move(site_lead, row, [fourth.pk], Stage.SET) == 1
        with refused(workflow.Refused, "say-what-was-done"):
            workflow.decide(designer, change, verdict="approve")
        sealed = {"verdict": "approve", "reason": "Repair drawing 12, sealed by the engineer"}
        with refused(workflow.Refused, "damage-ends-by"):
            workflow.decide(designer, change, **sealed)
        with refused(workflow.Refused, "repair-without-drawing"):
            workflow.decide(designer, change, **sealed, ends_by="repair")
        today, attached = row.job.today(), self.attach(designer, change)
        with refused(SetRefused, "copy-damaged"):
            move(site_lead, row, [third.pk], Stage.SET)
        workflow.decide(designer, change, **sealed, ends_by="repair")
        with refused(SetRefused, "repair-lacks", lacks=["carried out"], copies=[3]):
            move(site_lead, row, [third.pk], Stage.SET)
        with pytest.raises(PermissionDenied):
            seals.record(builder, attached, "carried out", name="A name", on=today)
        seals.record(site_lead, attached, "carried out", name="An invented name", on=today)
        assert move(site_lead, row, [third.pk], Stage.SET) == 1
        assert "attach a repair" in change.events.values_list("verb", flat=True)

    def test_an_inspector_is_told_of_an_end_only_once_the_copy_may_be_set(
        self, judged_here, ask, row, designer, builder, site_lead
    ):
        (change, job) = ask("damage", DAMAGE, copies=[3]), row.job
        answer_of(change)
        first = self.attach(designer, change)
        ends = [showing.repairs(job)[0].end]
        seals.record(site_lead, first, "carried out", name="A name", on=job.today())
        ends.append(showing.repairs(job)[0].end)
        workflow.decide(designer, change, verdict="approve", reason="Repair 12", ends_by="repair")
        ends.append(showing.repairs(job)[0].end)
        workflow.decide(designer, change, verdict="approve", reason="It bows", ends_by="keep off")
        ends.append(showing.repairs(job)[0].end)
        assert ends == ["", "", "repair", ""]

    def attach(self, designer, change, words="a repair", **said):
        sent, one = drawing(words), change.asks.get()
        said = {**SAID, "sealed_on": change.job.today(), **said}
        return workflow.attach_repair(designer, change, one, sent, len(sent.getvalue()), **said)

    def test_a_corrected_repair_is_looked_at_anew(self, judged_here, ask, row, designer, site_lead):
        change = ask("damage", DAMAGE, copies=[3])
        answer_of(change)
        first = self.attach(designer, change)
        workflow.decide(designer, change, verdict="approve", reason="Repair 12", ends_by="repair")
        seals.record(site_lead, first, "carried out", name="A name", on=row.job.today())
        Copy.objects.filter(truss=row).update(stage=Stage.DELIVERED, built_to=row.current)
        third = row.copies.get(number=3)
        assert damaged([third]) is None
        with refused(SetRefused, "sealed-already"):
            self.attach(designer, change, "corrected")
        self.attach(designer, change, "corrected", replaces=first, reason="A scab was short")
        assert damaged([third]).code == "repair-lacks"
        assert seals.seal_of(row.current) is None

    def test_the_job_s_review_counts_for_repairs_too(self, judged_here, ask, row, designer, site_lead, builder):
        seals.say_what_is_asked(designer, row.job, review=True, acceptance=False, without="warns")
        change = ask("damage", DAMAGE, copies=[3])
        answer_of(change)
        attached = self.attach(designer, change)
        workflow.decide(designer, change, verdict="approve", reason="Repair 12", ends_by="repair")
        third = row.copies.get(number=3)
        assert damaged([third]).values["lacks"] == ["reviewed", "carried out"]
        seals.withdraw(designer, attached, "The engineer took it back")
        assert damaged([third]).code == "copy-damaged"

    def test_only_damage_is_repaired_and_only_by_the_designer(self, judged_here, ask, builder, site_lead, designer):
        question = ask("question", {"says": "May I?"})
        with refused(workflow.Refused, "repairs-no-damage"):
            self.attach(designer, question)
        change = ask("damage", DAMAGE, copies=[3])
        for person in (builder, site_lead):
            with pytest.raises(NotAllowed):
                self.attach(person, change)
        # as it could be before: what is told as damage is withdrawn no more
        change.__class__.objects.filter(pk=change.pk).update(state=State.WITHDRAWN)
        change.refresh_from_db()
        with refused(workflow.Refused, "repairs-nothing-withdrawn"):
            self.attach(designer, change)

    def test_a_new_truss_ends_it_too(self, ask, row, designer, site_lead):
        change = ask("damage", DAMAGE, copies=[3])
        answer_of(change)
        workflow.decide(designer, change, verdict="approve", reason="Built anew on Monday", ends_by="new truss")
        Copy.objects.filter(truss=row).update(stage=Stage.DELIVERED, built_to=row.current)
        assert move(site_lead, row, [row.copies.get(number=3).pk], Stage.SET) == 1

    @pytest.mark.parametrize("recorded", [True, False])
    def test_the_damaged_truss_itself_is_never_set(self, ask, row, designer, site_lead, recorded):
        change = ask("damage", DAMAGE, copies=[3, 4])
        answer_of(change)
        at = {"released_to": row.current, "built_to": row.current} if recorded else {}
        Copy.objects.filter(truss=row).update(stage=Stage.DELIVERED, **at)
        third, fourth, fifth = row.copies.filter(number__in=(3, 4, 5)).order_by("number")
        Copy.objects.filter(pk=fourth.pk).update(stage=Stage.SET)
        workflow.decide(designer, change, verdict="approve", reason="A new one", ends_by="new truss")
        for copy in (third, fourth, fifth):
            copy.refresh_from_db()
        assert (third.stage, third.built_to, fourth.stage, fifth.stage) == ("designing", None, "designing", "delivered")
        with refused(SetRefused, "too-early", copies=[3]):
            move(site_lead, row, [third.pk], Stage.SET)
        told = [(one.values["from"], one.values["copies"], one.by) for one in row.events.filter(code="made anew")]
        assert told == [("delivered", [3], designer), ("set", [4], designer)]
        assert ("built to revision 0 is" in row.events.filter(code="made anew")[0].told) is recorded

    def test_a_cut_isn_t_taken_back_from_under_its_repair(self, judged_here, ask, row, designer, site_lead):
        third, fourth = row.copies.filter(number__in=(3, 4)).order_by("number")
        move(designer, row, [third.pk, fourth.pk], "released")
        for copy in (third, fourth):
            move(designer, row, [copy.pk], "cut")
        of_fourth, of_third = row.events.filter(values__to="cut").order_by("-pk")
        change = ask("damage", DAMAGE, copies=[3])
        with refused(SetRefused, "undo-damaged", copies=[3], request=change.pk):
            undoing.take_back(designer, row, of_third)
        answer_of(change)
        attached = self.attach(designer, change)
        workflow.decide(designer, change, verdict="approve", reason="Repair 12", ends_by="repair")
        seals.record(site_lead, attached, "carried out", name="A name", on=row.job.today())
        with refused(SetRefused, "undo-damaged"):
            undoing.take_back(designer, row, of_third)
        assert undoing.take_back(designer, row, of_fourth) == [4]
        # where another is made in its place, that one's cut is as any other
        again = ask("damage", {**DAMAGE, "note": "No room for the scab"}, copies=[3])
        answer_of(again)
        workflow.decide(designer, again, verdict="approve", reason="Built anew", ends_by="new truss")
        move(designer, row, [third.pk], "released")
        move(designer, row, [third.pk], "cut")
        assert undoing.take_back(designer, row, row.events.filter(values__to="cut").last()) == [3]

    def test_the_order_of_setting_tells_of_all_that_keeps_off(
        self, ask, row, builder, designer, site_lead, king_post, client_of, django_assert_max_num_queries
    ):
        Copy.objects.filter(truss=row).update(stage=Stage.DELIVERED, built_to=row.current)
        second = add_mark(row.job, {**king_post, "mark": "K2"}, 5, designer)
        place = Placement.objects.create(truss=second, origin_x_in=0, origin_y_in=200, spacing_in=24, count=5)
        second.copies.update(stage=Stage.DELIVERED, built_to=second.current, placement=place)
        ask("damage", DAMAGE, copies=[3])
        page = f"/jobs/{row.job_id}/setting/"

        def off():
            rows = client_of(site_lead).get(page).content.decode().split('class="to-set')[1:]
            return [re.search(r"<b>(K\d-\d)</b>", one)[1] for one in rows if "don’t set" in one]

        seals.say_what_is_asked(designer, row.job, review=False, acceptance=False, without="blocks")
        with django_assert_max_num_queries(30):
            assert off() == [f"K{mark}-{n}" for mark in (1, 2) for n in range(1, 6)], "nothing is sealed"
        seals.say_what_is_asked(designer, row.job, review=False, acceptance=False, without="warns")
        assert off() == ["K1-3"], "another mark's copy of that number isn't damaged"
        looks.tick(site_lead, row, [row.copies.get(number=4).pk], Stage.SET, points={"place": False})
        issue_revision(
            second, second.current, *read_and_analyse({**second.current.document, "title": "B"}, NOTHING_SAID), designer
        )
        second.refresh_from_db()
        earlier.say(designer, second, [1, 2, 3], "stays", "As built")
        earlier.say(designer, second, [4], "waits", "The crane")
        assert off() == ["K1-3", "K1-4", "K2-4", "K2-5"]

    def test_nothing_else_ends_by_a_repair(self, ask, designer):
        change = ask("question", {"says": "May I?"})
        answer_of(change)
        with refused(workflow.Refused, "ends-no-damage"):
            workflow.decide(designer, change, verdict="approve", reason="Yes", ends_by="repair")

    def test_what_was_found_at_delivery_goes_this_way_once_it_is_told_of(self, ask, row, site_lead):
        Copy.objects.filter(truss=row).update(stage=Stage.DELIVERED, built_to=row.current)
        third = row.copies.get(number=3)
        looks.tick(site_lead, row, [third.pk], Stage.SET, points={"wood": False})
        assert [one.why.code for one in looks.keeps_off([third])] == ["look-open"]
        change = ask("damage", DAMAGE, copies=[3])
        assert not list(looks.keeps_off([third]))
        assert damaged([third]).code == "copy-damaged"
        Request.objects.filter(pk=change.pk).update(state=State.WITHDRAWN)  # before its answer
        assert [one.why.code for one in looks.keeps_off([third])] == ["look-open"], (
            "taken back, nothing of it is closed"
        )

    def test_a_designer_who_declines_says_that_it_is_not_damaged(self, ask, row, designer, site_lead, client):
        change = ask("damage", DAMAGE, copies=[3])
        answer_of(change)
        Copy.objects.filter(truss=row).update(stage=Stage.DELIVERED, built_to=row.current)
        third = row.copies.get(number=3)
        assert damaged([third]).code == "copy-damaged"
        client.force_login(designer)
        page = client.get(reverse("changes:request", args=[change.pk])).content.decode()
        assert "Declining says by your name and reason that the truss isn't damaged." in page
        with refused(workflow.Refused, "say-why-declined"):
            workflow.decide(designer, change, verdict="decline")
        workflow.decide(designer, change, verdict="decline", reason="It was copy 4")
        assert (
            "By this the truss isn't damaged"
            in client.get(reverse("changes:request", args=[change.pk])).content.decode()
        )
        assert move(site_lead, row, [third.pk], Stage.SET) == 1

    def test_a_repair_that_turns_out_impossible_ends_by_a_new_truss_told_of_again(
        self, judged_here, ask, row, designer
    ):
        first = ask("damage", DAMAGE, copies=[3, 4])
        answer_of(first)
        self.attach(designer, first)
        workflow.decide(designer, first, verdict="approve", reason="Repair 12", ends_by="repair")
        third, fourth = row.copies.filter(number__in=(3, 4)).order_by("number")
        again = ask("damage", {**DAMAGE, "note": "No room for the scab"}, copies=[3])
        later = ask("damage", {**DAMAGE, "member": "B1"}, copies=[3])
        answer_of(again)
        workflow.decide(designer, again, verdict="approve", reason="Built anew", ends_by="new truss")
        assert damaged([third]).values["request"] == later.pk
        compute(later)
        workflow.decide(designer, later, verdict="decline", reason="The same break")
        assert damaged([third]) is None
        assert damaged([fourth]).code == "repair-lacks"

    def test_a_designer_keeps_it_off_limits_until_something_ends_it(
        self, judged_here, ask, row, designer, client_of, api_of, site_lead
    ):
        change = ask("damage", DAMAGE, copies=[3])
        answer_of(change)
        Copy.objects.filter(truss=row).update(stage=Stage.DELIVERED, built_to=row.current)
        third, page = row.copies.get(number=3), f"/requests/{change.pk}/"
        desk = client_of(designer)
        words = {"verdict": "approve", "ends_by": "keep off"}
        assert desk.post(f"{page}decide/", words).status_code == 422
        for said in ("Nobody under it before Monday", "The engineer comes on Tuesday"):
            assert desk.post(f"{page}decide/", {**words, "reason": said}).status_code == 302
            assert said in client_of(site_lead).get(page).content.decode()
            change.refresh_from_db()
            assert (change.state, damaged([third]).code) == (State.AWAITING_DECISION, "copy-damaged")
            told = api_of(site_lead).get(f"/api/v1/requests/{change.pk}/").json()["decision"]
            assert (told["ends_by"], told["reason"]) == ("keep off", said)
        workflow.decide(designer, change, verdict="approve", reason="Built anew", ends_by="new truss")
        assert damaged([third]) is None
        assert "It doesn't end by that after all" in desk.get(page).content.decode()
        assert "It doesn't end by that after all" not in client_of(site_lead).get(page).content.decode()
        # told of anew in the same words meanwhile, it doesn't stand in the way
        again = ask("damage", DAMAGE, copies=[3])
        answer_of(again)
        assert desk.post(f"{page}decide/", {**words, "reason": "There is no lumber for it"}).status_code == 302
        change.refresh_from_db()
        assert change.state == State.AWAITING_DECISION
        workflow.decide(designer, again, verdict="decline", reason="Told twice")
        assert damaged([third]).values["request"] == change.pk
        self.attach(designer, change)
        workflow.decide(designer, change, verdict="approve", reason="Repair 12", ends_by="repair")
        assert damaged([third]).code == "repair-lacks"

    def test_what_stays_off_limits_is_said_of_damage_alone(self, job, row, builder, designer, needed_by):
        told = {"kind": "damage", "truss": row, "copies": [3], "damage": DAMAGE}
        weight = {"kind": "load", "truss": row, "copies": [4], "load": LOAD}
        change = workflow.file(builder, job, reason="Both", needed_by=needed_by, asks=[told, weight])
        compute(change)
        with refused(workflow.Refused, "keep-off-alone"):
            workflow.decide(designer, change, verdict="approve", reason="Wait", ends_by="keep off")

    def test_where_its_computation_breaks_a_designer_still_ends_it(self, ask, row, designer, client_of):
        change = ask("damage", DAMAGE, copies=[3])
        change.__class__.objects.filter(pk=change.pk).update(state=State.FAILED)
        page = client_of(designer).get(f"/requests/{change.pk}/").content.decode()
        assert 'value="decline"' in page
        assert 'value="approve"' not in page
        assert 'value="send back"' not in page
        change.refresh_from_db()
        workflow.decide(designer, change, verdict="decline", reason="It was another copy")
        assert damaged([row.copies.get(number=3)]) is None

    def test_its_asker_neither_withdraws_it_nor_asks_something_else_instead(self, ask, row, designer, client):
        third, change = row.copies.get(number=3), ask("damage", DAMAGE, copies=[3])
        builder = change.filed_by
        with refused(workflow.Conflict, "damage-stays"):
            workflow.withdraw(builder, change)
        answer_of(change)
        client.force_login(builder)
        assert (
            reverse("changes:withdraw", args=[change.pk]) not in client.get(f"/requests/{change.pk}/").content.decode()
        )
        workflow.decide(designer, change, verdict="send back", reason="Which copy?")
        other = [{"truss": row.pk, "kind": "question", "question": {"says": "May I?"}}]
        workflow.answer(builder, change, says="Never mind", asks=other)
        with refused(workflow.Conflict, "damage-stays", request=change.pk):
            workflow.withdraw(builder, change)
        assert change.state == State.FILED
        assert damaged([third]).code == "copy-damaged"

    @pytest.fixture
    def weaker(self, row, designer):
        """Another revision of the mark, current from now on: with a king post of less wood. What was before it is
        answered with."""
        was = row.current
        document = {**was.document, "members": [dict(member) for member in was.document["members"]]}
        for member in document["members"]:
            if member["id"] == "W1":
                member["lumber"] = "2x6 SPF No.1/No.2"
        issue_revision(row, was, *read_and_analyse(document, NOTHING_SAID), designer)
        row.refresh_from_db()
        return was

    def test_each_copy_is_answered_from_what_it_was_built_to(self, ask, row, weaker):
        """Copy 2 was built to revision 0, copy 3 released to it, copy 4 built to revision 1, which is current."""
        Copy.objects.filter(truss=row, number=2).update(built_to=weaker, released_to=row.current, stage=Stage.CUT)
        Copy.objects.filter(truss=row, number=3).update(released_to=weaker)
        Copy.objects.filter(truss=row, number=4).update(built_to=row.current, stage=Stage.CUT)
        change = compute(ask("damage", {**DAMAGE, "member": "T1"}, copies=[2, 3, 4]))
        older, current = change.asks.order_by("id")
        assert (older.copies, older.revision, current.copies, current.revision) == ([2, 3], weaker, [4], row.current)
        told = next(one for one in older.told if one["code"] == "damaged-revision")
        assert told["values"] == {"number": 0, "current": 1, "unsure": [3], "of": ""}
        assert "damaged-revision" not in codes(current.told)
        assert older.figures["repair"] != current.figures["repair"]
        # nothing is overtaken: what stands there stays what it is
        assert not change.overtaken
        with refused(workflow.Conflict, "nothing-moved"):
            workflow.compute_again(change.filed_by, change)

    def test_a_piece_that_only_the_built_truss_has_can_be_told_of(self, ask, row, designer, client_of):
        """Revision 1 has another web; the copies were built to revision 0, and its web is the one that broke."""
        was = row.current
        document = {**was.document, "members": [dict(member) for member in was.document["members"]]}
        next(member for member in document["members"] if member["id"] == "W1")["id"] = "W7"
        issue_revision(row, was, *read_and_analyse(document, NOTHING_SAID), designer)
        Copy.objects.filter(truss=row).update(built_to=was, stage=Stage.DELIVERED)
        row.refresh_from_db()
        change = ask("damage", DAMAGE, copies=[3])
        assert answer_of(change).revision == was
        with refused(workflow.Refused, "wish"):
            ask("damage", {**DAMAGE, "member": "W7"}, copies=[3])
        page = client_of(designer).get(f"/requests/{change.pk}/").content.decode()
        assert "Worked out from revision 0, not from revision 1, which is current." in page

    def test_what_is_recorded_as_built_otherwise_meanwhile_is_worked_out_again(
        self, judged_here, ask, row, weaker, designer, client_of
    ):
        change = ask("damage", DAMAGE, copies=[3, 4])
        answer_of(change)
        attached = self.attach(designer, change)
        Copy.objects.filter(truss=row, number=3).update(built_to=weaker, stage=Stage.DELIVERED)
        assert "recorded as built to" in client_of(designer).get(f"/requests/{change.pk}/").content.decode()
        sealed = {"verdict": "approve", "reason": "Repair 12", "ends_by": "repair"}
        with refused(workflow.Conflict, "damaged-built-since", mark="K1"):
            workflow.decide(designer, change, **sealed)
        with refused(workflow.Refused, "repairs-several"):
            self.attach(designer, change, "another")
        compute(workflow.compute_again(designer, change))
        assert {tuple(one.copies): one.revision for one in change.asks.all()} == {(3,): weaker, (4,): row.current}
        # the drawing that was attached is of what copy 4 is
        assert attached.revision == row.current
        with refused(workflow.Refused, "repair-without-drawing"):
            workflow.decide(designer, change, **sealed)

    def test_its_page_asks_as_often_for_three_copies_as_for_one(
        self, job, row, builder, designer, needed_by, client_of
    ):
        counts = []
        for n in (1, 3):
            asks = [{"truss": row.pk, "kind": "damage", "copies": [k + 1], "damage": DAMAGE} for k in range(n)]
            change = compute(workflow.file(builder, job, reason=f"{n}", needed_by=needed_by, asks=asks))
            where = reverse("changes:request", args=[change.pk])
            client_of(designer).get(where)
            with CaptureQueriesContext(connection) as queries:
                assert client_of(designer).get(where).status_code == 200
            counts.append(len(queries))
        assert counts[0] == counts[1] <= 40

    def test_of_copies_that_went_from_the_set_it_is_answered_still(self, ask, row):
        change = ask("damage", DAMAGE, copies=[3])
        Copy.objects.filter(truss=row, number=3).delete()
        told = answer_of(change).told
        assert codes(told)[0] == "keep-off"
        gone = next(one for one in told if one["code"] == "damaged-copies-gone")
        assert gone["values"] == {"mark": "K1", "copies": [3]}
        assert change.asks.get().told_apart["which"][0].startswith("The set has no copy 3 of K1")
        assert as_built.moved(change) == []

    @pytest.mark.parametrize(("kind", "wanted"), [("damage", DAMAGE), ("question", {"says": "May I hang a swing?"})])
    def test_beside_a_design_it_has_no_part_in_what_is_drawn(
        self, kind, wanted, job, row, request, builder, designer, needed_by
    ):
        """Told of the same copies as a weight, for which a designer drew an option; then another revision came."""
        asks = [{"truss": row.pk, "copies": [3], kind: wanted}, {"truss": row.pk, "copies": [3], "load": LOAD}]
        asks = [{"kind": one, **each} for one, each in zip((kind, "load"), asks, strict=True)]
        change = compute(workflow.file(builder, job, reason="Both", needed_by=needed_by, asks=asks))
        weight = change.asks.get(kind="load")
        document = weight.options.first().document
        drawn = workflow.draw_option(designer, change, ask=weight, document=document, title="Mine")
        assert [one.kind for one in drawn.asks.all()] == ["load"]
        compute(change)
        request.getfixturevalue("weaker")
        assert compute(workflow.compute_again(builder, change)).state == State.AWAITING_DECISION
        again = change.options.get(stale=False, drawn_by=designer)
        assert ([one.kind for one in again.asks.all()], again.redrawn_of) == (["load"], drawn)

    def test_a_repair_stays_with_what_it_was_drawn_for(self, judged_here, ask, row, weaker, designer):
        """Of two revisions with as many copies each, the drawing's revision names what its ask is about."""
        change = ask("damage", DAMAGE, copies=[3, 4])
        answer_of(change)
        attached = self.attach(designer, change)
        Copy.objects.filter(truss=row, number=3).update(built_to=weaker, stage=Stage.DELIVERED)
        compute(workflow.compute_again(designer, change))
        one = change.asks.get(repairs__drawing=attached)
        assert (one.copies, one.revision) == ([4], attached.revision)

    def test_a_repair_of_what_was_not_worked_out_is_none(
        self, judged_here, ask, row, weaker, designer, site_lead, client_of
    ):
        change, now = ask("damage", DAMAGE, copies=[3]), {"on": row.job.today(), "name": "A name"}
        answer_of(change)
        seals.record(site_lead, self.attach(designer, change), "carried out", **now)
        Copy.objects.filter(truss=row).update(built_to=row.current, stage=Stage.DELIVERED)
        workflow.decide(designer, change, verdict="approve", reason="Repair 12", ends_by="repair")
        third = row.copies.get(number=3)
        assert damaged([third]) is None
        Copy.objects.filter(truss=row).update(built_to=weaker)
        third.refresh_from_db()
        assert damaged([third]).code == "copy-damaged"
        with refused(workflow.Refused, "repairs-other-decided", copies=[3]):
            self.attach(designer, change, "another")
        page = client_of(designer).get(f"/requests/{change.pk}/").content.decode()
        assert "keep off again with the reason, then compute again" in page
        assert 'name="sealed_by"' not in page
        # as it could be attached before: it counts for nothing until its damage is worked out
        change.asks.update(revision=weaker)
        seals.record(site_lead, self.attach(designer, change, "another"), "carried out", **now)
        assert damaged([third]) is None
        change.asks.update(revision=row.current)
        assert damaged([third]).code == "copy-damaged"
        workflow.decide(designer, change, verdict="approve", reason="Another drawing", ends_by="keep off")
        with refused(workflow.Refused, "repairs-other", copies=[3]):
            self.attach(designer, change, "a third")
        compute(workflow.compute_again(designer, change))
        workflow.decide(designer, change, verdict="approve", reason="Repair 13", ends_by="repair")
        assert damaged([third]) is None

    def test_a_new_truss_ends_nothing_that_was_told_of_later(self, ask, row, weaker, designer):
        """Copy 4 was built anew and then damaged; the ask of the old one is parted later, and so has a later id."""
        first = compute(ask("damage", DAMAGE, copies=[3, 4]))
        Copy.objects.filter(truss=row, number=4).update(built_to=weaker, stage=Stage.DELIVERED)
        later = compute(ask("damage", {**DAMAGE, "member": "B1"}, copies=[4]))
        compute(workflow.compute_again(designer, first))
        assert first.asks.get(copies=[4]).pk > later.asks.get().pk
        workflow.decide(designer, first, verdict="approve", reason="Both are built anew", ends_by="new truss")
        assert damaged([row.copies.get(number=3)]) is None
        assert damaged([row.copies.get(number=4)]).values["request"] == later.pk

    def test_an_answer_that_tells_of_none_ends_none(self, ask, row, designer, client_of):
        change, third = compute(ask("damage", DAMAGE, copies=[3])), row.copies.get(number=3)
        workflow.decide(designer, change, verdict="send back", reason="Which copy?")
        other = [{"truss": row.pk, "kind": "question", "question": {"says": "May I?"}}]
        compute(workflow.answer(change.filed_by, change, says="Never mind", asks=other))
        page, words = client_of(designer).get(f"/requests/{change.pk}/").content.decode(), {"verdict": "approve"}
        assert "Damage to K1, copy 3 was told of before the answer" in page
        assert 'name="ends_by"' in page
        with refused(workflow.Refused, "damage-ends-by"):
            workflow.decide(designer, change, **words, reason="You may")
        with refused(workflow.Refused, "repairs-left-out"):
            workflow.decide(designer, change, **words, reason="You may", ends_by="repair")
        # as it could be decided before
        Request.objects.filter(pk=change.pk).update(state=State.APPROVED)
        change.decisions.create(**words, reason="You may", by=designer)
        assert damaged([third]).code == "copy-damaged"
        Request.objects.filter(pk=change.pk).update(state=State.AWAITING_DECISION)
        workflow.decide(designer, change, **words, reason="Not yet", ends_by="keep off")
        assert damaged([third]).code == "copy-damaged"
        workflow.decide(designer, change, **words, reason="Built anew", ends_by="new truss")
        assert damaged([third]) is None

    @pytest.fixture
    def both(self, job, row, builder, needed_by):
        """Told of damage of copy 3, and asked for a weight on copy 3 or another."""

        def make(weighed):
            told = {"kind": "damage", "truss": row, "copies": [3], "damage": DAMAGE}
            weight = {"kind": "load", "truss": row, "copies": [weighed], "load": LOAD}
            return compute(workflow.file(builder, job, reason="Both", needed_by=needed_by, asks=[told, weight]))

        return make

    def test_it_is_kept_off_again_while_the_design_of_its_request_stays_issued(self, both, row, designer, client_of):
        change, page = both(4), "It doesn't end by that after all"
        load, third = change.asks.get(kind="load"), row.copies.get(number=3)
        issue = {"options": {load.pk: load.options.first().pk}}
        workflow.decide(designer, change, verdict="approve", reason="Anew", ends_by="new truss", **issue)
        address = f"/requests/{change.pk}/"
        assert page in client_of(designer).get(address).content.decode()
        workflow.decide(designer, change, verdict="approve", reason="No lumber", ends_by="keep off")
        assert damaged([third]).code == "copy-damaged"
        told = client_of(designer).get(address).content.decode()
        assert "Keep off: nothing ends the damage yet" in told
        assert "Issue this revision" not in told
        workflow.decide(designer, change, verdict="approve", reason="It came", ends_by="new truss")
        assert damaged([third]) is None
        assert [one.issues.count() for one in change.decisions.all()] == [1, 0, 0]

    @pytest.mark.parametrize("own", [True, False], ids=["own request", "another request"])
    def test_it_goes_along_when_its_copy_becomes_a_variant_s(self, own, judged_here, both, ask, row, designer):
        change = both(3) if own else compute(ask("damage", DAMAGE, copies=[3]))
        told, sent = change.asks.get(kind="damage"), drawing("a repair")
        said = {**SAID, "sealed_on": row.job.today()}
        workflow.attach_repair(designer, change, told, sent, len(sent.getvalue()), **said)
        words = {"verdict": "approve", "reason": "Repair 12", "ends_by": "repair"}
        if own:
            load = change.asks.get(kind="load")
            workflow.decide(designer, change, **words, options={load.pk: load.options.first().pk})
        else:
            workflow.decide(designer, change, **words)
            approve(designer, compute(ask("load", LOAD, copies=[3])))
        third, asks = Copy.objects.get(number=3), change.asks.filter(kind="damage")
        assert third.truss.variant_of == row
        assert damaged([third]).code == "copy-damaged"
        assert asks.get().truss == third.truss
        # told of before copies took it along
        asks.update(truss=row)
        assert damaged([third]).values["mark"] == third.truss.mark
        asks.update(truss=third.truss)
        workflow.decide(designer, change, verdict="approve", reason="Another truss now", ends_by="keep off")
        compute(workflow.compute_again(designer, change))
        assert asks.get().revision == third.truss.current
        workflow.decide(designer, change, verdict="approve", reason="Built anew", ends_by="new truss")
        assert damaged([third]) is None

    def test_the_saw_does_not_wait_for_it(self, ask):
        assert not ask("damage", DAMAGE, copies=[3]).holds.exists()


class TestQuestion:
    def test_it_waits_for_words_and_ends_by_them(self, ask, designer):
        change = ask("question", {"says": "May I hang a swing?", "place": {"on": "drawing", "x_in": 12, "y_in": 4}})
        one = answer_of(change)
        assert codes(one.told) == ["question-waits"]
        workflow.decide(designer, change, verdict="approve", reason="Ask for it as a weight, with where it hangs.")
        change.refresh_from_db()
        assert change.state == State.APPROVED
        assert not change.decisions.get().issues.exists()

    def test_its_place_is_marked_on_the_truss(self, ask, designer, client_of):
        change = ask("question", {"says": "May I?", "place": {"on": "drawing", "x_in": 60, "y_in": 20}})
        page = client_of(designer).get(f"/requests/{change.pk}/").content.decode()
        assert page.count("asked-place") == 2  # for a desk and for a phone
        assert "the place asked about marked" in page
        svg = elevation(change.asks.get().truss.current.document, asked=(60, 20), prefix="x")
        scale, x0, y0 = (float(re.search(rf'data-{name}="([^"]+)"', svg)[1]) for name in ("scale", "x0", "y0"))
        ring = re.search(r'asked-place.*?cx="([^"]+)" cy="([^"]+)"', svg)
        assert [float(each) for each in ring.groups()] == pytest.approx([x0 + 60 * scale, y0 - 20 * scale], abs=0.02)
        far = elevation(change.asks.get().truss.current.document, asked=(6000, 20), prefix="x")
        assert "asked-place" not in far

    def test_of_the_job_it_names_no_mark(self, job, builder, needed_by):
        asks = [{"kind": "question", "question": {"says": "When?", "place": {"on": "plan", "x_in": 1, "y_in": 2}}}]
        change = workflow.file(builder, job, reason="Ask", needed_by=needed_by, asks=asks)
        assert answer_of(change).truss is None

    @pytest.mark.parametrize(
        ("wanted", "code"),
        [
            ({"says": "  "}, "asks-nothing"),
            ({}, "wish"),
            ({"says": "x" * 2001}, "wish"),
            ({"says": "?", "place": {"on": "moon", "x_in": 1, "y_in": 2}}, "wish"),
            ({"says": "?", "place": 3}, "wish"),
        ],
    )
    def test_what_is_refused(self, ask, wanted, code):
        with refused(workflow.Refused, code):
            ask("question", wanted)

    def test_a_place_on_a_drawing_needs_its_mark(self, job, builder, needed_by):
        asks = [{"kind": "question", "question": {"says": "?", "place": {"on": "drawing", "x_in": 1, "y_in": 2}}}]
        with refused(workflow.Refused, "place-on-no-drawing"):
            workflow.file(builder, job, reason="Ask", needed_by=needed_by, asks=asks)

    def test_photos_are_of_this_job(self, ask, job, builder):
        photo = Photo.objects.create(job=job, by=builder, sha256="0" * 64, width_px=4, height_px=3)
        change = ask("question", {"says": "What is this?"}, photos=[photo.pk, photo.pk])
        assert change.asks.get().wish["photos"] == [photo.pk]


class TestASiteLead:
    """Who sees damage tells of it, and asks; for another design asks whoever builds the house."""

    def file(self, person, job, needed_by, *asks):
        return workflow.file(person, job, reason="Seen on site", needed_by=needed_by, asks=list(asks))

    def test_tells_of_damage_and_asks(self, row, site_lead, needed_by):
        told = {"kind": "damage", "truss": row, "copies": [3], "damage": DAMAGE}
        change = self.file(site_lead, row.job, needed_by, told, {"kind": "question", "question": {"says": "And now?"}})
        assert change.filed_by == site_lead
        compute(change)
        with refused(workflow.Conflict, "damage-stays"):
            workflow.withdraw(site_lead, change)
        other = self.file(site_lead, row.job, needed_by, {"kind": "question", "question": {"says": "And then?"}})
        assert workflow.withdraw(site_lead, other).state == State.WITHDRAWN

    def test_asks_for_no_other_design(self, row, site_lead, needed_by):
        asks = {"kind": "load", "truss": row, "load": LOAD}
        told = {"kind": "damage", "truss": row, "copies": [3], "damage": DAMAGE}
        for those in ([asks], [told, asks]):
            with pytest.raises(NotAllowed) as denied:
                self.file(site_lead, row.job, needed_by, *those)
            assert denied.value.says == "Only a builder of this job can ask for a change."

    def test_answers_what_was_sent_back_but_asks_nothing_else_then(self, row, site_lead, designer, needed_by):
        told = {"kind": "damage", "truss": row, "copies": [3], "damage": DAMAGE}
        change = self.file(site_lead, row.job, needed_by, told)
        answer_of(change)
        workflow.decide(designer, change, verdict="send back", reason="Which side?")
        with pytest.raises(NotAllowed):
            workflow.answer(site_lead, change, says="x", asks=[{"kind": "load", "truss": row, "load": LOAD}])
        workflow.answer(site_lead, change, says="The south side")

    def test_a_designer_and_an_outsider_tell_of_nothing(self, row, designer, outsider, needed_by):
        for person in (designer, outsider):
            with pytest.raises(NotAllowed):
                self.file(person, row.job, needed_by, {"kind": "question", "question": {"says": "?"}})


def test_every_kind_has_its_file():
    from changes.asks.kinds import HERE

    assert set(HERE) == set(Kind.values)
