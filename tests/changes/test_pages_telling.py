"""Pages of what ends by words: a question and its place, its answer; damage, its sealed repair, who tells of it."""

from __future__ import annotations

import re

import pytest
from django.urls import reverse

from changes.models import Request
from changes.workflow.repairing import repairs_of
from tests.changes.asking import compute
from tests.changes.kind_forms import TYPED, WHY, address
from tests.changes.reading import text
from tests.sealed import SAID, drawing


@pytest.fixture(autouse=True)
def own_folder(settings, tmp_path):
    settings.DATA_DIR = tmp_path


def test_a_place_is_tapped_on_the_plan(client_of, builder, row, needed_by):
    """The form has the level that is shown; what was sent is drawn on the request's page."""
    at = reverse("changes:ask-of-job", args=[row.job_id])
    page = client_of(builder).get(at).content.decode()
    assert 'name="level" value="Roof"' in page
    assert 'data-left="0"' in page
    assert "<a href" not in page[page.index('class="plan"') : page.index("</svg>")]
    body = {"says": "What is here?", **WHY, "needed_by": needed_by.isoformat(), "level": "Roof", "x": "2'"}
    assert "Give both, or neither." in client_of(builder).post(at, body).content.decode()
    sent = client_of(builder).post(at, body | {"y": "3'"})
    change = compute(Request.objects.get())
    assert change.asks.get().wish["place"] == {"on": "plan", "level": "Roof", "x_in": 24, "y_in": 36}
    assert "with the place asked about" in client_of(builder).get(sent["Location"]).content.decode()


def test_a_question_of_no_mark(client_of, builder, row, needed_by):
    body = {"says": "When does the crane come?", **WHY, "needed_by": needed_by.isoformat()}
    answer = client_of(builder).post(reverse("changes:ask-of-job", args=[row.job_id]), body)
    assert answer.status_code == 302
    change = compute(Request.objects.get())
    page = client_of(builder).get(answer["Location"]).content.decode()
    assert "When does the crane come?" in page
    assert change.asks.get().truss is None


def test_a_question_is_typed_once(send, client_of, builder, row):
    page = client_of(builder).get(address(row, "question") + "?reason=May+I%3F").content.decode()
    assert 'name="reason"' not in page
    assert re.search(r'<textarea name="says"[^>]*>\s*May I\?</textarea>', page)
    answer = send("question")
    change = Request.objects.get()
    assert change.reason == change.asks.get().wish["says"] == TYPED["question"]["says"]
    told = client_of(builder).get(answer["Location"]).content.decode()
    assert told.count(f"“<bdi>{change.reason}</bdi>”") == 1


def test_a_designer_answers_a_question_in_words(send, client_of, designer):
    answer = send("question")
    change = compute(Request.objects.get())
    page = client_of(designer).get(answer["Location"]).content.decode()
    assert "Answer with these words" in page
    body = {"verdict": "approve", "reason": "Yes, 150 lb at the panel point."}
    client_of(designer).post(reverse("changes:decide", args=[change.pk]), body)
    after = client_of(designer).get(answer["Location"]).content.decode()
    assert "answered by a designer" in after
    assert "It waits for a designer" in page
    assert "It waits for a designer" not in after
    assert "Yes, 150 lb at the panel point." in after
    assert "New revision issued" not in after


def test_a_designer_attaches_the_sealed_repair(send, client_of, designer, builder, site_lead, judged_here, row):
    answer = send("damage")
    change = compute(Request.objects.get())
    body = {"verdict": "approve", "reason": "Repair 12, sealed", "ends_by": "repair"}
    decide = reverse("changes:decide", args=[change.pk])
    refused = client_of(designer).post(decide, body)
    assert refused.status_code == 422
    assert "attach the sealed repair first" in refused.content.decode().lower()
    at = reverse("changes:attach-repair", args=[change.pk, change.asks.get().pk])
    said = {**SAID, "sealed_on": row.job.today().isoformat()}
    wrong = client_of(designer).post(at, said | {"licence": "", "drawing": drawing()})
    assert wrong.status_code == 422
    assert "An invented engineer" in wrong.content.decode()
    for person in (builder, site_lead):
        assert client_of(person).post(at, said | {"drawing": drawing()}).status_code == 403
    assert client_of(designer).post(at, said | {"drawing": drawing()}).status_code == 302
    client_of(designer).post(decide, body)
    lead = client_of(site_lead)
    page = lead.get(answer["Location"]).content.decode()
    assert "It ends by a sealed repair" in page
    assert "sealed, not carried out</span>" in page
    (seal,) = repairs_of(change.asks.all())[change.asks.get().pk]
    record, at = {"kind": "carried out", "on": row.job.today().isoformat()}, f"/seals/{seal.drawing.pk}/record/"
    assert lead.post(at, record | {"name": "An invented name"})["Location"] == f"/requests/{change.pk}/#repair"
    page = lead.get(answer["Location"]).content.decode()
    assert "An invented name" not in page
    assert "records it, in their own name: you are site-lead" in page.replace("&#x27;", "'")
    assert lead.post(at, record)["Location"] == f"/requests/{change.pk}/#repair"
    page = lead.get(answer["Location"]).content.decode()
    assert "<bdi>site-lead</bdi>" in page[page.index("Repair carried out as drawn") :]


