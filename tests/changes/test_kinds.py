"""The kinds of ask beside an opening, from what was sent to the answer: read, refused, computed, decided."""

from __future__ import annotations

import re

import pytest
from django.urls import reverse

from changes import words, workflow
from changes.asks import bearing
from changes.models import Kind, Photo, State
from changes.refusals import NotAllowed
from tests.changes.asking import (
    DAMAGE,
    LOAD,
    PASSAGE,
    answer_of,
    approve,
    codes,
    compute,
    first_options,
)
from tests.changes.reading import text
from tests.refused import refused
from tests.trusses.drawn import king_post
from trusses.analysis import made_stronger as strength
from trusses.analysis.format.document import read
from trusses.analysis.words.phrases import coded
from trusses.bearings import links
from trusses.drawing import elevation
from trusses.models import Copy, JobBuilding, Stage


@pytest.mark.parametrize(
    ("kind", "wanted"),
    [
        ("load", {**LOAD, "at_in": 60, "weight_lb": 900}),
        ("bearing", {"change": "moved", "joint": "C", "to_in": 200}),
        ("passage", {**PASSAGE, "across_in": 48, "most_gap_in": 48}),
    ],
)
def test_every_kind_designs_with_what_the_job_has_in_stock(ask, row, job, monkeypatch, kind, wanted):
    """What is asked for is handed on to whatever makes trusses stronger, and named."""
    asked = []
    made_stronger = strength.made_stronger

    def noted(*given, **more):
        asked.append(given[3])
        return made_stronger(*given, **more)

    for user in ("capacity.strengthened", "bearings.changed", "passages.ways"):
        monkeypatch.setattr(f"trusses.analysis.{user}.made_stronger", noted)
    today = {member["lumber"] for member in row.current.document["members"]}
    JobBuilding.objects.create(job=job, tolerance_in=0.5, stock=sorted(today))
    one = answer_of(ask(kind, wanted))
    assert {(each.tolerance_in, each.lumber) for each in asked} == {(0.5, frozenset(today))}
    for option in one.options.all():
        assert {member["lumber"] for member in option.document["members"]} <= today
        assert all(told["values"]["stock"] == len(today) for told in option.told if told["code"] == "building")


