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
from tests.changes.reading import text
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


class TestLive:
    def test_the_api_tells_each_crossing_and_better_lines_and_stores_nothing(self, program, job, placed):
        run = PATH | {"points_in": [[0, 120], [200, 120]]}
        answer = program.post("/api/v1/run/", {"job": job.pk, "run": run, "lines": True}, format="json")
        assert answer.status_code == 200
        told = answer.json()
        assert [(one["letter"], one["truss"], one["copy"], one["verdict"]) for one in told["crossings"]][:2] == [
            ("A", "K1", 1, "moves"),
            ("B", "K1", 2, "moves"),
        ]
        assert (told["changes"], told["never"], told["pieces"][0]["before_in"]) == (5, 0, 200)
        falling = program.post("/api/v1/run/", {"job": job.pk, "run": run | {"slope_in_per_ft": 0.25}}, format="json")
        assert [one["falls_in"] for one in falling.json()["crossings"]] == pytest.approx([0.5, 1, 1.5, 2, 2.5])
        assert told["lines"][0]["changes"] == 0
        assert told["lines_lack"] == ""
        again = program.post("/api/v1/run/", {"job": job.pk, "run": told["lines"][0]["run"]}, format="json").json()
        assert again["changes"] == 0
        assert "lines" not in again
        assert not Run.objects.exists()

    def test_a_line_with_other_bends_goes_up_where_the_wish_does(self, program, client_of, builder, job, placed):
        """K1 and K2 have a post at 120: beside it, and 4 in. up between K1's copies 2 and 3, as asked."""
        run = PATH | {"points_in": [[0, 120], [60, 120], [60, 123], [200, 123]], "rises_in": [0, 4]}
        told = program.post("/api/v1/run/", {"job": job.pk, "run": run, "lines": True}, format="json").json()
        (one,) = [line for line in told["lines"] if line["bends"]]
        assert (told["changes"], one["changes"], sum(one["run"]["rises_in"])) == (5, 0, 4)
        again = program.post("/api/v1/run/", {"job": job.pk, "run": one["run"]}, format="json").json()
        assert [(each["height_in"], each["verdict"]) for each in again["crossings"]] == [
            *[(22.75, "fits")] * 2,
            *[(26.75, "fits")] * 3,
        ]
        typed = TYPED | {"points": "0, 10'\n5', 10'\n5', 10'-3\"\n16'-8\", 10'-3\"", "rises": '0", 4"', "offers": "1"}
        page = client_of(builder).post(f"/jobs/{job.pk}/run/", typed, headers={"HX-Request": "true"})
        assert re.search(r'data-rises="[^"]*4&quot;', page.content.decode())

    def test_what_better_lines_there_are_none_of_is_said(self, program, job, placed):
        """Higher than the truss, wherever it is: a line over the roof is none, though clear; nor where it is too wide
        for a corner in any bay."""
        none = "No line asks for fewer changes: neither moved as a whole, by up to 8'-0\" sideways"
        stuck = "Other lines were not looked for: corner 2 stands in K1-2, and no line near was found"
        for points, width, says in (
            ([[0, 120], [200, 120]], 20, none),
            ([[24, 120], [200, 120]], 20, none),
            ([[36, 100], [60, 100], [60, 140], [110, 140]], 23, stuck),
        ):
            section = {"shape": "rectangle", "width_in": width, "height_in": 90}
            run = PATH | {"points_in": points, "section": section}
            told = program.post("/api/v1/run/", {"job": job.pk, "run": run, "lines": True}, format="json").json()
            assert told["lines"] == []
            assert told["lines_lack"].startswith(says)

    def test_of_what_begins_or_turns_in_a_truss_the_nearest_that_does_not_is_offered(
        self, program, client_of, builder, job, placed
    ):
        """It begins at the middle of K1-1 and turns 3 in. past that of K1-2; the post at 120 is in the way too."""
        run = PATH | {"points_in": [[24, 120], [51, 120], [51, 150], [200, 150]]}
        told = program.post("/api/v1/run/", {"job": job.pk, "run": run, "lines": True}, format="json").json()
        assert told["ends"] == [{"point": 1, "truss": "K1-1", "past_in": 0.75, "short_in": 0.75}]
        assert told["corners"][0]["truss"] == "K1-2"
        least = told["lines"][0]
        assert [one["out_of"] for one in least["cleared"]] == [["K1-1"], ["K1-2"], []]
        assert least["changes"] == 0
        again = program.post("/api/v1/run/", {"job": job.pk, "run": least["run"]}, format="json").json()
        assert (again["ends"], again["corners"], again["changes"]) == ([], [], 0)
        address, typed = (
            f"/jobs/{job.pk}/run/",
            TYPED | {"points": "2', 10'\n4'-3\", 10'\n4'-3\", 12'-6\"\n16'-8\", 12'-6\""},
        )
        page = client_of(builder).post(address, typed, headers={"HX-Request": "true"})
        assert "It begins in K1-1; that truss is asked to keep room for it as if it went through." in words(page)
        assert 'Begin it 3/4" farther, past K1-1' in words(page)
        offers = words(client_of(builder).post(address, typed | {"offers": "1"}, headers={"HX-Request": "true"}))
        assert 'Its beginning goes 3/4" farther, past K1-1; corner 2 and corner 3' in offers

    def test_filed_by_the_api(self, program, body, placed):
        answer = program.post("/api/v1/requests/", body | {"asks": [{"kind": "run", "run": PATH}]}, format="json")
        assert answer.status_code == 201
        told = program.get(f"/api/v1/requests/{answer.json()['id']}/").json()
        assert [one["kind"] for one in told["asks"]] == ["run", "run"]

    @pytest.mark.parametrize(
        ("run", "field"),
        [({**PATH, "level": "Cellar"}, "run.level"), ({**PATH, "points_in": []}, "run.points_in"), ([], "run")],
    )
    def test_what_is_wrong_is_told_by_its_place(self, program, job, placed, run, field):
        answer = program.post("/api/v1/run/", {"job": job.pk, "run": run}, format="json")
        assert answer.status_code == 400
        assert field in str(answer.json())

    def test_a_foreign_job_is_missing(self, program, other_job):
        assert program.post("/api/v1/run/", {"job": other_job.job_id, "run": PATH}, format="json").status_code == 404