def test_a_repair_by_program(send, api_of, designer, builder, judged_here, row):
    send("damage")
    change = compute(Request.objects.get())
    at = f"/api/v1/requests/{change.pk}/repair/"
    said = {**SAID, "sealed_on": row.job.today().isoformat(), "ask": change.asks.get().pk}
    assert api_of(builder).post(at, said | {"drawing": drawing()}, format="multipart").status_code == 403
    made = api_of(designer).post(at, said | {"drawing": drawing()}, format="multipart")
    assert (made.status_code, made.json()["lacks"], made.json()["copies"]) == (201, ["carried out"], [3])


def test_a_site_lead_tells_of_damage_by_hand(client_of, site_lead, row, needed_by, builder):
    lead, at = client_of(site_lead), reverse("changes:needs-of-mark", args=[row.job_id, row.pk])
    page = lead.get(at).content.decode()
    assert "Damage" in page
    assert "Something hung or set" not in page
    body = {**TYPED["damage"], **WHY, "needed_by": needed_by.isoformat()}
    sent = lead.post(reverse("changes:ask-kind", args=[row.job_id, row.pk, "damage"]), body)
    assert sent.status_code == 302
    assert lead.get(sent["Location"]).status_code == 200
    assert lead.get(reverse("changes:ask-kind", args=[row.job_id, row.pk, "load"])).status_code == 403
    assert "Tell of damage, or ask" in lead.get(reverse("trusses:mark", args=[row.job_id, row.pk])).content.decode()


def test_nothing_of_a_damaged_truss_sounds_like_passing(send, client_of, designer, builder):
    answer = send("damage")
    compute(Request.objects.get())
    for person in (builder, designer):
        page = client_of(person).get(answer["Location"]).content.decode().lower()
        told = page[page.index("<main") :]
        assert "passes" not in told
        # a builder reads what presses on it, a designer the combination's own letters
        assert bool(re.search(r"\(d( \+ |\))", told)) is (person == designer)
        assert "its dead load" in told
        assert ("scab" in told) is ("10d" in told) is (person == designer)
        assert ("a registered design professional designs the repair" in told) is (person == builder)


def test_what_a_repair_carries_and_its_nails_are_told_to_designers_alone(send, api_of, builder, site_lead, designer):
    send("damage")
    change = compute(Request.objects.get())
    for person in (builder, site_lead, designer):
        (one,) = api_of(person).get(f"/api/v1/requests/{change.pk}/").json()["asks"]
        told = ["scab" in one["says"], "repair" in one["figures"], "nail" in str(one["figures"])]
        assert told == [person == designer] * 3
        assert one["figures"]["shores"] == ["D"]


def test_nothing_names_damaged_wood_before_somebody_does(client_of, site_lead, row, builder):
    lead, at = client_of(site_lead), address(row, "damage")
    page = lead.get(at).content.decode()
    form = page[page.index('data-field="copies"') : page.index('data-field="acting"')]
    assert 'value="" selected>Choose' in form
    assert form.count("selected") == 2, "neither a piece nor how it is damaged"
    assert not re.search(r'name="(copies|at)"[^>]* value="[^"]', form)
    assert f'value="{row.job.today().isoformat()}"' in page, "damage waits for no later day"
    sent = lead.post(at, {**WHY, "reason": "", "needed_by": row.job.today().isoformat()})
    for says in ("Say which copy is damaged", "Say which piece is damaged", "how it is damaged", "how far along"):
        assert says in sent.content.decode()
    assert not Request.objects.exists()


def test_damage_is_told_of_by_the_piece_that_the_drawing_names(send, client_of, designer, builder, row):
    """The bottom chord is one board of two panels, which join at its middle."""
    form = client_of(builder).get(address(row, "damage")).context["form"]
    assert [name for name, _ in form.fields["piece"].choices] == ["", "B1", "T1", "T2", "W1"]
    refused = client_of(builder).post(address(row, "damage"), {**WHY, "piece": "W1"}).content.decode()
    assert "From its lower end, at the bottom chord: the square on the drawing." in refused
    answer = send("damage", piece="B1", at="15'", reason="")
    change = compute(Request.objects.get())
    wish = change.asks.get().wish
    assert (wish["member"], wish["at_in"]) == ("B2", 60)
    assert change.reason == "B1 cut or broken through, copy 3"
    page = " ".join(text(client_of(designer).get(answer["Location"])).split())
    assert "Told: B1 cut or broken through, 15'-0\" along it from its left end" in page
    assert "K1 copy 3: B1 cut or broken through" in page


def test_damage_is_called_by_what_was_typed_of_it_and_its_asker_by_name(send, client_of, designer, site_lead):
    answer = send("damage", person=site_lead, reason="", note="The forklift hit it")
    change = compute(Request.objects.get())
    assert change.reason == "W1 cut or broken through, copy 3: The forklift hit it"
    page = client_of(designer).get(answer["Location"]).content.decode()
    assert "<strong>K1 copy 3: W1 cut or broken through</strong>" in page
    assert "the question to site-lead" in page
    assert "question to the builder" not in page
