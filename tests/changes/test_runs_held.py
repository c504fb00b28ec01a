"""Runs through copies that are cut, held against what goes through these already; and copies made anew."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.utils import timezone

from changes import workflow
from changes.asks.holding import Holds, holds
from changes.asks.live_run import _refused, run_answer
from changes.asks.on_plan import on_the_plan
from changes.asks.run import crossing, read_path
from changes.models import Ask, Request
from changes.workflow.setting import told_of
from tests.analysis.runs.standing import design, row, run
from tests.changes.asking import DAMAGE, FITS, PATH, codes, compute, first_options
from tests.changes.reading import text
from tests.refused import refused
from trusses.analysis.clearance.apart import inside
from trusses.analysis.format.document import read, read_opening
from trusses.analysis.runs.crossing import cross
from trusses.analysis.runs.run import Section
from trusses.analysis.runs.stood import Design
from trusses.analysis.words.phrases import coded, tell
from trusses.analysis.words.runs import LINES
from trusses.copies.earlier import make_anew
from trusses.copies.models import Look
from trusses.models import Placement, Stage, Truss

BESIDE = {"points_in": [[0, 140], [200, 140]]}
"""The same on the other side of K1's post."""
PIPE = Section("circle", 4, 4, 0, 0.5)


@pytest.fixture
def cut(placed):
    """K1's second copy and both of K2."""

    def make(*numbers):
        for truss, those in ((placed[0], numbers or (2,)), (placed[1], (1,))):
            truss.copies.filter(number__in=those).update(stage=Stage.CUT, built_to=truss.current)
        return placed

    return make


