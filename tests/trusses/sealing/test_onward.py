"""What comes next of a mark, from the seal to the site: in order, by whose hand, and the same on every page."""

from __future__ import annotations

import html

import pytest

from trusses import production
from trusses.copies import onward
from trusses.copies.models import Look
from trusses.models import Role
from trusses.production import KeptOff, move
from trusses.refusals import Refused
from trusses.revisions import add_mark
from trusses.sealing import recording, seals
from trusses.sheets import fixing
from trusses.words.onward import to_do


def following(truss):
    truss.refresh_from_db()
    step = onward.next_of(onward.of_revision(truss.current))
    return step and step.name


def waits(truss, role):
    return [(step.name, step.copies) for _, step in onward.waiting({truss.job_id: role})]


def test_each_step_leads_to_the_next(asks_all, truss, attach, designer, builder, site_lead):
    every = tuple(truss.copies.values_list("pk", flat=True))
    assert (following(truss), waits(truss, Role.DESIGNER)) == ("sealed", [("sealed", ())])
    seal = attach(covers=("plates",))
    for name in ("reviewed", "accepted"):
        assert following(truss) == name
        recording.record(builder, seal, name, name="A name", on=truss.job.today())
    assert following(truss) == "restraint"
    recording.cover(designer, seal, ["restraint"])
    for person, name, role in (
        (designer, "released", Role.DESIGNER),
        (designer, "cut", Role.DESIGNER),
        (designer, "built", Role.DESIGNER),
        (site_lead, "delivered", Role.SITE_LEAD),
        (site_lead, "set", Role.SITE_LEAD),
    ):
        assert following(truss) == name
        for one in (Role.DESIGNER, Role.SITE_LEAD):
            assert waits(truss, one) == ([(name, (1, 2, 3))] if one == role else [])
        move(person, truss, every, name)
    assert following(truss) is None


def test_a_step_before_an_earlier_one_is_no_tick(truss, designer, client_of):
    """Released without a seal: the release reads as what it is, and doesn't make good what is missing."""
    move(designer, truss, truss.copies.values_list("pk", flat=True), "released")
    page = client_of(designer).get(f"/jobs/{truss.job_id}/trusses/{truss.pk}/").content.decode()
    assert following(truss) == "sealed"
    assert "<li>released already, before the others</li>" in page
    assert '<li class="done">released' not in page


def test_all_steps_before_an_earlier_one_are_one_sentence(truss, designer, client_of):
    truss.copies.update(stage="set", released_to=truss.current, built_to=truss.current)
    page = client_of(designer).get(f"/jobs/{truss.job_id}/trusses/{truss.pk}/").content.decode()
    assert "<li>released, cut, built, delivered and set already, before the others</li>" in page
    assert page.count("already") == 1


def test_a_sheet_that_says_no_comes_before_the_saw(truss, attach, designer):
    seals.say_what_is_asked(designer, truss.job, review=False, acceptance=False, without="warns")
    attach()
    truss.kinds = ["damaged"]
    truss.save()
    assert following(truss) == "sheet"
    assert waits(truss, Role.DESIGNER) == [("sheet", ())]
    truss.copies.update(stage="released", released_to=truss.current)
    assert waits(truss, Role.DESIGNER) == [("sheet", ())]


def test_what_is_cut_waits_for_the_designers_word_that_it_is_built(truss, attach, designer):
    attach()
    truss.copies.update(stage="cut", released_to=truss.current, built_to=truss.current)
    every = tuple(truss.copies.values_list("number", flat=True))
    assert following(truss) == "built"
    assert waits(truss, Role.DESIGNER) == [("built", every)]
    truss.copies.update(stage="built")
    assert waits(truss, Role.DESIGNER) == []


