"""A run while it is drawn: what the API answers, what its page says and sends."""

from __future__ import annotations

import html
import re
from dataclasses import replace
from datetime import timedelta

import pytest

from changes import workflow
from changes.asks.live_run import takes
from changes.asks.run import crossing, read_path
from changes.models import Run
from tests.changes.asking import FITS, PATH
from tests.changes.reading import text, words
from trusses.models import Stage


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

    def test_what_one_tap_offers_can_be_sent(self, client_of, builder, job, placed, monkeypatch):
        path = read_path(PATH, ("run",))
        beyond = replace(path, points=((0.0, 900.0), (200.0, 900.0)))
        turns_in_a_truss = replace(path, points=((0.0, 100.0), (50.0, 100.0), (50.0, 130.0)))
        may = takes(job, crossing(job, path), (), together=False)
        assert [may(to) for to in (path, beyond, turns_in_a_truss)] == [True, False, False]
        may = takes(job, crossing(job, beyond), (), together=False)
        assert may(replace(beyond, height_in=30.0)), "what keeps it back already is no reason to offer nothing"
        assert not may(turns_in_a_truss)
        typed = TYPED | {"points": "2', 10'\n4'-3\", 10'\n4'-3\", 12'-6\"\n16'-8\", 12'-6\""}
        address, headers = f"/jobs/{job.pk}/run/", {"HX-Request": "true"}
        assert b"data-points" in client_of(builder).post(address, typed, headers=headers).content
        monkeypatch.setattr("changes.pages.running.takes", lambda *_, **__: lambda to: False)
        assert b"data-points" not in client_of(builder).post(address, typed, headers=headers).content

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

    def test_where_nothing_stands_it_says_so(self, program, job):
        answer = program.post("/api/v1/run/", {"job": job.pk, "run": PATH}, format="json")
        assert (answer.status_code, "nothing stands on this job's plan yet" in str(answer.json())) == (400, True)

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


class TestPage:
    def test_answers_while_it_grows(self, client_of, builder, job, placed):
        client, address = client_of(builder), f"/jobs/{job.pk}/run/"
        assert "Draw its line" in text(client.get(address))
        answer = client.post(address, TYPED, headers={"HX-Request": "true"})
        assert '8" round: fits through all 5 trusses as they are' in text(answer)
        hit = client.post(address, TYPED | {"points": "0, 10'\n16'-8\", 10'"}, headers={"HX-Request": "true"})
        assert '8" round: 5 trusses crossed, 5 would have to change' in text(hit)
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
        marked = "from the middle of the bearing at its marked end, toward the bottom of the plan"
        assert f"Crossed 8'-4\" along the truss {marked}, with the run's middle" in falls
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
        assert '8" round: it goes through no truss at this height Its middle is 20\'-0" above the attic floor.' in told
        assert "It passes above K1-1 to K1-3 and K2-1 to K2-2 (" in told
        assert 'class="note good' not in high.content.decode()
        (up,) = {html.unescape(one) for one in re.findall(r'data-up="([^"]*)"[^>]*>Take this', high.content.decode())}
        there = words(client.post(address, TYPED | {"up": up, "datum": "floor"}, headers={"HX-Request": "true"}))
        assert '8" round: fits through all 5 trusses as they are' in there
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
        assert '8" round: fits through all 5 trusses as they are' in page
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
        assert 'K1, copies 1 to 3 fits One opening, 8" round, serves the whole run at A to C.' in page
        assert 'K2, copies 1 and 2 fits One opening, 8" round, serves the whole run at D and E.' in page
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
        offers = words(client.post(address, other | {"offers": "1"}, headers={"HX-Request": "true"}))
        closed = (
            "Other lines were not looked for: K1 and K2 can't change any more, and no line through them can be sent."
        )
        assert offers == closed

    def test_where_it_would_cut_a_chord_it_may_be_sent_and_says_what_comes_of_it(
        self, client_of, builder, job, placed, file_run
    ):
        low = TYPED | {"up": '3"'}
        page = words(client_of(builder).post(f"/jobs/{job.pk}/run/", low, headers={"HX-Request": "true"}))
        assert '8" round: never as it runs, since in 5 of 5 trusses it would cut a chord or leave the truss' in page
        assert page.count("never as it runs It would fit") == 2
        assert 'K1, copies 1 to 3 never as it runs One opening, 8" round' in page
        assert "the answer can only be no" in page
        assert "It can't be sent" not in page
        assert file_run(height_in=3).pk

    def test_for_no_size_it_supposes_one_says_so_and_sends_none(self, client_of, builder, job, placed, needed_by):
        client, address = client_of(builder), f"/jobs/{job.pk}/run/"
        assert 'name="diameter" value' not in client.get(address).content.decode()
        bare = {key: value for key, value in TYPED.items() if key != "diameter"}
        page = client.post(address, bare, headers={"HX-Request": "true"})
        assert 'If it is 8" round: fits through all 5 trusses as they are' in words(page)
        assert "Nobody has chosen a size yet. Choose its size" in words(page)
        assert 'class="note good' not in page.content.decode()
        said = {"send": "1", "reason": "A duct", "needed_by": needed_by.isoformat(), "key": "k1"}
        sent = client.post(address, bare | said)
        assert (sent.status_code, Run.objects.exists()) == (422, False)
        assert "Give the diameter, more than 0 in." in text(sent)

    def test_an_answer_that_is_wanted_too_late_is_warned_of_beside_the_day(
        self, client_of, builder, job, placed, needed_by
    ):
        truss, _ = placed
        truss.can_change_until = job.today() + timedelta(days=3)
        truss.save()
        client, address = client_of(builder), f"/jobs/{job.pk}/run/"
        page = words(client.post(address, TYPED | {"needed_by": needed_by.isoformat()}, headers={"HX-Request": "true"}))
        assert "That is after the last day for changes of K1 (" in page
        soon = TYPED | {"needed_by": truss.can_change_until.isoformat()}
        assert "after the last day" not in words(client.post(address, soon, headers={"HX-Request": "true"}))

    def test_what_stands_in_a_truss_is_not_told_to_go(self, client_of, builder, job, placed):
        """Its second corner stands in K1-2: no list of what fits makes it one that can be sent."""
        typed = TYPED | {"points": "0, 8'-4\"\n4'-3\", 8'-4\"\n4'-3\", 9'"}
        page = words(client_of(builder).post(f"/jobs/{job.pk}/run/", typed, headers={"HX-Request": "true"}))
        assert ", but a corner of it stands in a truss" in page
        assert "It can't be sent as it runs: move it." in page

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


