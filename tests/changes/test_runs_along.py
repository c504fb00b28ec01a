"""Another line of a run that a designer asks about: found or typed, taken with one tap, filed again."""

from __future__ import annotations

from dataclasses import replace

import pytest

from changes import workflow
from changes.pages.run_plan import said_difference, takes
from tests.analysis.runs.standing import row, run
from tests.changes.asking import DAMAGE, FITS, PATH, compute
from tests.changes.reading import text
from tests.refused import refused
from trusses.analysis.runs.crossing import cross
from trusses.models import Stage

HIT = {"points_in": [[0, 120], [200, 120]]}
"""Through the posts of K1 and K2."""
TYPED = {"points": "0, 8'-8\"\n16'-8\", 8'-8\"", "up": "22.75", "rises": "", "reason": "Will this do?"}


@pytest.fixture
def asked(file_run):
    change = compute(file_run(**HIT))
    return change, change.runs.get()


@pytest.fixture
def sent_back(asked, designer):
    change, one = asked
    line = one.wish | {"points_in": [[0, 100], [200, 100]]}
    workflow.decide(designer, change, verdict="send back", reason="20 in. down the plan?", lines={one.pk: line})
    change.refresh_from_db()
    return change


def words(answer):
    return " ".join(text(answer).split())


class TestDesigner:
    def test_a_line_that_was_found_goes_back_with_one_tap(self, asked, client_of, designer):
        change, one = asked
        client, address = client_of(designer), f"/requests/{change.pk}/runs/{one.pk}/lines/"
        assert f'href="{address}"' in client.get(f"/requests/{change.pk}/").content.decode()
        page = client.get(address)
        offer = page.context["offers"][0]
        assert "every truss stays as it is" in offer["says"]
        sent = client.post(address, {**offer["typed"], "reason": offer["says"]})
        assert sent["Location"] == f"/requests/{change.pk}/"
        change.refresh_from_db()
        decision = change.decisions.get()
        assert (change.state, decision.verdict, decision.reason) == ("sent back", "send back", offer["says"])
        assert decision.lines[str(one.pk)]["section"] == one.wish["section"]
        assert words(client.get(address)).count("It doesn't wait for a decision now.") == 1
        assert "Its builder is asked whether another line will do" in words(client.get(f"/requests/{change.pk}/"))

    def test_one_that_is_typed_is_read_and_what_is_wrong_loses_nothing(self, asked, client_of, designer):
        change, one = asked
        client, address = client_of(designer), f"/requests/{change.pk}/runs/{one.pk}/lines/"
        for wrong, says in (
            ({"points": "0, 10'\n4'-3\", 10'\n4'-3\", 12'\n16'-8\", 12'"}, "corner 2 stands in K1-2"),
            ({"points": "0, 80'\n9', 80'"}, "crosses no truss"),
            ({"points": "0, 10'\n16'-8\", 10'"}, "that is the line that was asked for"),
            ({"up": "a yard"}, "a yard"),
            ({"rises": "x"}, ""),
        ):
            answer = client.post(address, TYPED | wrong)
            assert answer.status_code == 422
            assert says.lower() in words(answer).lower()
            assert "Will this do?" in words(answer)
        change.refresh_from_db()
        assert change.state == "awaiting decision"
        assert client.post(address, TYPED).status_code == 302
        line = change.decisions.get().lines[str(one.pk)]
        assert line == one.wish | {"points_in": [[0, 104], [200, 104]]}

    def test_what_was_meant_for_what_another_decided_since_is_late(self, asked, client_of, designer):
        change, one = asked
        client, address = client_of(designer), f"/requests/{change.pk}/runs/{one.pk}/lines/"
        assert 'name="after" value="0"' in client.get(address).content.decode()
        workflow.decide(designer, change, verdict="send back", reason="Why there?")
        late = client.post(address, TYPED | {"state": "awaiting decision", "after": "0"})
        assert late.status_code == 422
        assert "Not sent back." in words(late)
        assert change.decisions.count() == 1

    def test_who_may_and_of_which_run(self, asked, cast, client_of):
        change, one = asked
        address = f"/requests/{change.pk}/runs/{one.pk}/lines/"
        told = {who: client_of(user).get(address).status_code for who, user in cast.items()}
        assert told == {"builder": 403, "designer": 200, "site lead": 403, "outsider": 404, "nobody": 302}
        assert client_of(cast["designer"]).get(f"/requests/{change.pk}/runs/{one.pk + 9}/lines/").status_code == 404

    def test_with_no_other_decision_and_through_no_cut_copy(self, asked, designer, placed):
        change, one = asked
        line = one.wish | {"points_in": [[0, 122], [200, 122]]}
        with refused(workflow.Refused, "lines-when-sent-back"):
            workflow.decide(designer, change, verdict="decline", reason="No", lines={one.pk: line})
        placed[0].copies.filter(number=2).update(stage=Stage.CUT, built_to=placed[0].current)
        with refused(workflow.Refused, "run-in-cut", f"lines.{one.pk} (K1)", mark="K1", copies=[2]):
            workflow.decide(designer, change, verdict="send back", reason="There?", lines={one.pk: line})

    def test_through_nothing_that_was_asked_for_since(self, placed, file_run, designer):
        placed[0].copies.filter(number=2).update(stage=Stage.CUT, built_to=placed[0].current)
        change = compute(file_run(points_in=[[0, 140], [200, 140]]))
        since, one = file_run(), change.runs.get()
        line = one.wish | {"points_in": [[0, 100], [200, 100]], "height_in": 24.75}
        with refused(workflow.Refused, "run-in-cut", f"lines.{one.pk} (K1)", how="taken", request=since.pk):
            workflow.decide(designer, change, verdict="send back", reason="There?", lines={one.pk: line})

    @pytest.mark.parametrize(
        "other", [{"section": PATH["section"] | {"diameter_in": 4}}, {"note": "vent"}, {"datum": "ceiling"}]
    )
    def test_nothing_else_of_the_run_changes_by_it(self, asked, designer, other):
        change, one = asked
        line = one.wish | {"points_in": [[0, 100], [200, 100]]} | other
        with refused(workflow.Refused, "line-moves-only", f"lines.{one.pk}.{next(iter(other))}"):
            workflow.decide(designer, change, verdict="send back", reason="There?", lines={one.pk: line})

    def test_what_is_wrong_with_it_is_named_as_elsewhere(self, asked, designer):
        change, one = asked
        line = one.wish | {"height_in": "x"}
        with pytest.raises(workflow.Refused) as trouble:
            workflow.decide(designer, change, verdict="send back", reason="?", lines={one.pk: line})
        assert str(trouble.value).startswith(f"lines.{one.pk}: height_in must be")


