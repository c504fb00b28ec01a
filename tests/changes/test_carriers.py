"""A change of what a girder carries: followed to the chain's end, decided as one, refused where a girder fails.

K5 (two copies) stands with its bearing C on G1 at the thirds of its 30 ft; K6 on request beside it.
"""

from __future__ import annotations

import copy
import html
import re
from typing import Any

import pytest

from changes import carriers as consequences
from changes import workflow
from changes.models import Ask, Consequence, Decision, Issue, Option, Request, Together
from changes.workflow.drafting import write_drawn
from tests.changes.asking import API, FITS, LOAD, approve, compute, nothing_is_decided
from tests.refused import refused
from tests.trusses.standing import girder, girder_document, loaded, stand
from trusses.analysis.frame import solve
from trusses.bearings import links, standing
from trusses.models import Revision, Stage
from trusses.revisions import add_mark, issue_revision, read_and_analyse

HEAVIER = 14
"""psf of dead load on K5's top chord, in place of 10: K5 still takes it, and the usual G1 too."""

WEAK = {"plies": 3, "plf": 44}
"""With K5 as it is, this girder's bending stands just below its limit, and with the heavier one above."""

SOFT = {"lumber": "2x10 DF-L Select Structural", "plf": 24}
"""The same of its total deflection alone."""


@pytest.fixture
def g1(job, designer, request):
    return girder(job, designer, **getattr(request, "param", {}))


@pytest.fixture
def k5(job, designer, king_post, g1):
    truss = stand(job, designer, king_post, "K5", g1)
    loaded(g1, designer)
    return truss


@pytest.fixture
def k6(job, designer, king_post, g1, k5):
    truss = stand(job, designer, king_post, "K6", g1, (60, 30))
    loaded(g1, designer)
    return truss


def heavier(document: dict[str, Any], psf: float, *openings: dict[str, Any]) -> dict[str, Any]:
    changed = copy.deepcopy(document)
    changed["loads"]["area"][0]["psf"] = psf
    return {**changed, "openings": list(openings)}


@pytest.fixture
def asked(job, builder, designer, needed_by):
    """A request for an opening in some marks, and for each a designer's option with a heavier roof on it."""

    def make(*marks: Any) -> tuple[Request, dict[int, int]]:
        asks = [{"truss": truss.pk, "kind": "opening", "opening": FITS} for truss in marks]
        change = compute(workflow.file(builder, job, reason="Tiles", needed_by=needed_by, asks=asks))
        chosen = {}
        for ask in change.asks.all():
            document = heavier(ask.truss.current.document, HEAVIER, FITS)
            chosen[ask.pk] = workflow.draw_option(designer, change, ask=ask, document=document).pk
        return compute(change), chosen

    return make


def at_c(truss: Any, document: dict[str, Any]) -> float:
    """What one truss of that document puts on its bearing C by dead load, pounds."""
    return float(read_and_analyse(document)[1]["cases"]["dead"]["reactions_lb"]["C"][1])


def dead(analysis: dict[str, Any], joint: str) -> float:
    return float(analysis["cases"]["dead"]["reactions_lb"][joint][1])


def says(answer: Any) -> str:
    return html.unescape(" ".join(re.sub(r"<[^>]+>", " ", answer.content.decode()).split()))


def test_an_option_that_leaves_the_reactions_touches_no_carrier(job, builder, k5, g1, designer, needed_by):
    asks = [{"truss": k5.pk, "kind": "opening", "opening": FITS}]
    change = compute(workflow.file(builder, job, reason="Duct", needed_by=needed_by, asks=asks))
    assert not Consequence.objects.exists()
    assert change.options.get().passes is True
    before = g1.current_id
    approve(designer, change)
    g1.refresh_from_db()
    assert g1.current_id == before
    assert {hold.truss.mark for hold in change.holds.all()} == {"K5"}


