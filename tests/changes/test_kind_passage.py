"""A passage between trusses, from what was sent to the plan on which it was made room for."""

from __future__ import annotations

import re
from types import SimpleNamespace

import pytest
from django.core.exceptions import PermissionDenied

from changes import workflow
from changes.asks.passage import _below, _members_touched
from changes.workflow.on_the_plan import shifts_of
from tests.changes.asking import (
    PASSAGE,
    answer_of,
    approve,
    with_small_chords,
)
from tests.refused import refused
from tests.trusses.standing import LEVEL, girder, loaded
from trusses.analysis.analysis import analyse
from trusses.analysis.checks.surroundings import NOTHING_SAID
from trusses.analysis.format.document import read
from trusses.analysis.passages.one_design import OnCopy, OneDesign
from trusses.analysis.passages.row import for_width
from trusses.bearings import links
from trusses.models import BearingLink, Copy, MarkEvent, Placement, Stage
from trusses.plan.shifting import along_rows
from trusses.refusals import Refused as SetRefused
from trusses.revisions import issue_revision, read_and_analyse
from trusses.variants.moving import rows_of


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

    def test_the_least_change_that_is_told_touches_the_fewest_members(self, ask):
        one = answer_of(ask("passage", {**PASSAGE, "across_in": 48, "most_gap_in": 48}))
        passing = list(one.options.filter(passes=True).order_by("rank"))
        touched = [_members_touched(option) for option in passing]
        assert len(set(touched)) > 1
        assert touched == sorted(touched)
        assert "the least change: Shift copy" in one.says

    def test_one_design_is_told_with_what_it_comes_to_on_each_copy(self, ask):
        one = answer_of(ask("passage", {**PASSAGE, "across_in": 48, "most_gap_in": 48}))
        ways = {(way["kind"], str(way["moved_in"])): way for way in one.figures["ways"]}
        for option in one.options.all():
            step = option.titled[0]
            copies = ways[step["code"].replace("_", "-"), str(step["values"].get("moved", []))]["copies"]
            told = next(each["values"]["copies"] for each in option.told if each["code"] == "one-design")
            assert told == [[copy["number"], copy["worst_ratio"]] for copy in copies]
            assert option.worst_ratio == pytest.approx(max(ratio for _, ratio in told))

    def test_a_design_that_fails_on_a_copy_that_is_not_shown_passes_for_nobody(self, ask, monkeypatch):
        at = "trusses.analysis.passages.one_design.OneDesign"
        monkeypatch.setattr(f"{at}.passes", property(lambda self: False))
        monkeypatch.setattr(f"{at}.failing", property(lambda self: self.copies[:1]))
        monkeypatch.setattr(f"{at}.hides", property(lambda self: True))
        one = answer_of(ask("passage", {**PASSAGE, "across_in": 48, "most_gap_in": 48}))
        assert not one.options.filter(passes=True).exists()
        for option in one.options.all():
            assert option.bars[0]["code"] == "one-design-fails"
        assert not any(way["passes"] for way in one.figures["ways"] if way["copies"])

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
        (own,) = Copy.objects.filter(number=3, truss__job=row.job)
        assert f"<li>{own.truss.mark} copy 3: " in page
        assert len(set(re.findall(r'data-scale="([^"]+)"', page))) == 1
        assert client_of(builder).get(f"{at}plan/").status_code == 403
        assert api_of(builder).post(f"/api/v1{at}plan/").status_code == 403
        Copy.objects.filter(number=3).update(stage=Stage.CUT)
        refused_page = desk.post(f"{at}plan/")
        assert refused_page.status_code == 409
        assert b'id="troubles" role="alert" tabindex="-1" autofocus><strong>Nothing was moved.' in refused_page.content
        Copy.objects.filter(number=3).update(stage=Stage.DESIGNING)
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


def test_what_is_below_is_told_the_most_that_any_copy_puts_there(king_post):
    """The copy whose loads are shown has the largest ratio, not always the largest reaction."""
    today = read({**king_post, "spacing_in": 24.0})
    case = SimpleNamespace(document=today.document, before=analyse(today).document())
    widths = (26.0, 30.0, 28.0)
    copies = tuple(OnCopy(i, analyse(read(for_width(today.document, width, 24.0)))) for i, width in enumerate(widths))
    (told,) = _below(case, OneDesign(copies, True))
    most = copies[1].analysis.document()["envelope"]["reactions_lb"]
    down = {row["end"]: row["lb"][1] for row in told["values"]["rows"] if not row["up"]}
    assert down == {"left": most["A"]["down_lb"], "right": most["C"]["down_lb"]}
    ups = [row["up"] for row in told["values"]["rows"]]
    assert ups == sorted(ups, reverse=True), "what is lifted comes first"
    assert _below(case, OneDesign((OnCopy(0, analyse(today)),), True)) == []