class TestBuilder:
    def test_one_tap_files_it_again_along_that_line(self, sent_back, client_of, builder):
        decision = sent_back.decisions.get()
        client, address = client_of(builder), f"/requests/{sent_back.pk}/answer/"
        page = client.get(f"/requests/{sent_back.pk}/")
        assert "The designer asks whether another line will do" in words(page)
        assert "Moved 1'-8\" down on the plan: as the trusses are today, every truss stays as it is." in words(page)
        assert f'name="along" value="{decision.pk}"' in page.content.decode()
        assert f'data-queued="The other line: answer to request {sent_back.pk}"' in page.content.decode()
        for status in (302, 422):  # what a phone sends on twice is one answer
            assert client.post(address, {"along": decision.pk}).status_code == status
        sent_back.refresh_from_db()
        assert (sent_back.state, sent_back.events.get(verb="answer").told) == ("filed", "Yes, along that line.")
        assert sent_back.runs.last().wish["points_in"] == [[0, 100], [200, 100]]
        compute(sent_back)
        assert {ask.verdict for ask in sent_back.asks.filter(replaced=False)} == {"fits"}

    def test_an_opening_beside_it_stays_and_together_stays_together(self, job, builder, designer, needed_by, placed):
        falling = PATH | {"slope_in_per_ft": 1, "points_in": [[0, 120], [200, 120]]}
        asks = [{"kind": "run", "run": falling, "together": True}]
        small = FITS | {"centre_in": [60, 12], "diameter_in": 4}
        asks += [{"kind": "opening", "truss": placed[0].pk, "opening": small}]
        change = compute(workflow.file(builder, job, reason="Both", needed_by=needed_by, asks=asks))
        one = change.runs.get()
        line = one.wish | {"points_in": [[0, 100], [200, 100]]}
        decision = workflow.decide(designer, change, verdict="send back", reason="There?", lines={one.pk: line})
        workflow.answer_along(builder, change, decision.pk)
        rows = change.asks.filter(replaced=False)
        assert change.runs.last().together is True
        assert [(ask.kind, ask.copies) for ask in rows] == [("run", [1, 2, 3]), ("run", [1, 2]), ("opening", [1, 2, 3])]
        assert rows.last().opening["centre_in"] == [60, 12]

    def test_all_else_in_the_request_stands_as_it_was_asked(self, job, builder, designer, needed_by, placed):
        weight = {"what": "stone", "weight_lb": 40, "at_in": 60, "how": "hung", "note": "lamp"}
        asks = [
            {"kind": "run", "run": PATH | {"points_in": [[60, 120], [200, 120]]}},
            {"kind": "load", "truss": placed[0].pk, "copies": [1, 2], "load": weight},
            {"kind": "question", "truss": placed[0].pk, "copies": [1], "question": {"says": "Why?"}},
            {"kind": "damage", "truss": placed[1].pk, "copies": [1], "damage": DAMAGE},
        ]
        change = compute(workflow.file(builder, job, reason="All", needed_by=needed_by, asks=asks))
        one = change.runs.get()
        said = {ask.kind: (ask.copies, ask.wish) for ask in change.asks.filter(run=None)}
        told = set(change.asks.filter(kind__in=("question", "damage")).values_list("pk", flat=True))
        line = one.wish | {"points_in": [[60, 100], [200, 100]]}
        decision = workflow.decide(designer, change, verdict="send back", reason="There?", lines={one.pk: line})
        compute(workflow.answer_along(builder, change, decision.pk))
        rows = change.asks.filter(replaced=False)
        assert {ask.kind: (ask.copies, ask.wish) for ask in rows if ask.run is None} == said
        assert {ask.pk for ask in rows if ask.kind in ("question", "damage")} == told
        assert change.runs.last().wish == line
        # through the copies that the weight hangs from it can't be asked for in one request
        line = one.wish | {"points_in": [[0, 100], [200, 100]]}
        with refused(workflow.Refused, "answered-apart", "lines"):
            workflow.decide(designer, change, verdict="send back", reason="There?", lines={change.runs.last().pk: line})
        change.refresh_from_db()
        assert (change.state, change.asks.filter(replaced=False).count()) == ("awaiting decision", rows.count())

    def test_what_a_later_question_asked_is_not_answered_by_an_earlier_line(self, sent_back, builder, designer):
        first = sent_back.decisions.get()
        compute(workflow.answer(builder, sent_back, says="Why?"))
        workflow.decide(designer, sent_back, verdict="send back", reason="So that nothing changes.")
        with refused(workflow.Refused, "line-offered-no-more"):
            workflow.answer_along(builder, sent_back, first.pk)

    def test_it_is_asked_without_the_same_cut_copies_where_they_are_in_the_way_still(
        self, job, builder, designer, needed_by, placed
    ):
        placed[0].copies.filter(number=2).update(stage=Stage.CUT, built_to=placed[0].current)
        asks = [{"kind": "run", "run": PATH | HIT, "without": ["K1-2"]}]
        change = compute(workflow.file(builder, job, reason="A duct", needed_by=needed_by, asks=asks))
        one = change.runs.get()
        for points, how in (([[0, 122], [200, 122]], "in the way"), ([[0, 100], [200, 100]], "fits")):
            line = one.wish | {"points_in": points}
            decision = workflow.decide(designer, change, verdict="send back", reason="There?", lines={one.pk: line})
            compute(workflow.answer_along(builder, change, decision.pk))
            one = change.runs.last()
            assert [row["how"] for row in one.as_cut] == [how]

    def test_by_the_api(self, asked, client_of, designer, api_of, program):
        change, one = asked
        line = one.wish | {"height_in": 20}
        asking = api_of(designer).post(
            f"/api/v1/requests/{change.pk}/decision/",
            {"verdict": "send back", "reason": "Lower?", "lines": {str(one.pk): line}},
            format="json",
        )
        assert asking.status_code == 200
        assert asking.json()["decision"]["lines"][str(one.pk)]["height_in"] == 20
        wrong = api_of(designer).post(
            f"/api/v1/requests/{change.pk}/decision/",
            {"verdict": "send back", "reason": "Lower?", "lines": {"x": line}},
            format="json",
        )
        assert wrong.status_code == 400