def test_the_worker_follows_an_option_to_the_girder(asked, k5, g1):
    change, chosen = asked(k5)
    (option,) = Option.objects.filter(pk__in=chosen.values())
    one = option.consequences.get()
    assert (one.carrier, one.revision, one.because, one.trouble) == (g1, g1.current, ["K5"], None)
    more = at_c(k5, option.document) - at_c(k5, k5.current.document)
    assert more > 20
    for joint in "AB":
        assert dead(one.analysis, joint) - dead(g1.current.analysis, joint) == pytest.approx(more, abs=0.02)
    assert one.comparison["worst_ratio"] == [g1.current.analysis["worst_ratio"], one.analysis["worst_ratio"]]
    assert one.says.startswith("G1 carries K5: worst ratio ")
    assert one.says.endswith("no check over its limit.")
    assert (one.passes, option.passes) == (None, True)
    assert "never true" in (Consequence.__doc__ or "")
    hold = change.holds.get(truss=g1)
    assert (hold.standing, [copy.number for copy in hold.copies.all()]) == ("asked", [1])


def test_approving_issues_the_girder_too_in_the_one_decision(asked, k5, g1, designer):
    change, chosen = asked(k5)
    decision = approve(designer, change, chosen)
    before = (k5.current, g1.current)
    for truss in (k5, g1):
        truss.refresh_from_db()
    assert [truss.current.number - was.number for truss, was in zip((k5, g1), before, strict=True)] == [1, 1]
    issues = {issue.revision.truss.mark: issue for issue in decision.issues.all()}
    assert {mark: (issue.option_id, issue.because) for mark, issue in issues.items()} == {
        "K5": (*chosen.values(), []),
        "G1": (None, ["K5"]),
    }
    one = Consequence.objects.get()
    assert (g1.current.sha256, g1.current.issued_by) == (one.sha256, designer)
    assert standing.carried(g1).behind == ()
    assert set(change.holds.values_list("standing", flat=True)) == {"released"}


def test_a_chain_of_three_is_decided_as_one(asked, job, designer, k5, g1):
    g2 = add_mark(job, girder_document("G2"), 1, designer)
    links.set_link(designer, g1, "B", carrier=g2, hung=[{"member": "B1", "at_in": 90}])
    loaded(g2, designer)
    change, chosen = asked(k5)
    option = Option.objects.get(pk__in=chosen.values())
    first, second = option.consequences.all()
    assert [(one.carrier.mark, one.because) for one in (first, second)] == [("G1", ["K5"]), ("G2", ["G1"])]
    more = dead(first.analysis, "B") - dead(g1.current.analysis, "B")
    for joint, share in (("A", 270 / 360), ("B", 90 / 360)):
        assert dead(second.analysis, joint) - dead(g2.current.analysis, joint) == pytest.approx(more * share, abs=0.02)
    decision = approve(designer, change, chosen)
    assert [issue.revision.truss.mark for issue in decision.issues.order_by("pk")] == ["K5", "G1", "G2"]


def test_two_options_on_one_girder_are_combined(asked, k5, k6, g1, designer, client_of):
    change, chosen = asked(k5, k6)
    alone = [dead(one.analysis, "A") for one in Consequence.objects.order_by("pk")]
    now = dead(g1.current.analysis, "A")
    more = at_c(k5, heavier(k5.current.document, HEAVIER)) - at_c(k5, k5.current.document)
    # K5 at 120 and 240 of 360: 1 truss at A. K6 at 60 and 90: (300 + 270) / 360
    assert [one - now for one in alone] == pytest.approx([more, more * 570 / 360], abs=0.02)
    client = client_of(designer)
    there = client.post(f"/requests/{change.pk}/together/", {"option": list(chosen.values())})["Location"]
    compute(change)
    told = says(client.get(there))
    assert "G1, which carries K5, K6" in told
    decision = approve(designer, change, chosen)
    issued = decision.issues.get(option=None).revision
    assert dead(issued.analysis, "A") - now == pytest.approx(more * (1 + 570 / 360), abs=0.02)
    assert decision.issues.get(option=None).because == ["K5", "K6"]
    assert decision.issues.count() == 3