class TestHeld:
    def test_another_that_would_lie_in_it_is_refused_by_name_and_one_beside_it_is_not(self, file_run, cut):
        cut()
        first = file_run()
        held = {"mark": "K1", "copies": [2], "how": "taken", "request": first.pk, "opening": ""}
        with refused(workflow.Refused, "run-in-cut", "asks[0].run (K1)", **held):
            file_run(height_in=24.75)
        with pytest.raises(workflow.Refused) as trouble:
            file_run(height_in=24.75)
        assert trouble.value.says == (
            "Copy 2 of K1 is cut already, and the run would lie in what goes through it already: the"
            f" run of request {first.pk}. Move the run, or ask without it."
        )
        assert file_run(**BESIDE).runs.get().as_cut[0]["how"] == "fits"

    def test_it_is_asked_without_those_copies_which_then_hold_nothing(self, file_run, cut, job, builder, needed_by):
        cut()
        first = file_run()
        asks = [{"kind": "run", "run": PATH | {"height_in": 24.75}, "without": ["K1-2", "K2-1"]}]
        second = workflow.file(builder, job, reason="A pipe", needed_by=needed_by, asks=asks)
        rows = second.runs.get().as_cut
        assert [(one["mark"], one["how"], one["holds"]["request"]) for one in rows] == [
            ("K1", "taken", first.pk),
            ("K2", "taken", first.pk),
        ]
        workflow.withdraw(builder, first)
        assert [one["how"] for one in file_run(note="another").runs.get().as_cut] == ["fits", "fits"]

    def test_two_runs_of_one_request_too(self, job, builder, needed_by, cut):
        cut()
        asks = [{"kind": "run", "run": PATH | {"height_in": height}} for height in (22.75, 24.75)]
        with refused(workflow.Refused, "run-in-cut", "asks[1].run (K1)", how="taken", request=None):
            workflow.file(builder, job, reason="Two", needed_by=needed_by, asks=asks)

    def test_what_was_asked_for_first_goes_first_and_what_ended_holds_nothing(self, file_run, cut, designer, builder):
        """Two that crossed nothing cut when they were asked for; then K1-2 is cut, as built to revision 0."""
        first, second = (compute(file_run(points_in=[[0, at], [60, at]])) for at in (100, 104))
        cut()
        for change in (first, second):
            compute(workflow.compute_again(designer, change))
        with refused(workflow.Conflict, "run-in-cut-since", how="taken", request=first.pk, copies=[2]):
            workflow.decide(designer, second, verdict="approve", options=first_options(second))
        workflow.decide(designer, first, verdict="approve", options=first_options(first))
        compute(workflow.compute_again(designer, second))
        with refused(workflow.Conflict, "run-in-cut-since", how="taken", request=first.pk):
            workflow.decide(designer, second, verdict="approve", options=first_options(second))

    def test_an_answer_is_not_held_against_what_it_replaces(self, file_run, cut, designer, builder):
        cut()
        change = compute(file_run())
        workflow.decide(designer, change, verdict="send back", reason="2 in. higher")
        asks = [{"kind": "run", "run": PATH | {"height_in": 24.75}}]
        workflow.answer(builder, change, says="There", asks=asks)
        assert [one["how"] for one in change.runs.last().as_cut] == ["fits", "fits"]

    @pytest.mark.parametrize("ends", ["kept off", "declined"])
    def test_what_was_issued_stays_where_its_request_is_open_again_for_its_damage(
        self, file_run, cut, job, builder, designer, needed_by, ends
    ):
        _, other = cut()
        asks = [
            {"kind": "run", "run": PATH | {"points_in": [[0, 100], [80, 100]]}},
            {"kind": "damage", "truss": other.pk, "copies": [1], "damage": DAMAGE},
        ]
        change = compute(workflow.file(builder, job, reason="Both", needed_by=needed_by, asks=asks))
        options = {ask.pk: ask.options.filter(stale=False).first().pk for ask in change.asks.filter(kind="run")}
        workflow.decide(designer, change, verdict="approve", reason="Anew", ends_by="new truss", options=options)
        workflow.decide(designer, change, verdict="approve", reason="It bows", ends_by="keep off")
        if ends == "declined":
            compute(change)
            workflow.decide(designer, change, verdict="decline", reason="It isn't damaged")
        assert [one.points for one in on_the_plan(job, "Roof")] == [((0, 100), (80, 100))]
        with refused(workflow.Refused, "run-in-cut", how="taken", request=change.pk):
            file_run(points_in=[[0, 100], [80, 100]], height_in=24.75)

    def test_no_better_line_lies_in_it(self, file_run, cut, job):
        """The nearest lines that miss K1's post go where others do on either side of it."""
        cut()
        for at in (111, 129):
            file_run(points_in=[[40, at], [56, at]], note=str(at))
        told = run_answer(job, PATH | {"points_in": [[0, 120], [200, 120]]}, offers=True)
        says = (
            "Where fewer trusses would have to change, it would lie in what goes through trusses that are cut already."
        )
        assert (told["lines"], told["lines_lack"]) == ([], says)

    def test_no_line_is_offered_through_a_mark_past_its_last_day(self, placed, job):
        through = crossing(job, read_path(PATH, ("run",)))
        assert _refused(job, through, [], None, together=False) is None
        Truss.objects.filter(pk=placed[1].pk).update(can_change_until=job.today() - timedelta(days=1))
        told = _refused(job, through, [], None, together=False)
        assert told == coded("run-better-lines-past", marks=["K2"])
        says = "Where fewer trusses would have to change, it would go through K2, and that can't change any more."
        assert tell(LINES, [told]) == says

    def test_another_line_that_is_asked_about_and_that_something_lies_in_since_is_told_so(
        self, file_run, cut, designer, builder, client_of
    ):
        cut()
        change = compute(file_run(**BESIDE))
        one = change.runs.get()
        line = one.wish | {"points_in": [[0, 100], [200, 100]]}
        workflow.decide(designer, change, verdict="send back", reason="There?", lines={one.pk: line})
        since = file_run()
        page = " ".join(text(client_of(builder).get(f"/requests/{change.pk}/")).split())
        there = f"what goes through there already: the run of request {since.pk}."
        assert f"K1-2 is cut already. The run would lie in {there}" in page

    def test_pages_and_the_api_say_what_is_there(self, file_run, cut, client_of, builder, job, program):
        cut()
        first = file_run()
        there = f"the run of request {first.pk}"
        typed = {"level": "Roof", "points": "0, 8'-4\"\n16'-8\", 8'-4\"", "shape": "circle", "diameter": "8"}
        typed |= {"clearance": "1", "up": "2'", "datum": "bearing"}
        page = client_of(builder).post(f"/jobs/{job.pk}/run/", typed, headers={"HX-Request": "true"})
        says = " ".join(text(page).split())
        assert f"K1, copy 2 : cut already, and it would lie in what goes through there: {there}." in says
        assert f"K1, copy 2 cut, taken The run would lie in what goes through there already: {there}." in says
        told = program.post("/api/v1/run/", {"job": job.pk, "run": PATH}, format="json").json()
        assert [(one["as_cut"], one["taken_by"]) for one in told["crossings"]][1] == (
            "taken",
            {"request": first.pk, "opening": ""},
        )
        own = " ".join(text(client_of(builder).get(f"/requests/{first.pk}/")).split())
        assert "cut, taken" not in own


def test_what_the_drawing_keeps_free_is_for_what_lies_within_it():
    """A W with an opening 16 in. wide at midspan, met by a pipe in it, half in it and beside it."""
    one = design()
    document = {**one.truss.document, "openings": [{"id": "O1", **_opening(216, 40, 16)}]}
    kept = Design(read(document))
    found = []
    for at in (216, 206, 190):
        crossed = cross(run((0, at), (60, at), height=41.75, section=PIPE), row(1, kept)).crossings
        found.append(holds([(1, crossed[0])], []))
    assert found == [{}, {0: Holds(opening="O1")}, {}]