class TestLoad:
    def test_what_the_truss_takes_is_written_into_it_and_issued(self, ask, designer, row):
        change = ask("load", LOAD, copies=[2])
        one = answer_of(change)
        assert (one.verdict, codes(one.told)) == ("more", ["more-below", "load-taken"])
        assert one.figures["shares_lb"] == [150]
        assert len(one.figures["curve"]["xs_in"]) == len(one.figures["curve"]["pounds"]) > 10
        option = one.options.get()
        assert [(load["at_in"], load["down_lb"]) for load in option.document["loads"]["point"]] == [(120, 150)]
        assert option.title == "As it is, with the weight written in"
        approve(designer, change)
        assert change.decisions.get().issues.exists()

    def test_at_one_point_and_as_it_is_asked_are_told_apart(self, ask, client_of, builder):
        """The curve is of one point; what a pair takes is another figure, and the page says of each which it is."""
        for shape, says in (
            ({}, ""),
            ({"shape": "pair", "length_in": 24}, "on two points 24&quot; apart, as it is asked,"),
        ):
            change = ask("load", {**LOAD, **shape}, copies=[2])
            most = answer_of(change).figures["most_lb"]
            page = client_of(builder).get(reverse("changes:request", args=(change.pk,))).content.decode()
            assert ("At one point there" in page) is bool(says)
            assert not says or f"{says} {most:,.0f} lb in all." in page.replace("\xa0", " ")

    def test_three_trusses_under_a_stiff_beam_take_a_third_each(self, ask):
        one = answer_of(ask("load", {**LOAD, "weight_lb": 450, "shared": "stiff"}, copies=[1, 2, 3]))
        assert one.figures["shares_lb"] == [150, 150, 150]
        assert one.verdict == "more"

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
        assert (one.verdict, other.verdict) == ("more", "more")
        assert [codes(ask.told) for ask in (one, other)] == [["more-below", "load-taken-beside"]] * 2
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
            assert one.verdict == "more", one.says
            option = one.options.get()
            held[tuple(one.copies)] = sorted(load["down_lb"] for load in option.document["loads"]["point"])
        assert held == {(1,): [150], (2,): [60, 150], (3,): [60]}
        answered = change.events.filter(verb="finish computing").last().told
        assert ", copy 1: " in answered
        assert ", copy 3: " in answered
        assert [codes(one.told)[1] for one in change.asks.order_by("copies", "id")] == [
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

    def test_an_option_that_its_weight_holds_down_is_approved_by_nobody(self, ask, designer, row):
        """Drawn by hand with the weight as it was found, but counting on as much of its dead load as today's truss."""
        change = ask("load", LOAD, copies=[2])
        one = answer_of(change)
        counts = {**one.options.get().document, "uplift_dead_share": row.current.document["uplift_dead_share"]}
        workflow.draw_option(designer, change, ask=one, document=counts, title="Held down")
        compute(change)
        drawn = change.options.get(drawn_by=designer)
        assert (drawn.passes, codes(drawn.bars)) == (False, ["weight-counted-on"])
        with pytest.raises(workflow.Refused, match="uplift_dead_share"):
            approve(designer, change, {one.pk: drawn.pk}, reason="It is heavy")


class TestBearing:
    def test_a_bearing_added_under_a_panel_point(self, ask):
        one = answer_of(ask("bearing", {"change": "added", "at_in": 120, "width_in": 3.5}))
        assert one.verdict in ("tie", "options")
        for option in one.options.filter(passes=True):
            assert len(read(option.document).bearings) == 3

    def test_an_end_that_is_lifted_then_leads_for_page_and_program(self, ask, client_of, api_of, builder):
        """A bearing under the king post, which wind lifts: what passes is the wood alone."""
        change = ask("bearing", {"change": "added", "at_in": 120, "width_in": 3.5})
        one = answer_of(change)
        assert (one.verdict, one.told[0]["code"]) == ("tie", "more-below")
        lifted = [row for row in one.told[0]["values"]["rows"] if row["up"]]
        assert lifted[0]["lb"][1] > 0, lifted
        assert one.says.startswith(
            f"The bearing 10'-0\" from the left one needs a tie first: the truss is lifted there by up to"
            f" {lifted[0]['lb'][1]:,.0f} lb, by nothing today."
        )
        page = " ".join(text(client_of(builder).get(reverse("changes:request", args=[change.pk]))).split())
        assert "The wood passes, but it needs a tie against uplift; not decided yet" in page
        assert "Fits as it is" not in page
        assert "bearing A, new" not in page
        told = api_of(builder).get(f"/api/v1/requests/{change.pk}/").json()["asks"][0]
        assert (told["verdict"], told["says"]) == ("tie", one.says)

    def test_a_redesign_that_is_lifted_says_so_with_its_name(self, ask, client_of, api_of, builder, designer):
        """A bearing at a quarter of the span takes a web; the end that wind lifts is there in some redesigns alone."""
        change = ask("bearing", {"change": "added", "at_in": 60, "width_in": 3.5})
        one = answer_of(change)
        assert (one.verdict, one.answered) == (
            "options",
            "takes a redesign; the least change needs a tie against uplift",
        )
        least, *others = one.options.filter(passes=True)
        assert (least.below, least.told[0]["code"]) == ("tie", "more-below")
        assert {option.below for option in others} == {"tie", "more"}, "of others the tie that is there holds more"
        where = reverse("changes:request", args=[change.pk])
        for_builder, for_designer = (" ".join(text(client_of(one).get(where)).split()) for one in (builder, designer))
        assert "Takes a redesign; the least change needs a tie against uplift" in for_builder
        assert f"{least.title}: the wood passes, but it needs a tie against uplift" in for_builder.replace("\xa0", " ")
        assert "lumber passes, clear, but it needs a tie against uplift" in for_designer
        assert "lumber passes, clear, but what it stands on or is tied to takes more" in for_designer
        assert f"K1: {least.title}; it needs a tie against uplift" in for_designer.replace("\xa0", " ")
        told = api_of(builder).get(f"/api/v1/requests/{change.pk}/").json()["asks"][0]["options"]
        assert [each["below"] for each in told] == [option.below for option in one.options.all()]
        assert "the least change needs a tie" in change.events.filter(verb="finish computing").last().told

    def test_a_wall_moved_is_told_of_in_between(self, ask):
        one = answer_of(ask("bearing", {"change": "moved", "joint": "C", "to_in": 228}))
        assert [state["state"] for state in one.figures["between"]] == ["gone", "both"]
        assert one.figures["between"][0]["moving"]["code"] == "whole-turns"
        assert "in-between" in codes(one.told)
        # none of them stands: nothing is shored yet, and the place is told as a tape finds it
        assert "joint C, 20'-0\" from the middle of the left bearing, moves" in one.says
        assert "None is to be set like that; one that is set by then is shored first" in one.says
        assert "Shore it first" not in one.says

    def test_what_stands_already_is_shored_first(self):
        moving = {"joint": "C", "direction": "sideways", "almost": False, "code": "apart", "values": {}}
        told = {"state": "both", "passes": False, "moving": moving, "worst": None, "lifted_lb": []}
        for stands in (True, False):
            says = words.told([coded("in-between", **told, stands=stands, along_in=None)])
            assert ("Shore it first" in says) == stands

    def test_what_is_below_then_comes_before_the_answer(self, ask, client_of, builder):
        """From 240 to 236 in. the same load is nearer the other wall: C takes more, A less, and nothing else is new."""
        change = ask("bearing", {"change": "moved", "joint": "C", "to_in": 236})
        chosen = answer_of(change).options.filter(passes=True).first()
        answer = client_of(builder).get(f"/requests/{change.pk}/")
        (section,) = answer.context["sections"]
        assert section.chosen == chosen
        down = (row for row in section.below if "uplift" not in row.what)
        stays, moved_to = sorted(down, key=lambda row: row.was)
        assert (moved_to.was, moved_to.moved, stays.was, stays.moved) == ("C", '4" to the left', "A", "")
        assert moved_to.by_lb > 0
        assert stays.by_lb < 0
        assert not section.new_feet
        page = answer.content.decode()
        says = f"Bearing {moved_to.joint}, moved 4&quot; to the left, down, at most"
        assert page.index(says) < page.index(answer_of(change).says[:30])
        assert f'bearing {moved_to.joint}, moved 4" to the left' in " ".join(text(answer).split())

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
        assert one.verdict == "fits", "nothing presses otherwise than it did"
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


class TestQuestion:
    def test_it_waits_for_words_and_ends_by_them(self, ask, designer):
        change = ask("question", {"says": "May I hang a swing?", "place": {"on": "drawing", "x_in": 12, "y_in": 4}})
        one = answer_of(change)
        assert codes(one.told) == ["question-waits"]
        with refused(workflow.Refused, "say-the-answer"):
            workflow.decide(designer, change, verdict="approve")
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

    def test_of_the_job_it_names_no_mark(self, job, builder, needed_by, client_of):
        asks = [{"kind": "question", "question": {"says": "When?", "place": {"on": "plan", "x_in": 1, "y_in": 2}}}]
        change = workflow.file(builder, job, reason="Ask", needed_by=needed_by, asks=asks)
        assert answer_of(change).truss is None
        page = client_of(builder).get(f"/requests/{change.pk}/").content.decode()
        assert f"print.css?named=Request+{change.pk}&amp;of=" in page, "nothing is left open behind its number"

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


@pytest.mark.parametrize(
    ("wanted", "drawn"),
    [
        ({"change": "added", "at_in": 60, "width_in": 3.5}, [(60, 3.5, False, None)]),
        ({"change": "moved", "joint": "C", "to_in": 200}, [(200, 3.5, False, 240)]),
        ({"change": "taken away", "joint": "C"}, [(240, 3.5, True, None)]),
        ({"change": "taken away", "joint": "gone"}, []),
        ({"change": "measured", "walls": [{"joint": "C", "x_in": 239, "y_in": 0}]}, [(239, 3.5, False, 240)]),
        ({"change": "measured", "walls": [{"joint": "C", "x_in": 239.9, "y_in": -1}]}, [(239.9, 3.5, False, None)]),
    ],
)
def test_the_bearing_that_is_asked_for_is_drawn_where_it_was_asked(wanted, drawn):
    found = bearing.drawn(wanted, king_post())
    assert [(one.x_in, one.width_in, one.gone, one.from_in) for one in found] == drawn