@pytest.mark.parametrize(
    ("to", "says"),
    [
        ({"points": ((10, 100), (210, 100))}, 'Moved 10" to the right on the plan'),
        ({"height_in": 38.0}, '2" lower where it begins'),
        ({"points": ((0, 100), (50, 100), (50, 110), (200, 110))}, 'With 2 bends, 10" longer'),
        ({"points": ((0, 98), (200, 98)), "height_in": 42}, 'Moved 2" down on the plan and 2" higher where it begins'),
        ({"points": ((0, 100), (0, 90), (190, 90))}, "With 1 bend, as long"),
    ],
)
def test_how_another_line_differs(to, says):
    was = run((0, 100), (200, 100), height=40)
    assert said_difference(was, replace(was, **to)) == says


@pytest.mark.parametrize(
    ("points", "slope", "says"),
    [
        (((0, 216), (60, 216)), 0.0, 'an opening 14" round, with 1" clear around it'),
        (((0, 186), (60, 246)), 0.0, "larger than the run, which crosses on the skew"),
        (((0, 216), (60, 216)), 1.0, "larger than the run, which falls"),
        (((0, 186), (60, 246)), 1.0, "larger than the run, which crosses on the skew and falls"),
    ],
)
def test_a_row_says_what_the_truss_keeps_free_and_why_that_is_more_than_the_run(points, slope, says):
    asked = run(*points, height=40, slope=slope)
    (one,) = cross(asked, row(1)).crossings
    assert says in takes(one, asked)
    assert ("larger" in takes(one, asked)) is ("larger" in says)