def test_an_opening_that_another_request_filled_is_taken(job, truss, placed, designer, builder, needed_by, file_run):
    opening = FITS | {"diameter_in": 10, "note": "return duct"}
    asks = [{"kind": "opening", "truss": truss.pk, "opening": opening}]
    change = compute(workflow.file(builder, job, reason="A return", needed_by=needed_by, asks=asks))
    workflow.decide(designer, change, verdict="approve", options=first_options(change))
    truss.refresh_from_db()
    assert [one["id"] for one in truss.current.document["openings"]] == ["O1"]
    truss.copies.update(stage=Stage.CUT, built_to=truss.current)
    vent = {"points_in": [[0, 100], [80, 100]], "section": PATH["section"] | {"diameter_in": 4, "clearance_in": 0.5}}
    with refused(workflow.Refused, "run-in-cut", how="taken", request=None, opening="O1"):
        file_run(**vent)


def _opening(x, y, size):
    return {"shape": "circle", "centre_in": [x, y], "diameter_in": size, "clearance_in": 1}


@pytest.mark.parametrize(
    ("at", "shape", "is_in"),
    [((6, 0), "circle", True), ((6.1, 0), "circle", False), ((4.5, 4.5), "circle", False), ((6, 6), "rectangle", True)],
)
def test_within_an_opening_is_within_its_shape(at, shape, is_in):
    size = {"diameter_in": 16} if shape == "circle" else {"width_in": 16, "height_in": 16}
    held = read_opening({"id": "O1", "shape": shape, "centre_in": [0, 0], "clearance_in": 0, **size})
    pipe = read_opening({"id": "P", "shape": "circle", "centre_in": [*at], "clearance_in": 2, "diameter_in": 4})
    assert inside(pipe, held) is is_in


class TestAnew:
    def test_a_copy_that_is_made_anew_is_not_the_one_that_damage_was_told_of(
        self, file_run, cut, job, builder, designer
    ):
        truss, _ = cut()
        told = Request.objects.create(job=job, filed_by=builder, reason="Split", needed_by="2030-01-01")
        Ask.objects.create(request=told, truss=truss, revision=truss.current, copies=[2], kind="damage", wish={})
        with refused(workflow.Refused, "run-in-cut", copies=[2], how="damaged"):
            file_run()
        make_anew(designer, truss, list(truss.copies.filter(number=2)), "Split")
        cut()
        assert file_run().runs.get().as_cut[0]["how"] == "fits"
        again = Request.objects.create(job=job, filed_by=builder, reason="Again", needed_by="2030-01-01")
        Ask.objects.create(request=again, truss=truss, revision=truss.current, copies=[2], kind="damage", wish={})
        with refused(workflow.Refused, "run-in-cut", copies=[2], how="damaged"):
            file_run(**BESIDE)

    def test_damage_that_an_answer_tells_of_is_of_the_copy_that_stands_then(
        self, file_run, cut, job, builder, designer, needed_by
    ):
        """The request is older than the copy: it was made anew between, and cut again."""
        truss, _ = cut()
        asks = [{"kind": "question", "question": {"says": "What is this?"}}]
        change = compute(workflow.file(builder, job, reason="Seen", needed_by=needed_by, asks=asks))
        workflow.decide(designer, change, verdict="send back", reason="Which?")
        make_anew(designer, truss, list(truss.copies.filter(number=2)), "Split")
        cut()
        look = Look(pk=1, copy=truss.copies.get(number=2), at=timezone.now())
        asks = [{"kind": "damage", "truss": truss.pk, "copies": [2], "damage": DAMAGE}]
        compute(workflow.answer(builder, change, says="This one", asks=asks))
        assert told_of([look]) == {1}
        with refused(workflow.Refused, "run-in-cut", copies=[2], how="damaged"):
            file_run()
        workflow.decide(designer, change, verdict="send back", reason="Sure?")
        make_anew(designer, truss, list(truss.copies.filter(number=2)), "Split")
        cut()
        workflow.answer(builder, change, says="No", asks=[{"kind": "question", "question": {"says": "None."}}])
        assert file_run().runs.get().as_cut[0]["how"] == "fits"


