"""A run asked for: an ask for each mark and group of copies, answered as openings; live, on its page, by the API."""

from __future__ import annotations

import html
import re

import pytest

from changes import workflow
from changes.asks import run as runs
from changes.asks.answers import Answer, Answered
from changes.asks.on_plan import in_the_set, on_the_plan
from changes.models import Ask, Request, Run, Verdict
from changes.pages.run_form import RunForm
from changes.worker import for_all
from changes.workflow import Refused
from tests.changes.asking import PATH, compute, first_options
from tests.changes.reading import text, words
from tests.refused import refused
from trusses.analysis.format.document import read_opening
from trusses.models import Stage


class TestRead:
    def test_an_ask_for_each_mark_of_those_that_it_meets_alike(self, file_run):
        change = file_run()
        told = [(ask.truss.mark, ask.copies, ask.kind, ask.opening["centre_in"]) for ask in change.asks.all()]
        assert told == [("K1", [1, 2, 3], "run", [100, 20]), ("K2", [1, 2], "run", [100, 20])]
        assert [ask.wish["letters"] for ask in change.asks.all()] == [["A", "B", "C"], ["D", "E"]]
        (one,) = Run.objects.all()
        assert (one.name, one.wish["points_in"], one.asks.count()) == ("8 in. duct", PATH["points_in"], 2)

    def test_beyond_a_corner_at_which_it_goes_up_it_is_higher(self, file_run, client_of, builder):
        """Between K1's copies 2 and 3 it goes 3 in. along them, and 4 in. up at the second corner."""
        bent = [[0, 100], [60, 100], [60, 103], [200, 103]]
        change = file_run(points_in=bent, rises_in=[0, 4])
        heights = [one["height_in"] for ask in change.asks.all() for one in ask.wish["crossings"]]
        assert heights == [22.75, 22.75, 26.75, 26.75, 26.75]
        assert change.asks.last().opening["centre_in"] == [103, 24]
        assert client_of(builder).get(f"/requests/{change.pk}/").status_code == 200
        with refused(Refused, "run", "asks[0].run.rises_in"):
            file_run(points_in=bent, rises_in=[4])

    @pytest.mark.parametrize(
        ("typed", "rises"), [("", None), ('0", 4 1/2"', [0, 4.5]), ('-3"', [-3]), ("up", False), ("0,,1", False)]
    )
    def test_what_is_typed_of_its_corners(self, typed, rises):
        fields = {"level": "Roof", "points": "0, 0\n10', 0\n10', 10'", "shape": "circle", "diameter": '8"'}
        form = RunForm({**fields, "up": "1'", "datum": "bearing", "rises": typed}, levels=["Roof"])
        assert form.is_valid() is (rises is not False), form.errors
        if rises is not False:
            assert form.run().get("rises_in") == rises
        else:
            assert list(form.errors) == ["rises"]

    def test_within_half_an_inch_one_opening_holds_all_of_theirs(self, file_run):
        """1/4 in. per foot falls 1/2 in. from truss to truss; low on the web of K1, where nothing larger fits."""
        change = file_run(slope_in_per_ft=0.25, points_in=[[0, 120], [200, 120]])
        asks = list(change.asks.filter(truss__mark="K1"))
        assert [ask.copies for ask in asks] == [[1, 2], [3]]
        first = read_opening(asks[0].opening)
        # crossed 24 and 48 in. along: 1/2 and 1 in. lower than 20; the circle about both is 1/2 in. larger
        assert first.centre == (120, pytest.approx(19.25))
        alone = read_opening(asks[1].opening)
        assert first.size[0] == pytest.approx(alone.size[0] + 0.5, abs=1e-5)

    def test_together_one_opening_serves_all_copies_of_a_mark(self, job, builder, needed_by, placed):
        falling = PATH | {"slope_in_per_ft": 1, "points_in": [[0, 120], [200, 120]]}
        asks = [{"kind": "run", "run": falling, "together": True}]
        change = workflow.file(builder, job, reason="A drain", needed_by=needed_by, asks=asks)
        assert [(ask.truss.mark, ask.copies) for ask in change.asks.all()] == [("K1", [1, 2, 3]), ("K2", [1, 2])]
        # 2, 4 and 6 in. lower than 20: 14 to 18, so that the pipe's 8.15 in. take 12.15 upright and no more across
        held = read_opening(change.asks.first().opening)
        assert (held.shape, held.centre) == ("rectangle", (120, pytest.approx(16)))
        assert held.size == (pytest.approx(8.15, abs=0.01), pytest.approx(12.15, abs=0.01))
        with refused(Refused, "run-together", "asks[0].together"):
            asks = [{"kind": "run", "run": falling, "together": 3}]
            workflow.file(builder, job, reason="A drain", needed_by=needed_by, asks=asks)

    def test_more_of_them_share_what_fits_as_the_truss_is(self, file_run):
        change = file_run(slope_in_per_ft=0.25)
        asks = list(change.asks.filter(truss__mark="K1"))
        assert [ask.copies for ask in asks] == [[1, 2, 3]]
        held, each = read_opening(asks[0].opening), asks[0].wish["crossings"]
        low, high = (held.centre[1] + turn * (held.size[1] / 2) for turn in (-1, 1))
        for one in each:
            y = one["height_in"] - 2.75
            assert low <= y - 4 + 1e-6
            assert high >= y + 4 - 1e-6

    def test_it_goes_through_cut_copies_as_built_and_else_names_those_that_it_is_asked_without(self, file_run, placed):
        truss, _ = placed
        truss.copies.filter(number=2).update(stage=Stage.CUT, built_to=truss.current)
        change = file_run()
        assert [ask.copies for ask in change.asks.all()] == [[1, 3], [1, 2]]
        (row,) = change.runs.get().as_cut
        assert (row["mark"], row["copies"], row["revision"], row["how"]) == ("K1", [2], 0, "fits")
        assert (row["sha256"], row["crossings"][0]["letter"]) == (truss.current.sha256, "B")
        hit = {"points_in": [[0, 120], [200, 120]]}
        with refused(Refused, "run-in-cut", "asks[0].run (K1)", mark="K1", copies=[2], how="in the way"):
            file_run(**hit)

    def test_a_mark_that_is_cut_whole_keeps_nobody_from_asking_the_rest(self, file_run, placed, builder):
        truss, other = placed
        truss.copies.update(stage=Stage.CUT, built_to=truss.current)
        change = file_run()
        assert [(ask.truss.mark, ask.copies) for ask in change.asks.all()] == [("K2", [1, 2])]
        assert change.runs.get().as_cut[0]["copies"] == [1, 2, 3]
        workflow.withdraw(builder, change)
        other.copies.update(stage=Stage.SET, built_to=other.current)
        with refused(Refused, "run-in-cut"):
            file_run(points_in=[[0, 120], [200, 120]])

    def test_it_is_asked_without_cut_copies_that_are_named_and_no_others(
        self, job, builder, needed_by, placed, client_of
    ):
        def file(*without):
            asks = [{"kind": "run", "run": PATH | {"points_in": [[0, 120], [200, 120]]}, "without": list(without)}]
            return workflow.file(builder, job, reason="A duct", needed_by=needed_by, asks=asks)

        truss, _ = placed
        truss.copies.filter(number__in=[1, 2]).update(stage=Stage.CUT, built_to=truss.current)
        with refused(Refused, "run-in-cut", copies=[2]):
            file("K1-1")
        with refused(Refused, "run-without-other", "asks[0].without"):
            file("K1-1", "K1-2", "K1-3")
        change = file("K1-1", "K1-2")
        assert [(ask.truss.mark, ask.copies) for ask in change.asks.all()] == [("K1", [3]), ("K2", [1, 2])]
        assert [(row["copies"], row["how"]) for row in change.runs.get().as_cut] == [([1, 2], "in the way")]
        name = f"8 in. duct, request {change.pk}"
        rest, goes = on_the_plan(job, "Roof")
        assert (rest.name, rest.points, rest.left) == (f"Left as it is: {name}", ((0, 120), (60, 120)), True)
        assert (goes.name, goes.left) == (f"Only in part: {name}, not through K1, copies 1 and 2", False)
        assert [run.points for _, run, _ in in_the_set(job)] == [goes.points] == [((60, 120), (200, 120))]
        client = client_of(builder)
        here = client.get(f"/requests/{change.pk}/").content.decode()
        picture = here[here.index('class="plan"') :]
        assert (picture.count("run-line"), picture.count("run-band")) == (2, 1)
        page = " ".join(text(client.get(f"/requests/{change.pk}/")).split())
        assert (
            "K1, copies 1 and 2, built to revision 0, at A and B Cut already, and the run doesn't get through" in page
        )

    def test_a_cut_copy_that_damage_was_told_of_is_not_as_drawn(self, file_run, placed, job, builder):
        truss, _ = placed
        truss.copies.filter(number=2).update(stage=Stage.CUT, built_to=truss.current)
        told = Request.objects.create(job=job, filed_by=builder, reason="Split", needed_by="2030-01-01")
        Ask.objects.create(request=told, truss=truss, revision=truss.current, copies=[2], kind="damage", wish={})
        with refused(Refused, "run-in-cut", copies=[2], how="damaged"):
            file_run()

    @pytest.mark.parametrize("sent_back", [False, True])
    def test_nothing_is_approved_through_a_copy_that_was_cut_in_its_way_since(
        self, file_run, placed, designer, builder, job, sent_back
    ):
        """K1 and K2 have a post at 120. Computed again, K1's ask is for copies 2 and 3, and the run still crosses 1."""
        truss, _ = placed
        change = compute(file_run(points_in=[[0, 120], [200, 120]]))
        truss.copies.filter(number=1).update(stage=Stage.CUT, built_to=truss.current)
        if sent_back:
            workflow.decide(designer, change, verdict="send back", reason="K1-1 is cut")
            with refused(workflow.Conflict, "run-in-cut-since", mark="K1", copies=[1], how="in the way"):
                workflow.answer(builder, change, says="Go on")
        compute(workflow.compute_again(designer, change))
        first, second = change.asks.order_by("id")
        assert first.copies == [2, 3]
        options = first_options(change)
        with refused(workflow.Conflict, "run-in-cut-since", mark="K1", copies=[1], how="in the way"):
            workflow.decide(designer, change, verdict="approve", options=options)
        with refused(workflow.Conflict, "run-in-cut-since"):
            workflow.decide(designer, change, verdict="approve", options=options, leaves=[second.pk], reason="K1 only")
        left = {"leaves": [first.pk], "reason": "Not through K1"}
        workflow.decide(designer, change, verdict="approve", options={second.pk: options[second.pk]}, **left)
        (issued,) = [path for path in on_the_plan(job, "Roof") if not path.left]
        assert issued.points == ((84, 120), (200, 120))

    def test_what_it_was_asked_without_keeps_it_from_nothing_but_damage_since_does(
        self, job, builder, designer, needed_by, placed
    ):
        """Cut when it was asked for: K1-1, asked without, and K2-1 at 96, which another run beside the post fits."""
        truss, other = placed
        truss.copies.filter(number=1).update(stage=Stage.CUT, built_to=truss.current)
        other.copies.filter(number=1).update(stage=Stage.CUT, built_to=other.current)
        low = PATH | {"points_in": [[0, 120], [84, 120], [84, 100], [200, 100]]}
        asks = [{"kind": "run", "run": low, "without": ["K1-1"]}]
        change = compute(workflow.file(builder, job, reason="A duct", needed_by=needed_by, asks=asks))
        told = Request.objects.create(job=job, filed_by=builder, reason="Split", needed_by="2030-01-01")
        Ask.objects.create(request=told, truss=other, revision=other.current, copies=[1], kind="damage", wish={})
        with refused(workflow.Conflict, "run-in-cut-since", mark="K2", copies=[1], how="damaged"):
            workflow.decide(designer, change, verdict="approve", options=first_options(change))
        Request.objects.filter(pk=told.pk).update(state="withdrawn")
        workflow.decide(designer, change, verdict="approve", options=first_options(change))
        assert change.state == "approved"

    @pytest.mark.parametrize(
        ("changed", "code", "place"),
        [
            ({"level": "Cellar"}, "run-level", "run.level"),
            ({"points_in": [[0, 900], [9, 900]]}, "run-crosses-nothing", "asks[0].run"),
            ({"points_in": [[0, 100]]}, "run", "asks[0].run.points_in"),
            ({"section": {"shape": "circle"}}, "run", "asks[0].run.section"),
            ({"points_in": [[0, 100], [46, 100], [46, 200]]}, "run-corner", "asks[0].run"),
            (
                {
                    "points_in": [[0, 100], [60, 100], [60, 200]],
                    "section": {"shape": "rectangle", "width_in": 23, "height_in": 6},
                },
                "run-corner",
                "asks[0].run",
            ),
            (
                {"points_in": [[52, 20], [52, 200], [90, 200]], "section": {"shape": "circle", "diameter_in": 7}},
                "run-corner",
                "asks[0].run",
            ),
            ({"points_in": [[52, 20], [52, 230]]}, "run-crosses-nothing", "asks[0].run"),
        ],
    )
    def test_what_is_no_run_here(self, file_run, changed, code, place):
        with refused(Refused, code, place):
            file_run(**changed)
        assert not Ask.objects.exists()

    def test_a_leg_in_the_wood_of_what_it_runs_along(self, file_run):
        with refused(Refused, "run-beside", leg=1):
            file_run(
                points_in=[[49.5, 20], [49.5, 300], [84, 300], [84, 100], [130, 100]],
                section={"shape": "circle", "diameter_in": 2},
            )


