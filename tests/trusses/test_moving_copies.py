"""Before copies go on: all of them at once are asked about, and a mark whose checks fail says so where it is let go."""

from __future__ import annotations

import html
import re

import pytest

from tests.changes.asking import TOO_SOFT, without_web
from tests.changes.reading import text
from trusses.copies.models import Look
from trusses.models import Placement, Stage
from trusses.revisions import add_mark, issue_revision, read_and_analyse


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


AT = {"origin_x_in": 0, "origin_y_in": 0}


def read_of(page) -> str:
    return " ".join(text(page).split())


def tap_of(page, copy) -> dict[str, str]:
    """What the button of one copy sends."""
    body = html.unescape(page.content.decode())
    form = re.search(rf'<form id="tap-{copy.pk}".*?</form>', body, re.DOTALL)[0]
    assert body.count(f'form="tap-{copy.pk}"') == 1
    return dict(re.findall(r'name="(\w+)" value="([^"]*)"', form))


@pytest.mark.parametrize(("at", "to"), [("cut", "built"), ("built", "delivered"), ("delivered", "set")])
def test_one_tap_says_it_of_one_copy(client_of, designer, site_lead, truss, at, to):
    truss.copies.update(stage=at, built_to=truss.current, released_to=truss.current)
    client = client_of(designer if to == "built" else site_lead)
    second = truss.copies.get(number=2)
    page = client.get(f"/jobs/{truss.job_id}/trusses/{truss.pk}/")
    assert f'aria-label="Copy 2: {to}' in page.content.decode()
    assert "1 copy is " + to in text(tick(client, truss, **tap_of(page, second)))
    assert [one.stage for one in truss.copies.order_by("number")] == [at, to, at]
    assert [look.wrong for look in Look.objects.filter(copy=second, when=to)] == ([] if to == "built" else [[]])


def test_in_the_order_of_setting_one_tap_leads_back_there(client_of, designer, site_lead, truss):
    place = Placement.objects.create(truss=truss, level="Roof", direction="x", spacing_in=24, count=3, **AT)
    truss.copies.update(stage="delivered", built_to=truss.current, placement=place)
    where = f"/jobs/{truss.job_id}/setting/"
    assert "tap-" not in client_of(designer).get(where).content.decode()
    client, first = client_of(site_lead), truss.copies.get(number=1)
    sent = tap_of(client.get(where), first)
    done = client.post(f"/jobs/{truss.job_id}/trusses/{truss.pk}/copies/", sent)
    assert (done.status_code, done["Location"]) == (302, f"{where}?level=Roof#copy-{first.pk}")
    assert f'id="copy-{first.pk}" class="to-set done"' in client.get(where).content.decode()


def test_a_copy_that_is_not_to_be_set_says_why_where_its_tick_would_be(client_of, designer, site_lead, truss):
    """Built to a revision that is superseded, and nobody said what is to be done: told where it is delivered, too."""
    truss.copies.filter(number=2).update(built_to=truss.current)
    document, analysis = read_and_analyse({**truss.current.document, "title": "Better"})
    truss.copies.exclude(number=2).update(built_to=issue_revision(truss, truss.current, document, analysis, designer))
    copy, client = truss.copies.get(number=2), client_of(site_lead)
    truss.copies.update(stage="built")
    page = client.get(f"/jobs/{truss.job_id}/trusses/{truss.pk}/")
    assert "Copy 2 not to be set yet" in read_of(page)
    assert "K1: copy 2 is built to an earlier revision than 1, and is not set before a designer says" in read_of(page)
    assert tap_of(page, copy)["to"] == "delivered"
    truss.copies.update(stage="delivered")
    page = client.get(f"/jobs/{truss.job_id}/trusses/{truss.pk}/")
    assert "Copy 2 don’t set K1: copy 2 is built to an earlier revision" in read_of(page)
    assert f'name="copy" value="{copy.pk}"' not in page.content.decode()
    assert page.content.decode().count('form="tap-') == 2
    place = Placement.objects.create(truss=truss, level="Roof", direction="x", spacing_in=24, count=3, **AT)
    truss.copies.update(placement=place)
    page = client.get(f"/jobs/{truss.job_id}/setting/")
    assert "Why of K1-2 K1: copy 2 is built to an earlier revision" in read_of(page)
    assert page.content.decode().count('form="tap-') == 2