@pytest.fixture
def both(asked, k5, k6):
    """A request on K5 and K6 with options on show that the worker hasn't followed together."""
    change, chosen = asked(k5, k6)
    Together.objects.all().delete()
    return change, chosen


@pytest.fixture
def no_frames(monkeypatch):
    """Whoever solves a frame from here on fails the test."""

    def solved(*_: Any) -> None:
        raise AssertionError("a frame was solved while somebody waited")

    with monkeypatch.context() as held:
        held.setattr(solve, "_solve", solved)
        yield held


def test_the_worker_follows_the_options_that_stand_first_together(k5, k6, g1, designer, monkeypatch):
    """What a designer most likely decides on is there before it is looked at."""
    roofs = [heavier(truss.current.document, HEAVIER) for truss in (k5, k6)]
    change = workflow.start_revision(designer, k5, reason="Slate", document=roofs[0])
    ask = Ask.objects.create(request=change, truss=k6, revision=k6.current, copies=[1, 2], kind="revision")
    write_drawn(designer, [ask], roofs[1], "Slate on K6")
    compute(change)
    (kept,) = change.together.all()
    monkeypatch.setattr(solve, "_solve", None)
    approve(designer, change)
    g1.refresh_from_db()
    assert kept.analyses == {g1.current.sha256: g1.current.analysis}
    assert not set(Consequence.objects.values_list("sha256", flat=True)) & kept.analyses.keys()


def test_what_options_make_together_is_worked_out_by_the_worker_alone(both, g1, designer, client_of, no_frames):
    """Two options make another girder than each alone; one of them makes the one that the worker stored."""
    change, chosen = both
    first, second = Option.objects.filter(pk__in=chosen.values())
    (alone,) = consequences.together([first]).steps
    assert (alone.trouble, alone.analysis) == (None, first.consequences.get().analysis)
    with pytest.raises(consequences.NotWorkedOut, match="G1"):
        consequences.together([first, second])

    client, pick = client_of(designer), {"option": list(chosen.values())}
    page = client.get(f"/requests/{change.pk}/", pick)
    assert "What these options together put on G1 is not worked out yet" in says(page)
    assert "G1, which carries K5" in says(page)
    assert not change.computations.filter(together__isnull=False).exists(), "looking asks the worker for nothing"
    answer = client.post(f"/requests/{change.pk}/together/", pick)
    assert answer["Location"] == f"/requests/{change.pk}/?" + "&".join(f"option={pk}" for pk in chosen.values())
    assert "In line for the computation" in says(client.get(answer["Location"]))
    assert client.post(f"/requests/{change.pk}/together/", pick).status_code == 302
    assert change.computations.filter(together__isnull=False).count() == 1, "asked for once"

    no_frames.undo()
    compute(change)
    no_frames.setattr(solve, "_solve", None)
    told = says(client.get(answer["Location"]))
    assert "not worked out yet" not in told
    assert "G1, which carries K5, K6" in told
    assert change.state == "awaiting decision"


