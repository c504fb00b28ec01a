"""What a builder files: kept whole or refused with a sentence that names the place."""

from __future__ import annotations

from datetime import date, timedelta
from zoneinfo import ZoneInfo

import pytest
from django.http import Http404
from django.utils import timezone

from changes import workflow
from changes.models import Ask, Computation, Event, Hold, IdempotencyKey, Request
from tests.changes.asking import CUTS_CHORD, FITS, HITS_WEB, compute
from tests.refused import refused
from trusses.models import Role
from trusses.revisions import add_mark


def file(user, job, truss, *openings, reason="Supply duct", needed_by=None, **kwargs):
    asks = [{"truss": truss.pk, "kind": "opening", "opening": opening} for opening in openings or (FITS,)]
    day = needed_by or job.today() + timedelta(days=14)
    return workflow.file(user, job, reason=reason, needed_by=day, asks=asks, **kwargs)


def nothing_is_stored() -> bool:
    rows = (Request, Ask, Computation, Event, Hold, IdempotencyKey)
    return not any(model.objects.exists() for model in rows)


def test_a_filed_request_has_its_ask_hold_computation_and_story(ask_for, builder, truss):
    change = ask_for()
    ask, hold = change.asks.get(), change.holds.get()
    assert (change.state, change.filed_by) == ("filed", builder)
    assert (ask.truss, ask.revision, ask.kind, ask.opening, ask.verdict) == (truss, truss.current, "opening", FITS, "")
    assert (hold.standing, hold.asked_by, hold.copies.count()) == ("asked", builder, 3)
    assert change.computations.get().state == "queued"
    assert list(change.events.values_list("verb", "by")) == [("file", builder.pk), ("ask for a hold", builder.pk)]


def test_a_hold_is_asked_only_for_copies_not_yet_cut(ask_for, truss):
    truss.copies.filter(number=1).update(stage="cut")
    assert list(ask_for().holds.get().copies.values_list("number", flat=True)) == [2, 3]


@pytest.mark.parametrize(
    ("opening", "says"),
    [
        ({**FITS, "diameter_in": -3}, r"^asks\[0\]\.opening \(O1\): diameter_in .*-3"),
        ({**FITS, "diameter_in": 0}, r"^asks\[0\]\.opening \(O1\): diameter_in"),
        ({**FITS, "diameter_in": 4800}, r"^asks\[0\]\.opening \(O1\): 400'-0\" across .*K1, which is 20'"),
        ({**FITS, "diameter_in": float("nan")}, r"^asks\[0\]\.opening\.diameter_in: .*NaN"),
        ({**FITS, "diameter_in": float("inf")}, r"^asks\[0\]\.opening\.diameter_in: Infinity"),
        ({**FITS, "centre_in": [100, float("nan")]}, r"^asks\[0\]\.opening\.centre_in\[1\]: .*NaN"),
        ({**FITS, "centre_in": [100]}, r"^asks\[0\]\.opening.*centre_in"),
        ({**FITS, "clearance_in": -1}, r"^asks\[0\]\.opening \(O1\): clearance_in"),
        ({**FITS, "width_in": 3}, r"^asks\[0\]\.opening \(O1\): .*width_in"),
        ({**FITS, "shape": "oval"}, r"^asks\[0\]\.opening \(O1\): shape"),
        ({**FITS, "note": "\x00"}, r"^asks\[0\]\.opening\.note: "),
        ({"id": "O1", "shape": "circle", "centre_in": [1, 2]}, r"^asks\[0\]\.opening \(O1\): .*diameter_in"),
        ("round", r"^asks\[0\]\.opening: must be an object"),
        (None, r"^asks\[0\]\.opening: must be an object"),
    ],
)
def test_a_wrong_opening_is_refused_by_its_place(opening, says, builder, job, truss):
    with pytest.raises(workflow.Refused, match=says) as refused:
        file(builder, job, truss, opening)
    assert refused.value.field == "asks"
    assert nothing_is_stored()


@pytest.mark.parametrize(
    ("asks", "says"),
    [
        ([], "at least one ask"),
        ("asks", "at least one ask"),
        ([3], r"^asks\[0\]: must be an object"),
        ([{"truss": "K1", "kind": "opening", "opening": FITS}], r"^asks\[0\]\.truss: must be the number of a truss"),
        ([{"truss": True, "kind": "opening", "opening": FITS}], r"^asks\[0\]\.truss: must be the number of a truss"),
    ],
)
def test_wrong_asks_are_refused(asks, says, builder, job, truss, needed_by):
    with pytest.raises(workflow.Refused, match=says):
        workflow.file(builder, job, reason="x", needed_by=needed_by, asks=asks)
    assert nothing_is_stored()


