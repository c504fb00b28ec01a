"""A builder's yes to the place where it fits, by one tap."""

from __future__ import annotations

import pytest
from django.urls import reverse

from changes import workflow
from tests.changes.asking import FITS, HITS_WEB, compute
from trusses.refusals import Refused


@pytest.fixture
def sent_back(answered, designer):
    change = answered(HITS_WEB)
    workflow.decide(designer, change, verdict="send back", reason="Will it do where it fits?")
    change.refresh_from_db()
    return change


def elsewhere(change):
    return next(one for one in change.options.filter(stale=False) if one.elsewhere)


def test_one_tap_files_it_again_where_it_fits(sent_back, client_of, builder):
    option = elsewhere(sent_back)
    page = client_of(builder).get(reverse("changes:request", args=[sent_back.pk])).content.decode()
    assert f'name="there" value="{option.pk}"' in page
    client_of(builder).post(reverse("changes:answer", args=[sent_back.pk]), {"there": option.pk})
    sent_back.refresh_from_db()
    assert sent_back.state == "filed"
    ask = sent_back.asks.get(replaced=False)
    assert ask.opening == {**sent_back.asks.get(replaced=True).opening, "centre_in": option.elsewhere[0]["centre_in"]}
    assert sent_back.events.get(verb="answer").told == "Yes, there will do."
    compute(sent_back)
    assert sent_back.asks.get(replaced=False).verdict == "fits"


def test_the_other_opening_stays_where_it_was_asked(answered, designer, builder):
    change = answered({**FITS, "id": "A", "centre_in": [60, 12]}, HITS_WEB)
    workflow.decide(designer, change, verdict="send back", reason="There?")
    workflow.answer_there(builder, change, elsewhere(change))
    asked = {ask.opening["id"]: ask.opening["centre_in"] for ask in change.asks.filter(replaced=False)}
    assert asked["A"] == [60, 12]
    assert asked["O1"] != HITS_WEB["centre_in"]


def test_twice_is_once(sent_back, client_of, builder):
    option, where = elsewhere(sent_back), reverse("changes:answer", args=[sent_back.pk])
    for status in (302, 422):  # refused in so many words: a phone that sent it on must not take that for arrived
        answer = client_of(builder).post(where, {"there": option.pk})
        assert answer.status_code == status
    assert '<span role="alert">' in answer.content.decode()
    assert sent_back.asks.filter(replaced=False).count() == 1
    assert sent_back.events.filter(verb="answer").count() == 1


def test_nobody_says_yes_for_the_builder_nor_to_another_option(sent_back, client_of, designer, builder, answered):
    option, where = elsewhere(sent_back), reverse("changes:answer", args=[sent_back.pk])
    client_of(designer).post(where, {"there": option.pk})
    for odd in ("", "x", "99999", answered(FITS).options.first().pk):
        assert client_of(builder).post(where, {"there": odd}).status_code == 404
    sent_back.refresh_from_db()
    assert sent_back.state == "sent back"
    usual = next(one for one in sent_back.options.filter(stale=False) if not one.elsewhere)
    with pytest.raises(Refused, match="isn't offered any more"):
        workflow.answer_there(builder, sent_back, usual)


def test_before_it_is_sent_back_nobody_is_asked(answered, client_of, builder):
    change = answered(HITS_WEB)
    assert 'name="there"' not in client_of(builder).get(reverse("changes:request", args=[change.pk])).content.decode()