def test_a_decision_that_lacks_it_asks_for_it_and_is_one_tap_later(both, g1, designer, client_of, api_of, no_frames):
    change, chosen = both
    body = {"verdict": "approve", "reason": "Slate, as sold.", "option": list(chosen.values())}
    body |= {f"option-{ask}": option for ask, option in chosen.items()}
    client, where = client_of(designer), f"/requests/{change.pk}/decide/"
    page = client.post(where, body)
    assert page.status_code == 422
    assert "The worker does it now: look at it in a few seconds, then decide the same." in says(page)
    assert "Slate, as sold." in page.content.decode()
    program = {"verdict": "approve", "reason": "", "options": {str(ask): option for ask, option in chosen.items()}}
    refused = api_of(designer).post(f"/api/v1/requests/{change.pk}/decision/", program, format="json")
    assert (refused.status_code, "not worked out yet" in refused.json()["detail"]) == (409, True)
    assert change.computations.filter(together__isnull=False).count() == 1
    assert not Decision.objects.exists()

    progress = re.search(r'hx-get="([^"]*/progress/[^"]*)"', page.content.decode())[1].replace("&amp;", "&")
    asking = {"HX-Request": "true", "HX-Current-URL": f"http://testserver{where}"}
    assert client.get(progress, headers=asking).status_code == 200
    no_frames.undo()
    compute(change)
    no_frames.setattr(solve, "_solve", None)
    done = client.get(progress, headers=asking)
    assert (done.status_code, "HX-Refresh" in done.headers) == (286, False), "a reload would send the form again"
    assert "It is worked out." in says(done)
    assert client.post(where, body).status_code == 302
    g1.refresh_from_db()
    assert g1.current.sha256 in change.together.get().analyses


def test_where_the_worker_broke_that_is_said_and_tried_again(both, designer, client_of, settings, no_frames):
    change, chosen = both
    client, pick = client_of(designer), {"option": list(chosen.values())}
    client.post(f"/requests/{change.pk}/together/", pick)
    for _ in range(settings.COMPUTE_ATTEMPTS):
        compute(change)
    assert change.computations.last().state == "failed"
    assert "A first try failed: the computation broke" in says(client.get(f"/requests/{change.pk}/", pick))
    with refused(workflow.Conflict, "not-worked-out-together", carrier="G1"):
        approve(designer, change, chosen)
    assert change.computations.last().state == "queued"
    assert not Decision.objects.exists()


@pytest.mark.parametrize("who", ["builder", "site lead", "outsider"])
def test_a_designer_alone_asks_for_it(both, cast, client_of, who):
    change, chosen = both
    answer = client_of(cast[who]).post(f"/requests/{change.pk}/together/", {"option": list(chosen.values())})
    assert answer.status_code == (404 if who == "outsider" else 403)
    assert client_of(cast["designer"]).post(f"/requests/{change.pk}/together/", {"option": [1, 987]}).status_code == 404
    assert not change.computations.filter(together__isnull=False).exists()


def test_a_carrier_of_the_same_request_gets_one_revision_with_both(asked, job, builder, designer, k5, g1, needed_by):
    """The girder's own option and the load from K5 stand in one document."""
    change, chosen = asked(k5)
    option = Option.objects.get(pk__in=chosen.values())
    own, analysis = read_and_analyse({**g1.current.document, "title": "Girder with another title"})
    ask = change.asks.create(truss=g1, revision=g1.current, copies=[1], kind="opening", opening=FITS, verdict="fits")
    mine = Option.objects.create(
        request=change,
        truss=g1,
        copies=[1],
        revision=g1.current,
        titled="own",
        rank=7,
        document=own,
        sha256=analysis["truss_sha256"],
        analysis=analysis,
        passes=True,
        drawn_by=designer,
    )
    worked = consequences.together([option, mine], consequences.anew)
    (step,) = worked.steps
    assert step.document["title"] == "Girder with another title"
    assert step.document["loads"]["point"] == option.consequences.get().document["loads"]["point"]
    ask.delete()


@pytest.mark.parametrize("g1", [WEAK], indirect=True)
def test_a_girder_that_fails_blocks_the_approval(asked, k5, g1, designer):
    change, chosen = asked(k5)
    option = Option.objects.get(pk__in=chosen.values())
    one = option.consequences.get()
    assert (one.passes, option.passes, option.analysis["passes"]) == (False, False, True)
    worst = one.fails[0]
    assert worst["ratio"] > 1
    assert f"G1 carries K5: worst ratio {g1.current.analysis['worst_ratio']:.0%} →" in option.says
    words = rf"G1, which carries K5: {worst['rule']} of member B1 fails at {worst['ratio']:.0%} of what is allowed"
    with pytest.raises(workflow.Refused, match=words):
        approve(designer, change, chosen, reason="Fine.", accepts=["total deflection"])
    change.refresh_from_db()
    assert (change.state, Decision.objects.count(), Issue.objects.count()) == ("awaiting decision", 0, 0)