class TestOnRecord:
    @pytest.fixture
    def all_cut(self, placed):
        for truss in placed:
            truss.copies.update(stage=Stage.CUT, built_to=truss.current)

    def test_what_asks_nothing_of_anybody_is_on_record_and_a_designer_looks_at_it(
        self, file_run, all_cut, designer, builder, client_of, program
    ):
        change = compute(file_run())
        (ask,) = change.asks.all()
        assert (ask.truss, ask.copies, ask.opening, ask.verdict, change.state) == (
            None,
            [],
            None,
            "fits",
            "awaiting decision",
        )
        rows = change.runs.get().as_cut
        assert [(one["mark"], one["copies"], one["revision"], one["how"]) for one in rows] == [
            ("K1", [1, 2, 3], 0, "fits"),
            ("K2", [1, 2], 0, "fits"),
        ]
        assert not change.holds.exists()
        for person in (builder, designer):
            page = " ".join(text(client_of(person).get(f"/requests/{change.pk}/")).split())
            assert "Asked at A–E: 8 in. duct, through trusses that are cut already, as each was built." in page
            assert "has room for it as built (5 crossings). Nothing is asked of anybody" in page
        assert program.get(f"/api/v1/requests/{change.pk}/").json()["asks"][0]["verdict"] == "fits"
        with refused(workflow.Refused, "say-what-was-done"):
            workflow.decide(designer, change, verdict="approve")
        workflow.decide(designer, change, verdict="approve", reason="Seen on site.")
        change.refresh_from_db()
        page = " ".join(text(client_of(builder).get(f"/requests/{change.pk}/")).split())
        assert "answered by a designer" in page
        assert "revision issued" not in page
        with refused(workflow.Refused, "run-in-cut", how="taken", request=change.pk):
            file_run(height_in=24.75)
        assert [one.points for one in on_the_plan(change.job, "Roof")] == [((0, 100), (200, 100))]

    def test_what_it_goes_through_no_more_is_not_approved(self, file_run, all_cut, designer, builder, job, placed):
        change = compute(file_run())
        told = Request.objects.create(job=job, filed_by=builder, reason="Split", needed_by="2030-01-01")
        Ask.objects.create(
            request=told, truss=placed[1], revision=placed[1].current, copies=[2], kind="damage", wish={}
        )
        with refused(workflow.Conflict, "run-in-cut-since", mark="K2", copies=[2], how="damaged"):
            workflow.decide(designer, change, verdict="approve", reason="Seen")

    def test_copies_made_anew_since_are_not_told_as_built(self, file_run, all_cut, designer, placed):
        change, (truss, _) = file_run(), placed
        make_anew(designer, truss, list(truss.copies.filter(number=2)), "Split")
        compute(change)
        assert change.asks.get().told == [{"code": "run-as-built-no-more", "values": {}}]
        with refused(workflow.Conflict, "run-made-anew-since", mark="K1", copies=[2]):
            workflow.decide(designer, change, verdict="approve", reason="Seen")

    def test_nor_where_other_copies_are_asked_of(self, file_run, cut, designer):
        truss, _ = cut()
        change = file_run()
        make_anew(designer, truss, list(truss.copies.filter(number=2)), "Split")
        compute(change)
        with refused(workflow.Conflict, "run-made-anew-since", mark="K1", copies=[2]):
            workflow.decide(designer, change, verdict="approve", options=first_options(change))

    def test_a_level_that_is_called_otherwise_since_is_answered_in_a_sentence(self, file_run, all_cut, designer):
        change = file_run()
        Placement.objects.update(level="Upper")
        compute(change)
        assert (change.state, codes(change.asks.get().told)) == ("awaiting decision", ["run-as-built-no-more"])
        with refused(workflow.Conflict, "run-made-anew-since", copies=[1, 2, 3]):
            workflow.decide(designer, change, verdict="approve", reason="Seen")

    def test_its_page_says_before_it_is_sent_that_no_change_is_asked_for(self, all_cut, client_of, builder, job):
        typed = {"level": "Roof", "points": "0, 8'-4\"\n16'-8\", 8'-4\"", "shape": "circle", "diameter": "8"}
        typed |= {"clearance": "1", "up": "1'-10 3/4\"", "datum": "bearing"}
        address = f"/jobs/{job.pk}/run/"
        says = " ".join(text(client_of(builder).post(address, typed, headers={"HX-Request": "true"})).split())
        assert "No change is asked for: all that it goes through is cut already." in says
        assert "It can't be sent" not in says
        stuck = typed | {"points": "0, 10'\n16'-8\", 10'", "without": '["K1-1", "K1-2", "K1-3", "K2-1", "K2-2"]'}
        says = " ".join(text(client_of(builder).post(address, stuck, headers={"HX-Request": "true"})).split())
        assert "It can't be sent as it runs: move it." in says

    def test_where_it_goes_through_nothing_there_is_nothing_to_put_on_record(self, all_cut, job, builder, needed_by):
        without = ["K1-1", "K1-2", "K1-3", "K2-1", "K2-2"]
        asks = [{"kind": "run", "run": PATH | {"points_in": [[0, 120], [200, 120]]}, "without": without}]
        with refused(workflow.Refused, "run-asks-nothing"):
            workflow.file(builder, job, reason="A duct", needed_by=needed_by, asks=asks)