def test_what_no_ask_says_is_refused(builder, job, truss, needed_by):
    asks = [{"truss": truss.pk, "kind": "opening", "state": "approved"}]
    with refused(workflow.Refused, "not-of-an-ask", "asks[0]", key="state"):
        workflow.file(builder, job, reason="x", needed_by=needed_by, asks=asks)
    assert nothing_is_stored()


def test_an_unknown_kind_is_refused(builder, job, truss, needed_by):
    with refused(workflow.Refused, "no-such-kind", "asks[0].kind"):
        workflow.file(builder, job, reason="x", needed_by=needed_by, asks=[{"truss": truss.pk, "kind": "hole"}])


def test_more_asks_than_the_limit_are_refused(builder, job, truss, settings):
    settings.ASKS_PER_REQUEST = 1
    with refused(workflow.Refused, "too-many-asks", asks=2, most=1):
        file(builder, job, truss, FITS, HITS_WEB)


def test_the_same_ask_twice_in_one_request_is_refused(builder, job, truss):
    with refused(workflow.Refused, "asked-twice", "asks[1]", mark="K1", other="asks[0]"):
        file(builder, job, truss, FITS, {**FITS, "id": "O2", "note": "again"})


def test_two_asks_with_one_id_get_two(builder, job, truss):
    change = file(builder, job, truss, FITS, HITS_WEB)
    assert [ask.opening["id"] for ask in change.asks.all()] == ["O1", "O2"]


def test_a_truss_of_another_job_is_the_same_404_as_none(builder, job, truss, other_job, needed_by):
    said = []
    for pk in (other_job.pk, 10**6, 10**30):
        with pytest.raises(Http404) as missing:
            workflow.file(
                builder, job, reason="x", needed_by=needed_by, asks=[{"truss": pk, "kind": "opening", "opening": FITS}]
            )
        said.append(str(missing.value))
    assert len(set(said)) == 1
    assert nothing_is_stored()


def test_a_day_in_the_past_is_refused_by_the_buildings_date(builder, job, truss, monkeypatch):
    # 03:00 UTC on the 2nd is still the 1st in Denver
    moment = timezone.datetime(2026, 12, 2, 3, 0, tzinfo=ZoneInfo("UTC"))
    monkeypatch.setattr(timezone, "now", lambda: moment)
    assert file(builder, job, truss, needed_by=date(2026, 12, 1)).needed_by == date(2026, 12, 1)
    with pytest.raises(workflow.Refused, match="Nov 30, 2026 is past; today is Dec 1, 2026") as refused:
        file(builder, job, truss, needed_by=date(2026, 11, 30), reason="Another")
    assert refused.value.field == "needed_by"


def test_a_day_beyond_a_hundred_years_is_a_slip_of_the_finger(builder, job, truss):
    with refused(workflow.Refused, "date-far-off", date="9999-12-31"):
        file(builder, job, truss, needed_by=date(9999, 12, 31))


def test_a_date_that_is_none_is_refused(builder, job, truss):
    with refused(workflow.Refused, "no-such-date", typed="soon"):
        file(builder, job, truss, needed_by="soon")


def test_the_last_day_for_changes_counts_and_the_day_after_does_not(builder, job, truss):
    truss.can_change_until = job.today()
    truss.save()
    assert file(builder, job, truss).state == "filed"
    truss.can_change_until = job.today() - timedelta(days=1)
    truss.save()
    with refused(workflow.Refused, "past-change", "asks[0] (K1)"):
        file(builder, job, truss, reason="Another")


def test_all_copies_cut_leaves_a_repair_or_a_new_truss(builder, job, truss):
    truss.copies.update(stage="cut")
    with refused(workflow.Refused, "past-change"):
        file(builder, job, truss)
    assert nothing_is_stored()


@pytest.mark.parametrize("reason", ["", "  \n ", None, "x" * 2001, "bell \x07", "half \ud800"])
def test_a_reason_that_is_none_is_refused(reason, builder, job, truss):
    with pytest.raises(workflow.Refused) as refused:
        file(builder, job, truss, reason=reason)
    assert refused.value.field == "reason"
    assert nothing_is_stored()


def test_markup_is_kept_as_the_text_that_it_is(ask_for):
    change = ask_for(reason="<script>alert('duct')</script> & <b>R-8</b>")
    change.refresh_from_db()
    assert change.reason == "<script>alert('duct')</script> & <b>R-8</b>"


@pytest.mark.parametrize("name", ["designer", "site lead", "outsider"])
def test_only_a_builder_files(name, cast, job, truss):
    with refused(workflow.NotAllowed, "verb", who=[["builder", "any"]], verb="file"):
        file(cast[name], job, truss)
    assert nothing_is_stored()


def test_a_repeat_of_an_open_request_is_refused_with_its_number(ask_for, builder):
    first = ask_for()
    with refused(workflow.Refused, "asked-already", request=first.pk, state="filed"):
        ask_for()
    assert Request.objects.count() == 1
    assert ask_for(HITS_WEB).pk != first.pk  # another wish is another request
    workflow.withdraw(builder, first)
    assert ask_for().pk not in (first.pk, None)  # and so is the same one once the first is over