@pytest.mark.parametrize("g1", [WEAK], indirect=True)
def test_a_weight_that_the_girder_below_does_not_take_is_no_truss_that_fits(k5, g1, job, builder, needed_by, client_of):
    """The wood of K5 takes it, and G1 is over its limit then: the headline says no better than the rest of the page."""
    asks = [{"truss": k5.pk, "kind": "load", "load": LOAD}]
    change = compute(workflow.file(builder, job, reason="Air", needed_by=needed_by, asks=asks))
    one = change.asks.get()
    option = one.options.get()
    assert (option.analysis["passes"], option.passes, option.consequences.get().passes) == (True, False, False)
    assert (one.verdict, one.as_it_is) == ("unsure", False)
    assert "G1 carries K5: worst ratio" in one.says
    page = says(client_of(builder).get(f"/requests/{change.pk}/"))
    assert "No wood has to change, but it can't be called passing" in page
    assert "The wood passes" not in page


def test_of_a_girder_with_hangers_there_are_numbers_and_no_truss_that_fits(k5, g1, job, builder, needed_by, client_of):
    asks = [{"truss": g1.pk, "kind": "load", "load": {**LOAD, "weight_lb": 60, "at_in": 30}}]
    change = compute(workflow.file(builder, job, reason="Air", needed_by=needed_by, asks=asks))
    one = change.asks.get()
    assert (one.verdict, one.options.get().numbers_only) == ("unsure", True)
    assert "No wood has to change, but it can't be called passing" in says(
        client_of(builder).get(f"/requests/{change.pk}/")
    )


@pytest.mark.parametrize("g1", [SOFT], indirect=True)
def test_a_deflection_of_the_girder_is_accepted_by_name_with_a_reason(asked, k5, g1, designer):
    change, chosen = asked(k5)
    option = Option.objects.get(pk__in=chosen.values())
    one = option.consequences.get()
    assert [check["rule"] for check in one.fails] == ["total deflection"]
    with refused(workflow.Refused, "accept-by-name", mark="G1", rule="total deflection"):
        approve(designer, change, chosen, reason="No ceiling below.")
    approve(designer, change, chosen, reason="No ceiling below.", accepts=["total deflection"])
    g1.refresh_from_db()
    k5.refresh_from_db()
    assert g1.current.accepts == [{"rule": "total deflection", "reason": "No ceiling below."}]
    assert k5.current.accepts == []


def test_a_girder_that_is_cut_takes_no_revision(asked, k5, g1, designer):
    change, chosen = asked(k5)
    g1.copies.update(stage=Stage.CUT, built_to=g1.current)
    with refused(workflow.Refused, "carrier-cut", mark="G1", copies=[1], because=["K5"]):
        approve(designer, change, chosen)
    assert Decision.objects.count() == 0


def another(truss: Any, designer: Any, title: str) -> Revision:
    truss.refresh_from_db()
    document, analysis = read_and_analyse({**truss.current.document, "title": title})
    return issue_revision(truss, truss.current, document, analysis, designer)


@pytest.mark.parametrize("who", ["G1", "K6"])
def test_a_revision_between_working_it_out_and_deciding_is_a_conflict(who, asked, k5, k6, g1, designer, monkeypatch):
    """The girder itself, and what stands beside on it: each was read for the numbers."""
    change, chosen = asked(k5)
    revisions = Revision.objects.count()
    follow = consequences.follow

    def slow(*args: Any) -> Any:
        worked = follow(*args)
        another({"G1": g1, "K6": k6}[who], designer, "meanwhile")
        return worked

    monkeypatch.setattr(consequences, "follow", slow)
    with refused(workflow.Conflict, "revised-since", mark=who):
        approve(designer, change, chosen)
    change.refresh_from_db()
    assert (change.state, Decision.objects.count()) == ("awaiting decision", 0)
    assert Revision.objects.count() == revisions + 1, "the other's revision alone"


