"""What a phone sends on later is taken as if it came then: arrived, or refused in so many words."""

from __future__ import annotations

from django.urls import reverse

from changes import workflow
from project.models import SentForm
from tests.changes.asking import compute

KEY = "0123456789abcdef"


def test_what_a_designer_can_no_longer_acknowledge_is_no_arrival(client_of, designer, builder, answered):
    change = answered()
    hold, client = change.holds.get(), client_of(designer)
    workflow.withdraw(builder, change)
    where = reverse("changes:answer-hold", args=[hold.pk])
    answer = client.post(where, {"acknowledge": "yes"}, headers={"Idempotency-Key": KEY})
    assert answer.status_code == 422
    assert "K1" in " ".join(answer.json()["says"])
    assert not SentForm.objects.filter(key=KEY).exists()


def test_an_answer_to_an_earlier_question_is_not_taken_for_one_to_the_next(client_of, designer, builder, answered):
    change, client = answered(), client_of(builder)
    workflow.decide(designer, change, verdict="send back", reason="Which side of the hall?")
    where, seen = reverse("changes:answer", args=[change.pk]), change.decisions.get().pk
    body, key = {"says": "The north side.", "seen": seen}, {"headers": {"Idempotency-Key": KEY}}
    for _ in range(2):
        assert client.post(where, body, **key).json() == {"to": reverse("changes:request", args=[change.pk])}
    assert change.events.filter(verb="answer").count() == 1
    compute(change)
    workflow.decide(designer, change, verdict="send back", reason="And how high?")
    late = client.post(where, body | {"says": "The north side, as I said."}, headers={"Idempotency-Key": f"{KEY}-2"})
    assert late.status_code == 422
    assert "That answers an earlier question: since then another was asked." in " ".join(late.json()["says"])
    change.refresh_from_db()
    assert change.state == "sent back"