def test_somebody_elses_same_wish_is_not_a_repeat(ask_for, make_person, job):
    first, second = ask_for(), ask_for(by=make_person("second-builder", job, Role.BUILDER))
    assert first.pk != second.pk


def test_the_same_key_and_body_find_the_same_request(ask_for):
    first = ask_for(key="k-1")
    assert ask_for(key="k-1").pk == first.pk
    assert Request.objects.count() == 1
    assert Computation.objects.count() == 1


def test_the_same_key_with_another_body_is_a_conflict(ask_for):
    first = ask_for(key="k-1")
    with refused(workflow.Conflict, "another-body", request=first.pk):
        ask_for(HITS_WEB, key="k-1")
    assert Request.objects.count() == 1


def test_a_key_belongs_to_its_user(ask_for, make_person, job):
    first, second = ask_for(key="k-1"), ask_for(by=make_person("second-builder", job, Role.BUILDER), key="k-1")
    assert first.pk != second.pk


def test_a_repeat_by_key_is_harmless_even_after_the_saw(ask_for, builder, job, truss, needed_by):
    first = file(builder, job, truss, key="k-1", body_sha256="a" * 64)
    truss.copies.update(stage="cut")
    assert file(builder, job, truss, key="k-1", body_sha256="a" * 64).pk == first.pk


def test_an_answer_files_again_with_the_same_asks(answered, designer, builder):
    change = answered()
    workflow.decide(designer, change, verdict="send back", reason="Which duct?")
    workflow.answer(builder, change, says="The trunk.")
    assert (change.state, change.computations.filter(state="queued").count()) == ("filed", 1)
    assert not change.options.filter(stale=False).exists()
    change = compute(change)
    assert (change.state, change.asks.get().verdict) == ("awaiting decision", "fits")
    assert change.options.filter(stale=False).count() == 1


def test_an_answer_may_ask_anew(answered, designer, builder, truss, job, king_post):
    other = add_mark(job, {**king_post, "mark": "K2"}, 2, designer)
    change = answered()
    workflow.decide(designer, change, verdict="send back", reason="Wouldn't K2 do?")
    workflow.answer(
        builder, change, says="It would.", asks=[{"truss": other.pk, "kind": "opening", "opening": CUTS_CHORD}]
    )
    assert change.asks.get(replaced=False).truss == other
    assert change.asks.get(replaced=True).truss == truss  # the record keeps it
    assert {hold.truss.mark: hold.standing for hold in change.holds.all()} == {"K1": "released", "K2": "asked"}
    assert compute(change).asks.get(replaced=False).verdict == "never"


def test_a_refused_answer_leaves_the_request_sent_back(answered, designer, builder, truss):
    change = answered()
    workflow.decide(designer, change, verdict="send back", reason="Which duct?")
    with refused(workflow.Refused, "answer-needed"):
        workflow.answer(builder, change, says=" ")
    truss.copies.update(stage="cut")
    with refused(workflow.Refused, "past-change"):
        workflow.answer(builder, change, says="The trunk.")
    assert change.state == "sent back"
    change.refresh_from_db()
    assert (change.state, change.asks.get().replaced) == ("sent back", False)


def test_what_is_up_to_date_is_not_computed_again(answered, builder):
    change = answered()
    with refused(workflow.Conflict, "nothing-moved"):
        workflow.compute_again(builder, change)
    change.refresh_from_db()
    assert (change.state, change.computations.count()) == ("awaiting decision", 1)


def test_a_failed_request_is_computed_again(answered, designer):
    change = answered()
    Request.objects.filter(pk=change.pk).update(state="failed")
    workflow.compute_again(designer, change)
    assert compute(change).state == "awaiting decision"


def test_an_opening_beside_the_truss_is_refused_and_asks_for_no_hold(ask_for, truss):
    with pytest.raises(workflow.Refused) as refused:
        ask_for({**FITS, "centre_in": [290, 20]})
    assert str(refused.value).startswith("asks[0].opening (O1): lies 4'-1 7/8\" outside of truss K1, which has nothing")
    assert not Request.objects.exists()
    assert not Hold.objects.exists()


def test_one_that_reaches_out_in_part_is_answered(ask_for):
    assert ask_for({**FITS, "centre_in": [100, -3]}).state == "filed"


def test_two_openings_in_one_place_are_told_apart(ask_for):
    with pytest.raises(workflow.Refused) as refused:
        ask_for(FITS, {**FITS, "id": "duct 2", "centre_in": [108, 20]})
    assert 'opening duct 2 overlaps opening O1 of asks[0] in K1 by 2"' in str(refused.value)
    assert not Request.objects.exists()
    assert ask_for(FITS, {**FITS, "id": "duct 2", "centre_in": [84, 20], "diameter_in": 4}).asks.count() == 2