def test_it_goes_on_after_setting_until_all_is_ticked_and_closed(truss, attach, client_of, designer, site_lead):
    attach()
    truss.copies.update(stage="set", released_to=truss.current, built_to=truss.current)
    at = f"/jobs/{truss.job_id}/trusses/{truss.pk}/"

    def line(who):
        return html.unescape(client_of(who).get(at).content.decode()).partition("What comes next of")[2][:1600]

    items = fixing.items(truss)
    assert len(items) > 1
    tick = f'href="{at}fixed/">Tick each row, hanger and tie once it is in place: {len(items)} open</a>'
    assert tick in line(site_lead)
    assert '<li class="done">set</li>' in line(site_lead)
    assert "Next, by the site lead: tick each row, hanger and tie" in line(designer)
    for item in items:
        fixing.tick(site_lead, truss, item.key, done=True, anchored="the gable")
    assert "What comes next of" not in client_of(site_lead).get(at).content.decode()
    copy = truss.copies.get(number=2)
    Look.objects.create(copy=copy, when="set", points={"place": False}, by=site_lead)
    assert f'href="{at}#looks">See what was found of copy 2, and close it</a>' in line(designer)
    assert '<li class="done">restraint, hangers, ties in place</li>' in line(designer)


def test_what_is_kept_from_the_site_reads_as_nothing_to_do(asks_all, truss, client_of, site_lead):
    """No copy reads as one to set that may not be set, here for want of a valid seal."""
    truss.copies.update(stage="delivered", built_to=truss.current, released_to=truss.current)
    said = client_of(site_lead).get("/turns/").content.decode()
    assert "See what keeps copies 1–3 from being set." in said
    assert to_do("set", (1, 2, 3), (2,)) == ("once copies 1, 3 are set, say so; see what keeps copy 2 from being set")
    assert to_do("cut", (1,), (1,)) == "see what holds copy 1 from the saw"


def test_of_several_marks_those_that_wait_are_told_apart_from_those_to_cut(
    truss, job, king_post, attach, client_of, designer, monkeypatch
):
    seals.say_what_is_asked(designer, job, review=False, acceptance=False, without="warns")
    marks = [truss, *(add_mark(job, {**king_post, "mark": mark}, 1, designer) for mark in ("K2", "K3"))]
    for one in marks:
        attach(one.current, words=one.mark)
        one.copies.update(stage="released", released_to=one.current)

    def told(*held):
        def wait(copies):
            those = [copy for copy in copies if copy.truss.mark in held]
            return [KeptOff(those, Refused("no-copy"))] if those else []

        monkeypatch.setattr(production, "before_cut", [wait])
        return html.unescape(client_of(designer).get("/turns/").content.decode())

    assert "<span>3 marks: once the saw has cut its copies, say so of each.</span>" in told()
    assert "say so of each; see what holds the copies of K3 from the saw.</span>" in told("K3")
    alone = "<span>K2: once the saw has cut its copies, say so; see what holds the copies of K1 and K3 from the saw."
    assert alone in told("K1", "K3")
    assert "<span>See what holds the copies of K1, K2 and K3 from the saw.</span>" in told("K1", "K2", "K3")


def test_the_sheet_leads_to_the_work_and_the_stages_say_their_own_name(truss, client_of, site_lead):
    at = f"/jobs/{truss.job_id}/trusses/{truss.pk}/"
    sheet = client_of(site_lead).get(f"{at}revisions/0/").content.decode()
    for where in (f"{at}#copies", f"{at}fixed/", f"/jobs/{truss.job_id}/setting/"):
        assert f'<a class="button quiet" href="{where}">' in sheet
    truss.copies.update(stage="released", released_to=truss.current)
    for came, to, says in (
        ("released", "cut", "cut to revision 0; said by"),
        ("delivered", "set", "set, built to revision 0; said by"),
    ):
        truss.copies.update(stage=to, built_to=truss.current)
        truss.events.create(
            code="moved", by=site_lead, values={"copies": [1, 2, 3], "to": to, "from": came, "revision": 0}
        )
        assert says in client_of(site_lead).get(at).content.decode()


@pytest.mark.parametrize("page", ["", "revisions/0/", "revisions/0/seal/"])
def test_mark_sheet_and_seal_say_it_to_whoever_does_it_with_a_button(page, truss, client_of, designer, site_lead):
    at = f"/jobs/{truss.job_id}/trusses/{truss.pk}/"
    button = f'<a class="button" href="{at}revisions/0/seal/#attach">Attach the sealed drawing</a>'
    assert button in client_of(designer).get(at + page).content.decode()
    told = html.unescape(client_of(site_lead).get(at + page).content.decode())
    assert "Next, by the designer: attach the sealed drawing." in told
    assert "#attach" not in told