TYPED = {
    "level": "Roof",
    "points": "0, 8'-4\"\n16'-8\", 8'-4\"",
    "shape": "circle",
    "diameter": "8",
    "clearance": "1",
    "up": "1'-10 3/4\"",
    "datum": "bearing",
}


def words(answer):
    return " ".join(text(answer).split())


class TestPage:
    def test_answers_while_it_grows(self, client_of, builder, job, placed):
        client, address = client_of(builder), f"/jobs/{job.pk}/run/"
        assert "Draw its line" in text(client.get(address))
        answer = client.post(address, TYPED, headers={"HX-Request": "true"})
        assert "Fits through all 5 trusses as they are" in text(answer)
        hit = client.post(address, TYPED | {"points": "0, 10'\n16'-8\", 10'"}, headers={"HX-Request": "true"})
        assert "5 trusses crossed, 5 would have to change" in text(hit)
        offers = client.post(
            address, TYPED | {"points": "0, 10'\n16'-8\", 10'", "offers": "1"}, headers={"HX-Request": "true"}
        )
        assert "every truss stays as it is" in text(offers)
        one = client.post(address, TYPED | {"points": "0, 10'"}, headers={"HX-Request": "true"})
        assert "It begins there" in text(one)
        # nothing is wrong yet, and what stands above the plan is there before: no second tap lands beside its place
        assert "It begins there: tap its next corner" in text(one)
        assert "Draw its line on the plan" in text(client.get(address))
        assert not any("hidden" in tag for tag in re.findall(r'<a id="run-line"[^>]*>', one.content.decode()))
        falls = words(client.post(address, TYPED | {"slope": "1/4"}, headers={"HX-Request": "true"}))
        assert "Crossed 8'-4\" along the truss from the middle of its left bearing, with the run's middle" in falls
        at = '1\'-10 1/4" above the top of the wall plate, 1/2" lower than where it begins.'
        assert f"{at} It takes an opening" in falls
        wrong = client.post(address, TYPED | {"points": "", "diameter": "0"}, headers={"HX-Request": "true"})
        assert "Give two points or more" in text(wrong)
        assert not Run.objects.exists()

    def test_of_a_run_that_goes_through_nothing_it_says_where_it_passes_and_the_height_that_does(
        self, client_of, builder, job, placed
    ):
        client, address = client_of(builder), f"/jobs/{job.pk}/run/"
        high = client.post(address, TYPED | {"up": "20'", "datum": "floor"}, headers={"HX-Request": "true"})
        told = words(high)
        assert "It goes through no truss at this height Its middle is 20'-0\" above the attic floor." in told
        assert "It passes above K1-1 to K1-3 and K2-1 to K2-2 (" in told
        assert 'class="note good' not in high.content.decode()
        (up,) = {html.unescape(one) for one in re.findall(r'data-up="([^"]*)"[^>]*>Take this', high.content.decode())}
        there = words(client.post(address, TYPED | {"up": up, "datum": "floor"}, headers={"HX-Request": "true"}))
        assert "Fits through all 5 trusses as they are" in there
        far = words(client.post(address, TYPED | {"points": "0, 80'\n9', 80'"}, headers={"HX-Request": "true"}))
        assert "Its line lies over no truss" in far

    def test_heights_from_the_floor_below_are_asked_kept_and_told_as_they_were_typed(
        self, client_of, builder, job, placed, needed_by
    ):
        client, address = client_of(builder), f"/jobs/{job.pk}/run/"
        told = "bearing at 8'-1 1/8\" above the bare floor, its sheathing not counted; assumed"
        floor = f"the floor of the storey below ({told})"
        first = " ".join(html.unescape(text(client.get(address))).split())
        assert f"The floor of the storey below: {told}." in first
        typed = TYPED | {"datum": "storey", "up": "9'-11 7/8\""}
        page = words(client.post(address, typed, headers={"HX-Request": "true"}))
        assert "Fits through all 5 trusses as they are" in page
        assert f"its middle 9'-11 7/8\" above {floor}" in page
        asked = PATH | {"datum": "storey", "height_in": 119.875}
        change = workflow.file(builder, job, reason="A", needed_by=needed_by, asks=[{"kind": "run", "run": asked}])
        kept = change.runs.get().wish
        assert (kept["datum"], kept["bearing_above_floor_in"], kept["bearing_assumed"]) == ("storey", 97.125, True)
        assert change.asks.first().opening["centre_in"] == [100, pytest.approx(20)]
        page = words(client.get(f"/requests/{change.pk}/"))
        assert f"its middle 9'-11 7/8\" above {floor} where it begins" in page
        assert "around it, its middle 9'-11 7/8\" above the floor of the storey below, in copies 1–3" in page

    def test_what_is_asked_is_confirmed_on_a_list(self, client_of, builder, job, placed):
        """The copies that share an opening, as they would be asked for; of those that are cut what remains."""
        truss, _ = placed
        client, address = client_of(builder), f"/jobs/{job.pk}/run/"
        empty = words(client.get(address))
        assert "The copies that its line crosses stand here before it is sent." in empty
        page = words(client.post(address, TYPED, headers={"HX-Request": "true"}))
        assert "A to C K1-1 to K1-3 fits" in page
        assert 'K1, copies 1 to 3 fits One opening, 8" round, for all of it at A to C.' in page
        assert 'K2, copies 1 and 2 fits One opening, 8" round, for all of it at D and E.' in page
        truss.copies.filter(number=2).update(stage=Stage.CUT, built_to=truss.current)
        page = words(client.post(address, TYPED, headers={"HX-Request": "true"}))
        assert "K1, copy 2 cut already Fits as built: nothing changes in it" in page
        assert "Cut already, fits as built: K1-2." in page
        assert "K1, copies 1 and 3 fits" in page
        other = TYPED | {"points": "0, 10'\n16'-8\", 10'"}
        hit = client.post(address, other, headers={"HX-Request": "true"})
        assert "K1, copy 2 : cut already, and it doesn't get through." in words(hit)
        assert "K1, copy 2 cut, in its way It can't change." in words(hit)
        assert "move it, or tick to ask of the rest" in words(hit)
        assert 'value="[&quot;K1-2&quot;]"' in hit.content.decode()
        without = words(client.post(address, other | {"without": '["K1-2"]'}, headers={"HX-Request": "true"}))
        assert "It can't be sent" not in without
        truss.job.trusses.update(can_change_until="2020-01-01")
        late = words(client.post(address, TYPED, headers={"HX-Request": "true"}))
        assert "K1, copies 1 and 3 too late" in late

    def test_its_plan_opens_where_the_mark_is_that_one_comes_from(self, client_of, builder, job, placed):
        _, other = placed
        client = client_of(builder)
        assert (
            f'/jobs/{job.pk}/run/?mark={other.pk}"'
            in client.get(f"/jobs/{job.pk}/trusses/{other.pk}/needs/").content.decode()
        )
        page = client.get(f"/jobs/{job.pk}/run/?mark={other.pk}")
        assert (page.context["level"], page.context["opens"]) == ("Roof", f"/jobs/{job.pk}/trusses/{other.pk}/")
        assert client.get(f"/jobs/{job.pk}/run/?mark=x").context["opens"] == ""

    def test_sends_what_it_shows(self, client_of, builder, job, placed, needed_by):
        client, address = client_of(builder), f"/jobs/{job.pk}/run/"
        sent = TYPED | {"send": "1", "reason": "A duct", "needed_by": needed_by.isoformat(), "key": "k1"}
        answer = client.post(address, sent)
        (one,) = Run.objects.all()
        assert answer["Location"] == f"/requests/{one.request_id}/"
        assert one.wish["height_in"] == 22.75
        refused_ = client.post(address, sent | {"key": "k2", "points": "0, 80'\n9', 80'"})
        assert refused_.status_code == 422
        assert "crosses no truss" in text(refused_)
        assert "9', 80'" in text(refused_)

    def test_who_may(self, cast, client_of, job, placed):
        told = {who: client_of(user).get(f"/jobs/{job.pk}/run/").status_code for who, user in cast.items()}
        assert told == {"builder": 200, "designer": 403, "site lead": 403, "outsider": 404, "nobody": 302}


def test_groups_are_of_one_section(placed, job):
    """A copy that is crossed twice is in two groups: its truss needs both openings."""
    from trusses.analysis.runs.run import read_run

    there_and_back = read_run(PATH | {"points_in": [[0, 60], [132, 60], [132, 180], [0, 180]], "height_in": 12.75})
    crossed = runs.crossing(job, there_and_back)
    met = runs.by_mark(crossed)["K1"]
    assert len(met) == 6
    assert [[one.stood.number for _, one in those] for those in runs.groups(met)] == [[1, 2, 3], [3, 2, 1]]