def test_a_girder_revised_since_the_computation_is_a_conflict_until_computed_again(asked, k5, g1, designer, api_of):
    change, chosen = asked(k5)
    was = g1.current.number
    another(g1, designer, "meanwhile")
    body = {"verdict": "approve", "options": {str(ask): option for ask, option in chosen.items()}}
    answer = api_of(designer).post(f"{API}/requests/{change.pk}/decision/", body, format="json")
    assert answer.status_code == 409
    assert f"was worked out from revision {was}. Have the request computed again." in answer.json()["detail"]
    assert consequences.moved_below(change) == ["K5"]
    assert api_of(designer).get(f"{API}/requests/{change.pk}/").json()["overtaken"] == ["K5"]
    again = compute(workflow.compute_again(designer, change))
    assert (again.state, consequences.moved_below(again)) == ("awaiting decision", [])
    assert again.holds.get(truss=g1).standing == "asked", "what was drawn is computed anew and still loads it"


def test_a_link_made_since_the_computation_is_a_conflict(asked, job, designer, king_post, g1, needed_by):
    k7 = stand(job, designer, king_post, "K7", g1)
    link = k7.stands_on.get()
    link.delete()
    change, chosen = asked(k7)
    assert not Consequence.objects.exists()
    links.set_link(designer, k7, "C", carrier=g1)
    with pytest.raises(
        workflow.Conflict, match="What K7 stands on, what stands beside it there, or its sheathing is not as it was"
    ):
        approve(designer, change, chosen)
    assert nothing_is_decided(change)
    workflow.compute_again(designer, change)


def test_what_breaks_the_chain_is_said_and_blocks(asked, job, builder, designer, k5, needed_by):
    """A drawn option without the bearing that stands on the girder."""
    change, _ = asked(k5)
    ask = change.asks.get()
    moved = heavier(ask.truss.current.document, 10, FITS)
    moved["joints"]["Q"] = moved["joints"].pop("C")
    moved["hinges"] = ["Q" if joint == "C" else joint for joint in moved["hinges"]]
    moved["bearings"][1]["joint"] = "Q"
    for member in moved["members"]:
        member["joints"] = ["Q" if joint == "C" else joint for joint in member["joints"]]
    option = workflow.draw_option(designer, change, ask=ask, document=moved)
    compute(change)
    one = option.consequences.get()
    assert (one.trouble["code"], one.passes, one.document) == ("no-bearing-at-joint", False, None)
    assert one.trouble_says == "K5 has no bearing at joint C."
    with refused(workflow.Refused, "carrier-unknown", carrier="G1", because=["K5"]):
        approve(designer, change, {ask.pk: option.pk})


def test_copies_that_are_cut_keep_the_old_load_where_they_stand(asked, k5, g1):
    """Copy 1 is cut and stays K5; copy 2 becomes a variant, whose heavier roof stands at its own place alone."""
    k5.copies.filter(number=1).update(stage=Stage.CUT, built_to=k5.current)
    _, chosen = asked(k5)
    one = Consequence.objects.get(option__in=chosen.values())
    assert one.because == ["K5-b"]
    dead = sorted((load["at_in"], load["down_lb"]) for load in one.document["loads"]["point"] if load["case"] == "dead")
    option = Option.objects.get(pk__in=chosen.values())
    loads = [at_c(k5, document) for document in (k5.current.document, option.document)]
    assert [down for _, down in dead] == [pytest.approx(load, abs=0.01) for load in loads]
    assert loads[1] > loads[0]


