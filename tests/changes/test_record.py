"""The record: what was written stays written, whichever way one comes at it."""

from __future__ import annotations

import pytest
from django.core.exceptions import ValidationError
from django.urls import reverse

from changes import workflow
from changes.models import Ask, Computation, Decision, Event, Hold, IdempotencyKey, Issue, Option, Request
from tests.changes.asking import FITS, first_options


@pytest.fixture
def decided(answered, designer):
    change = answered(FITS, key="k-1")
    workflow.decide(designer, change, verdict="approve", options=first_options(change), reason="Good.")
    return change


@pytest.mark.parametrize("model", [Event, Decision, Issue])
def test_it_never_changes_and_never_disappears(model, decided):
    row = model.objects.first()
    for act in (
        row.save,
        row.delete,
        model.objects.all().delete,
        lambda: model.objects.update(pk=1),
        lambda: model.objects.bulk_update([row], [model._meta.pk.name]),
    ):
        with pytest.raises(ValidationError, match="never"):
            act()
    assert model.objects.filter(pk=row.pk).exists()


def test_every_event_but_the_workers_has_a_person(decided):
    nameless = {event.verb for event in Event.objects.filter(by=None)}
    assert nameless == {"begin computing", "finish computing"}


@pytest.mark.parametrize("model", [Ask, Computation, Decision, Hold, IdempotencyKey, Issue, Option, Request])
def test_the_office_reads_it_and_changes_nothing(model, decided, admin_client):
    name = f"admin:changes_{model._meta.model_name}"
    if model is Ask:  # shown within its request
        page = admin_client.get(reverse("admin:changes_request_change", args=[decided.pk]))
        assert page.status_code == 200
        assert "It fits as it is" in page.content.decode()
        return
    row = model.objects.first()
    assert admin_client.get(reverse(f"{name}_changelist")).status_code == 200
    assert admin_client.get(reverse(f"{name}_change", args=[row.pk])).status_code == 200
    assert admin_client.get(reverse(f"{name}_add")).status_code == 403
    assert admin_client.post(reverse(f"{name}_change", args=[row.pk]), {}).status_code == 403
    assert admin_client.post(reverse(f"{name}_delete", args=[row.pk]), {"post": "yes"}).status_code == 403
    assert model.objects.filter(pk=row.pk).exists()
