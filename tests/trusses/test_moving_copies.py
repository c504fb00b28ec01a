"""Before copies go on: all of them at once are asked about, and a mark whose checks fail says so where it is let go."""

from __future__ import annotations

import re

import pytest

from tests.changes.asking import TOO_SOFT, without_web
from tests.changes.reading import text
from trusses.models import Stage
from trusses.revisions import add_mark


def tick(client, truss, **body):
    return client.post(f"/jobs/{truss.job_id}/trusses/{truss.pk}/copies/", body, follow=True)


def hidden(page, name: str) -> list[str]:
    return re.findall(rf'<input type="hidden" name="{name}" value="([^"]*)"', page.content.decode())


def stages(truss) -> set[str]:
    return set(truss.copies.values_list("stage", flat=True))


def test_all_of_a_stage_are_asked_about_first(client_of, site_lead, truss):
    truss.copies.update(stage=Stage.DELIVERED, built_to=truss.current)
    client = client_of(site_lead)
    page = tick(client, truss, to="set", all="delivered", found="a \u202e split", seen=truss.current.pk)
    assert page.status_code == 200
    assert "Are all 3 copies of K1 set?" in text(page)
    assert stages(truss) == {"delivered"}
    # one that is delivered meanwhile was not asked about
    truss.copies.create(number=4, stage=Stage.DELIVERED, built_to=truss.current)
    sent = {name: hidden(page, name) for name in ("to", "seen", "copy", "found")}
    assert len(sent["copy"]) == 3
    done = tick(client, truss, **sent)
    assert "3 copies are set now." in text(done)
    assert truss.copies.get(number=4).stage == "delivered"
    assert truss.copies.get(number=1).found_at_setting == "a \u202e split"


def test_chosen_ones_go_at_once(client_of, site_lead, truss):
    truss.copies.update(stage=Stage.DELIVERED, built_to=truss.current)
    first = truss.copies.first()
    assert "1 copy is set now." in text(tick(client_of(site_lead), truss, to="set", copy=first.pk, whole="open"))


def test_what_the_designer_said_is_no_longer_than_the_record_keeps(client_of, site_lead, truss):
    """Also where it would be asked first how they came."""
    truss.copies.update(stage=Stage.DELIVERED, built_to=truss.current)
    sent = {"to": "set", "copy": truss.copies.first().pk, "asked": "on", "asked-says": "x" * 501}
    page = tick(client_of(site_lead), truss, **sent)
    assert page.status_code == 422
    assert "501" in text(page)
    assert stages(truss) == {"delivered"}


def test_what_is_refused_is_not_asked_about(client_of, builder, truss):
    assert tick(client_of(builder), truss, to="released", all="designing").status_code == 403
    assert stages(truss) == {"designing"}


@pytest.fixture
def failing(job, designer, king_post):
    """K9: three times the snow of K1."""
    for load in king_post["loads"]["area"]:
        load["psf"] *= 3 if load["case"] == "snow" else 1
    mark = add_mark(job, {**king_post, "mark": "K9"}, 2, designer)
    assert not mark.current.analysis["passes"]
    return mark


@pytest.fixture
def too_soft(job, designer, king_post):
    """K8: K1 without its web, whose total deflection alone fails, at 1.082."""
    soft = without_web({**king_post, "mark": "K8"}, bottom=TOO_SOFT)
    mark = add_mark(job, soft, 2, designer)
    assert [c["rule"] for c in mark.current.analysis["checks"] if not c["passes"]] == ["total deflection"]
    return mark


@pytest.mark.parametrize(("stage", "to"), [("designing", "released"), ("released", "cut")])
def test_letting_a_mark_go_that_bends_too_far_warns_there(stage, to, client_of, designer, too_soft):
    too_soft.copies.update(stage=stage, released_to=too_soft.current)
    client = client_of(designer)
    worst = max(check["ratio"] for check in too_soft.current.analysis["checks"])
    warns = f"stands at {worst:.0%} of what is allowed. Once {to} it may be built like this; ask the designer first."
    assert warns in text(client.get(f"/jobs/{too_soft.job_id}/trusses/{too_soft.pk}/"))
    assert warns in text(tick(client, too_soft, to=to, all=stage, seen=too_soft.current.pk))


@pytest.mark.parametrize(("stage", "to"), [("designing", "released"), ("released", "cut")])
def test_a_failing_mark_is_not_let_go_and_not_asked_about(stage, to, client_of, designer, failing):
    failing.copies.update(stage=stage, released_to=failing.current)
    client = client_of(designer)
    page = tick(client, failing, to=to, all=stage, seen=failing.current.pk)
    assert page.status_code == 422
    assert f"K9 can't be {to}: in revision 0" in text(page)
    assert stages(failing) == {stage}


def test_one_that_passes_or_is_built_gets_no_warning(client_of, designer, site_lead, truss, failing):
    failing.copies.update(stage=Stage.BUILT, built_to=failing.current)
    for person, mark in ((site_lead, failing), (designer, truss)):
        page = text(client_of(person).get(f"/jobs/{mark.job_id}/trusses/{mark.pk}/"))
        assert "may be built like this" not in page


def test_an_empty_mark_is_asked_for_by_name(client_of, designer, job):
    typed = {"kind": "w", "mark": " ", "span": "20'", "quantity": "1"}
    page = client_of(designer).post(f"/jobs/{job.pk}/trusses/new/", typed)
    assert page.status_code == 422
    assert "Give it its mark as on the plan, such as R2." in text(page)
    assert "It can't be drawn yet" not in text(page)
    assert 'class="elevation phone"' in page.content.decode()
    assert not job.trusses.exists()