def test_a_computation_that_comes_twice_writes_its_consequences_once(asked, k5):
    change, _ = asked(k5)
    assert Consequence.objects.count() == 1
    compute(change)
    assert Consequence.objects.count() == 1


def test_what_another_request_would_do_to_the_same_girder_is_overtaken(
    asked, k5, k6, designer, job, builder, needed_by
):
    first, chosen = asked(k5)
    second, _ = asked(k6)
    approve(designer, first, chosen)
    event = second.events.get(verb="overtaken")
    assert event.told.startswith("G1 has revision")
    assert consequences.moved_below(second) == ["K6"]


def test_page_and_api_show_the_chain(asked, k5, g1, designer, builder, site_lead, client_of, api_of):
    change, chosen = asked(k5)
    pick = "&".join(f"option={pk}" for pk in chosen.values())
    one = Consequence.objects.get()
    before, after = one.worst_ratio
    for person in (designer, builder, site_lead):
        told = says(client_of(person).get(f"/requests/{change.pk}/?{pick}"))
        assert f"G1 carries K5: worst ratio {before:.0%} → {after:.0%}, no check over its limit." in told
        assert "Bearing C: on G1, at 10'-0\" and 20'-0\" from its left end" in told
        assert "Its sealed drawing is needed. A girder with hangers is never called passing here" in told
    assert "It issues one new revision of each of K5, G1, current at once." in says(
        client_of(designer).get(f"/requests/{change.pk}/?{pick}")
    )
    (ask,) = api_of(builder).get(f"{API}/requests/{change.pk}/").json()["asks"]
    (told,) = next(option for option in ask["options"] if option["id"] in chosen.values())["consequences"]
    assert {key: told[key] for key in ("truss", "mark", "carries", "passes", "worst_ratio", "fails", "trouble")} == {
        "truss": g1.pk,
        "mark": "G1",
        "carries": ["K5"],
        "passes": None,
        "worst_ratio": [before, after],
        "fails": [],
        "trouble": "",
    }
    assert told["sha256"] == one.sha256
    body = {"verdict": "approve", "options": {str(ask["id"]): option for option in chosen.values()}}
    decided = api_of(designer).post(f"{API}/requests/{change.pk}/decision/", body, format="json").json()["decision"]
    assert [(row["mark"], row["option"], row["because"]) for row in decided["revisions"]] == [
        ("K5", *chosen.values(), []),
        ("G1", None, ["K5"]),
    ]
    assert "because it carries K5: work from that sheet" in says(client_of(builder).get(f"/requests/{change.pk}/"))


def test_a_change_of_the_girder_itself_is_decided_by_its_numbers_and_never_called_passing(
    job, builder, designer, needed_by, king_post, client_of
):
    """K5 carries K6 at its panel point: what fits in K5 is numbers only, and a designer may approve it all the same."""
    k5 = add_mark(job, {**king_post, "mark": "K5"}, 1, designer)
    k6 = add_mark(job, {**king_post, "mark": "K6", "spacing_in": 12}, 1, designer)
    links.set_link(designer, k6, "C", carrier=k5, hung=[{"member": "B1", "at_in": 120}])
    loaded(k5, designer)
    asks = [{"truss": k5.pk, "kind": "opening", "opening": FITS}]
    change = compute(workflow.file(builder, job, reason="Duct", needed_by=needed_by, asks=asks))
    option = change.options.get()
    assert (option.passes, option.analysis["passes"], option.numbers_only) == (False, True, True)
    assert "It carries K6: a girder with hangers is never called passing here" in option.says
    told = says(client_of(designer).get(f"/requests/{change.pk}/"))
    assert "Lumber numbers only" in told
    assert "No wood has to change, but it can't be called passing" in told
    decision = approve(designer, change)
    sheet = says(client_of(designer).get(f"/jobs/{job.pk}/trusses/{k5.pk}/revisions/2/"))
    assert decision.issues.count() == 1
    assert "Lumber numbers only" in sheet