class TestWhatIsAskedThere:
    """What other open requests ask of the trusses that a run crosses, as it is drawn and above what sends it."""

    def said(self, client_of, builder, job, **changed):
        page = client_of(builder).post(f"/jobs/{job.pk}/run/", TYPED | changed, headers={"HX-Request": "true"})
        assert page.status_code == 200
        return words(page).replace(" ,", ",").replace(" :", ":")

    def test_an_opening_that_it_lies_in_and_one_that_it_doesn_t(self, client_of, builder, job, placed, ask_for):
        """FITS is an opening in K1's copies where the run of TYPED passes; the other lies on the other side."""
        in_its_way, beside = ask_for(FITS), ask_for({**FITS, "centre_in": [150, 20]}, reason="A pipe")
        told = self.said(client_of, builder, job)
        lies = (
            f"Request {in_its_way.pk}, filed, asks of K1, copies 1 to 3. This run lies in the opening that it asks for"
        )
        assert f"{lies}, at A–C." in told
        assert "but it comes into what another request asks for" in told
        asked = told.partition("Asked of these trusses already, and not decided")[2]
        assert f"Request {in_its_way.pk}, filed: K1, copies 1 to 3. This run lies in" in asked
        assert f"Request {beside.pk}, filed: K1, copies 1 to 3. What is sent here is one more." in asked

    def test_of_other_copies_and_of_what_is_decided_nothing_is_told(self, client_of, builder, job, placed, ask_for):
        change = ask_for(FITS)
        on_others = {"points": "7', 8'-4\"\n20', 8'-4\""}
        assert "Asked of these trusses already" not in self.said(client_of, builder, job, **on_others)
        workflow.withdraw(builder, change)
        assert "Asked of these trusses already" not in self.said(client_of, builder, job)

    def test_another_run_that_it_comes_into_is_told_once(self, client_of, builder, job, placed, file_run):
        change = file_run()
        told = self.said(client_of, builder, job)
        assert f"request {change.pk}" in told
        assert "Asked of these trusses already" not in told