class TestAnswered:
    def test_fits_everywhere_and_is_decided_as_one(self, file_run, designer):
        change = compute(file_run())
        assert [ask.verdict for ask in change.asks.all()] == ["fits", "fits"]
        options = {ask.pk: ask.options.get().pk for ask in change.asks.all()}
        workflow.decide(designer, change, verdict="approve", options=options, reason="")
        for mark in {ask.truss for ask in change.asks.all()}:
            mark.refresh_from_db()
            assert [read_opening(held).centre for held in mark.current.document["openings"]] == [(100, 20)]

    def test_groups_of_one_mark_become_variants_by_one_decision(self, file_run, designer, job):
        change = compute(file_run(slope_in_per_ft=0.25, points_in=[[0, 120], [100, 120]]))
        assert [ask.copies for ask in change.asks.all()] == [[1, 2], [3], [1]]
        workflow.decide(designer, change, verdict="approve", options=first_options(change), reason="")
        marks = {mark.mark: sorted(mark.copies.values_list("number", flat=True)) for mark in job.trusses.all()}
        assert sorted(map(tuple, (numbers for mark, numbers in marks.items() if mark.startswith("K1")))) == [
            (1, 2),
            (3,),
        ]
        assert {
            len(mark.current.document.get("openings", ())) for mark in job.trusses.filter(mark__startswith="K1")
        } == {1}

    def test_one_design_for_all_groups_of_a_mark_is_offered_beside_theirs(
        self, file_run, client_of, designer, job, settings
    ):
        """K1's copies 1 and 2 are crossed within 1/2 in., copy 3 lower: two designs, or one with both openings."""
        settings.COMPUTE_SOFT_LIMIT_S = 300  # a busy machine cuts no search short
        change = compute(file_run(slope_in_per_ft=0.25, points_in=[[0, 120], [100, 120]]))
        asks = list(change.asks.filter(truss__mark="K1"))
        assert [ask.copies for ask in asks] == [[1, 2], [3]]
        shared = [next(one for one in ask.options.all() if one.titled[0]["code"] == "for-all") for ask in asks]
        assert len({one.sha256 for one in shared}) == 1
        assert all(one.passes for one in shared)
        assert shared[0].title.startswith("One design for copies 1–3")
        held = [read_opening(each) for each in shared[0].document["openings"]]
        assert [one.centre for one in held] == [read_opening(ask.opening).centre for ask in asks]
        # what serves a group alone stands first
        assert all(ask.options.first().titled[0]["code"] != "for-all" for ask in asks)

        client = client_of(designer)
        page = client.get(f"/requests/{change.pk}/")
        assert "K1, copies 1 to 3: 2 designs, or one for all of them" in text(page)
        (href,) = re.findall(r'href="([^"]+)">Show the one design', page.content.decode())
        page = client.get(f"/requests/{change.pk}/{html.unescape(href)}")
        assert "One design for K1, copies 1 to 3" in text(page)

        options = {ask.pk: one.pk for ask, one in zip(asks, shared, strict=True)}
        workflow.decide(designer, change, verdict="approve", options=first_options(change) | options, reason="")
        marks = {one.mark: sorted(one.copies.values_list("number", flat=True)) for one in job.trusses.all()}
        assert marks["K1"] == [1, 2, 3]
        assert [name for name in marks if name.startswith("K1-")] == []

    def test_a_group_that_can_never_be_has_no_design_with_the_others(self, file_run, monkeypatch):
        monkeypatch.setattr(for_all.opening, "answer", None)
        never, fits = (Answered([Answer(verdict, [])]) for verdict in (Verdict.NEVER, Verdict.FITS))
        assert for_all.for_all([None, None], [never, fits], None, 1.0) == [never, fits]

    def test_never_and_by_a_redesign(self, file_run):
        change = compute(file_run(points_in=[[0, 120], [200, 120]]))
        assert {ask.verdict for ask in change.asks.all()} <= {"options", "none pass"}
        change = compute(file_run(height_in=3))
        assert {ask.verdict for ask in change.asks.all()} == {"never"}

    def test_on_the_request_s_page_every_crossing_is_lettered(self, file_run, client_of, builder, designer):
        change = compute(file_run(slope_in_per_ft=0.25, points_in=[[0, 120], [200, 120]]))
        for person in (builder, designer):
            answer = client_of(person).get(f"/requests/{change.pk}/")
            assert answer.status_code == 200
            page = text(answer)
            assert "The run on the plan" in page
            assert "K1, copies 1 and 2" in page
            for letter, copy in zip("ABCDE", ("K1-1", "K1-2", "K1-3", "K2-1", "K2-2"), strict=True):
                assert f'<span class="letter">{letter}</span> <b>{copy}</b>' in answer.content.decode()
            assert answer.content.count(b'class="sign') == 5

    def test_the_request_s_page_begins_with_the_answer_of_each_mark(self, file_run, client_of, builder, designer):
        change = compute(file_run())
        page = words(client_of(builder).get(f"/requests/{change.pk}/"))
        short = page[page.index("Answered, not decided yet") : page.index("The run on the plan")]
        assert "K1 : fits as it is" in short
        assert "K2 : fits as it is" in short
        assert "Fits as it is; not decided yet" in page
        decided = workflow.decide(designer, change, verdict="decline", reason="Not there")
        assert 'id="in-short"' not in client_of(builder).get(f"/requests/{decided.request_id}/").content.decode()

    def test_what_is_answered_of_a_mark_and_its_rows_are_in_the_same_words(self, file_run, client_of, builder, job):
        """Along the posts, which a hand's breadth beside them is clear: of each mark, each copy and in the story."""
        change = compute(file_run(points_in=[[0, 120], [200, 120]]))
        client = client_of(builder)
        page = words(client.get(f"/requests/{change.pk}/"))
        more = "with the least change, what it stands on or is tied to takes more"
        both = f"fits if moved, else needs a redesign; {more}"
        short = page[page.index("Answered, not decided yet") : page.index("The run on the plan")]
        assert f"K1 : {both} K2 : {both}" in short
        assert "What it crosses, as the trusses are today: 5. K1 fits if moved; K2 fits if moved" in page
        assert page.count("fits if moved It would fit") == 2  # K1-1 to K1-3, K2-1 to K2-2
        assert f"K1 revision 0: {both}; K2 revision 0: {both}" in page
        assert both in words(client.get(f"/jobs/{job.pk}/requests/"))
        # each stands under its own answer, which a phone shows first
        assert f"K1: {both}; " in page
        assert f"{both.capitalize()} Web W1 is in the way" in page

    def test_drawings_of_several_marks_are_fetched_mark_by_mark(self, file_run, client_of, builder, designer, cast):
        change = compute(file_run())
        first, second = (ask.options.get() for ask in change.asks.all())
        for person, forces in ((designer, True), (builder, False)):
            client = client_of(person)
            page = client.get(f"/requests/{change.pk}/").content.decode()
            assert 'class="elevation' not in page
            assert len(page) < 100_000
            for one in (first, second):
                address = f"/requests/{change.pk}/options/{one.pk}"
                assert f'hx-get="{address}/drawings/?state=awaiting%20decision"' in page
                for side in ("before", "after"):  # what a browser without scripts reads
                    assert f'<img src="{address}/{side}.svg"' in page
                    picture = client.get(f"{address}/{side}.svg")
                    assert picture["Content-Type"].startswith("image/svg+xml")
                    assert f'data-mark="{one.truss.mark}"' in picture.content.decode()
                drawn = client.get(f"{address}/drawings/").content.decode()
                assert "Before</span>: revision 0" in drawn
                assert "After: a proposal" in drawn
                assert ("Forces drawn" in drawn) == forces
                fetched = client.get(f"{address}/forces/")
                assert (fetched.status_code, fetched.content.count(b"<svg")) == ((200, 2) if forces else (404, 0))
                assert f'data-mark="{one.truss.mark}"' in drawn
        client = client_of(builder)
        assert client.get(f"/requests/{change.pk}/options/{first.pk}/sideways.svg").status_code == 404
        assert client.get(f"/requests/{change.pk}/options/{first.pk + 100}/drawings/").status_code == 404
        assert client_of(cast["outsider"]).get(f"/requests/{change.pk}/options/{first.pk}/after.svg").status_code == 404

    def test_it_stands_on_the_job_s_plan(self, file_run, client_of, builder, job):
        change = file_run()
        html = client_of(builder).get(f"/jobs/{job.pk}/plan/?level=Roof").content.decode()
        assert f'href="/requests/{change.pk}/"' in html
        workflow.withdraw(builder, change)
        assert f"/requests/{change.pk}/" not in client_of(builder).get(f"/jobs/{job.pk}/plan/").content.decode()

    def test_of_what_was_left_nothing_is_drawn_as_if_it_were_issued(self, file_run, client_of, designer, job):
        """The run goes through K1 and K2, and only K1 gets its opening."""
        change = compute(file_run())
        first, second = change.asks.order_by("id")
        name = f"8 in. duct, request {change.pk}"
        assert [path.name for path in on_the_plan(job, "Roof")] == [name]
        options = {first.pk: first.options.get().pk}
        workflow.decide(designer, change, verdict="approve", options=options, leaves=[second.pk], reason="K1 only")
        issued, rest = on_the_plan(job, "Roof")
        assert (issued.name, issued.left) == (f"Only in part: {name}, not through K2, copies 1 and 2", False)
        assert (rest.name, rest.left) == (f"Left as it is: {name}", True)
        # K1's last copy stands at 72, K2's first at 96
        assert (issued.points, rest.points) == (((0, 100), (84, 100)), ((84, 100), (200, 100)))
        assert [run.points for _, run, _ in in_the_set(job)] == [issued.points]
        page = client_of(designer).get(f"/requests/{change.pk}/").content.decode()
        picture = page[page.index('class="plan"') :]
        assert (picture.count("run-line"), picture.count("run-band")) == (2, 1)
        assert '<b>K2-1 to K2-2</b> <span class="tag">left as it is</span>' in page

    def test_a_run_that_was_left_whole_is_not_drawn(self, job, builder, designer, needed_by, placed):
        asks = [{"kind": "run", "run": PATH | {"points_in": points}} for points in ([[0, 120], [80, 120]],)]
        weight = {"what": "stone", "weight_lb": 40, "at_in": 120, "how": "set"}
        asks.append({"truss": placed[1].pk, "kind": "load", "copies": [1, 2], "load": weight})
        change = compute(workflow.file(builder, job, reason="A duct", needed_by=needed_by, asks=asks))
        left = [ask.pk for ask in change.asks.exclude(run=None)]
        options = {pk: option for pk, option in first_options(change).items() if pk not in left}
        workflow.decide(designer, change, verdict="approve", options=options, leaves=left, reason="No duct")
        assert on_the_plan(job, "Roof") == []

    def test_a_run_that_an_answer_replaced_is_not_drawn(self, file_run, builder, designer, job):
        change = compute(file_run())
        workflow.decide(designer, change, verdict="send back", reason="4 in. further down")
        moved = PATH | {"points_in": [[0, 96], [200, 96]]}
        compute(workflow.answer(builder, change, says="There", asks=[{"kind": "run", "run": moved}]))
        for state in ("awaiting decision", "approved"):
            assert [path.points for path in on_the_plan(job, "Roof")] == [((0, 96), (200, 96))]
            assert [run.points for _, run, _ in in_the_set(job)] == [((0, 96), (200, 96))]
            if state == "awaiting decision":
                workflow.decide(designer, change, verdict="approve", options=first_options(change))
        assert change.runs.count() == 2


def test_groups_are_of_one_section(placed, job):
    """A copy that is crossed twice is in two groups: its truss needs both openings."""
    from trusses.analysis.runs.run import read_run

    there_and_back = read_run(PATH | {"points_in": [[0, 60], [132, 60], [132, 180], [0, 180]], "height_in": 12.75})
    crossed = runs.crossing(job, there_and_back)
    met = runs.by_mark(crossed)["K1"]
    assert len(met) == 6
    assert [[one.stood.number for _, one in those] for those in runs.groups(met)] == [[1, 2, 3], [3, 2, 1]]
