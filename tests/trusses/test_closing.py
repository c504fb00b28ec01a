"""What is said once every truss is set: on the order of setting and on the job's page, with what is open still."""

from __future__ import annotations

import uuid

import pytest

from changes.inspection import corrections, links
from tests.changes.reading import text
from tests.sealed import SAID, drawing
from trusses.copies import looks
from trusses.copies.models import Look
from trusses.models import Placement
from trusses.sealing import recording, seals
from trusses.sheets import fixing

AT = {"origin_x_in": 0, "origin_y_in": 0}


@pytest.fixture
def placed(truss):
    place = Placement.objects.create(truss=truss, level="Roof", direction="x", spacing_in=24, count=3, **AT)
    truss.copies.update(stage="set", built_to=truss.current, released_to=truss.current, placement=place)
    return truss


@pytest.fixture
def pages(client_of, site_lead, placed):
    def read():
        client = client_of(site_lead)
        at = (f"/jobs/{placed.job_id}/setting/", f"/jobs/{placed.job_id}/")
        return [" ".join(text(client.get(one)).split()) for one in at]

    return read


def test_nothing_is_said_before_every_truss_is_set(placed, pages):
    placed.copies.filter(number=2).update(stage="delivered")
    assert not [page for page in pages() if "are set" in page]


def test_what_is_done_and_what_is_open(placed, pages, site_lead, designer, builder, judged_here):
    ticks = [one.key for one in fixing.items(placed)]
    assert len(ticks) > 1
    open_all = f"K1: {len(ticks)} of {len(ticks)} rows, hangers and ties not ticked"
    unsealed = "K1: no sealed drawing counts for what copies 1–3 are built to"
    setting, job = pages()
    assert f"All 3 trusses on Roof are set; 0 of {len(ticks)} rows, hangers and ties are ticked. Still open:" in setting
    assert "All 3 trusses of this job are set; 0 of" in job
    for page in (setting, job):
        assert f"Still open: {open_all} {unsealed} That is what was ticked off here. It is no inspection" in page
    first = placed.copies.get(number=1)
    Look.objects.create(copy=first, when="delivered", points={"wood": False}, by=site_lead)
    Look.objects.create(copy=placed.copies.get(number=2), when="set", points={"end": False}, by=site_lead)
    link, _ = links.hand_out(builder, placed.job, for_whom="E", days=7)
    wanted = corrections.correct(link, key=uuid.uuid4(), by_name="E", says="Nail it", truss=None)
    for key in ticks:
        fixing.tick(site_lead, placed, key, done=True, anchored="gable")
    for page in pages():
        assert (
            f"are set, and all {len(ticks)} rows, hangers and ties are ticked. Still open: K1: copy 1 damaged" in page
        )
        assert "its repair isn’t finished K1: what was found of copy 2 isn’t closed" in page
        assert "1 correction that an inspector asked for is not answered" in page
    corrections.answer(designer, wanted, "Done")
    for page in pages():
        assert "1 correction that an inspector asked for is answered, not yet accepted by the inspector" in page
    corrections.say(link, wanted, key=uuid.uuid4(), accepted=True, by_name="E")
    for look in Look.objects.all():
        looks.close(designer, look, "A scratch")
    seals.say_what_is_asked(designer, placed.job, review=False, acceptance=False, without="warns")
    sent = drawing()
    said = {**SAID, "sealed_on": placed.job.today(), "covers": ("plates", "restraint")}
    recording.attach(designer, placed.current, sent, len(sent.getvalue()), **said)
    for page in pages():
        assert (
            "Nothing else is open in this set. That is what was ticked off here. It is no inspection, and doesn’t"
            in page
        )
        assert "Still open" not in page
