"""What one tap says of one copy, on its mark's page and in the order of setting, and where none is offered."""

from __future__ import annotations

import html
import re
from datetime import timedelta
from uuid import uuid4

import pytest

from changes import workflow
from tests.changes.reading import text
from tests.sealed import SAID, drawing
from trusses.copies import looks, undoing
from trusses.copies.models import Look
from trusses.models import Placement, Role
from trusses.production import never
from trusses.revisions import add_mark, issue_revision, read_and_analyse
from trusses.sealing import recording, seals

AT = {"origin_x_in": 0, "origin_y_in": 0}
ONLY_WARNS = {"review": False, "acceptance": False, "without": "warns"}


def tick(client, truss, **body):
    return client.post(f"/jobs/{truss.job_id}/trusses/{truss.pk}/copies/", body, follow=True)


@pytest.fixture
def seal(judged_here, designer, job):
    """A revision gets a sealed drawing that counts: the job asks for neither review nor acceptance of it."""

    def seal(revision):
        seals.say_what_is_asked(designer, job, **ONLY_WARNS)
        sent = drawing(f"{revision}: demonstration, no seal")
        said = {**SAID, "sealed_on": job.today(), "covers": ("plates", "restraint")}
        return recording.attach(designer, revision, sent, len(sent.getvalue()), **said)

    return seal


@pytest.fixture
def placed(truss):
    """The three copies of K1 in a row of the level Roof, delivered."""
    place = Placement.objects.create(truss=truss, level="Roof", direction="x", spacing_in=24, count=3, **AT)
    truss.copies.update(stage="delivered", built_to=truss.current, released_to=truss.current, placement=place)
    return truss


def order(client, truss):
    return client.get(f"/jobs/{truss.job_id}/setting/")


def row_of(page, copy) -> str:
    """The words of one copy's row in the order of setting, with a bar where its button is."""
    found = re.search(rf'<li id="copy-{copy.pk}".*?</li>', html.unescape(page.content.decode()), re.DOTALL)[0]
    return " ".join(re.sub(r"<[^>]+>", " ", re.sub(r'<button form="tap-', "| <", found)).split())


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


def test_in_the_order_of_setting_one_tap_leads_back_there(client_of, designer, site_lead, placed, seal):
    truss = placed
    seal(truss.current)
    where = f"/jobs/{truss.job_id}/setting/"
    assert "tap-" not in client_of(designer).get(where).content.decode()
    client, first = client_of(site_lead), truss.copies.get(number=1)
    sent = tap_of(client.get(where), first)
    done = client.post(f"/jobs/{truss.job_id}/trusses/{truss.pk}/copies/", sent)
    assert (done.status_code, done["Location"]) == (302, f"{where}?level=Roof&ticked={first.pk}#copy-{first.pk}")
    assert f'id="copy-{first.pk}" class="to-set done"' in client.get(where).content.decode()


def test_a_copy_that_is_not_to_be_set_says_why_where_its_tick_would_be(client_of, designer, site_lead, truss, seal):
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
    seal(truss.current)
    page = order(client, truss)
    assert "Why of K1-2 K1: copy 2 is built to an earlier revision" in read_of(page)
    assert page.content.decode().count('form="tap-') == 2


def test_what_is_not_sealed_is_set_by_no_tap_in_the_order(client_of, designer, site_lead, placed, seal):
    """Its mark's page says so beside the tick; here nothing would."""
    seals.say_what_is_asked(designer, placed.job, **ONLY_WARNS)
    client, one = client_of(site_lead), placed.copies.get(number=1)
    row = row_of(order(client, placed), one)
    assert "delivered, built to revision 0 not sealed K1’s page" in row
    assert "|" not in row
    mark = client.get(f"/jobs/{placed.job_id}/trusses/{placed.pk}/")
    assert tap_of(mark, one)["to"] == "set"
    assert "No sealed drawing counts for what these copies are built to" in read_of(mark)
    seal(placed.current)
    row = row_of(order(client, placed), one)
    assert "not sealed" not in row
    assert "| " in row


def test_where_a_job_sets_nothing_unsealed_one_word_says_both(client_of, designer, site_lead, placed):
    seals.say_what_is_asked(designer, placed.job, **ONLY_WARNS | {"without": "blocks"})
    client, (one, two, _) = client_of(site_lead), placed.copies.order_by("number")
    Look.objects.create(copy=two, when="delivered", points={"wood": False}, by=site_lead)
    page = order(client, placed)
    assert "built to revision 0 don’t set: not sealed K1’s page Why of K1-1 K1: cop" in row_of(page, one)
    assert row_of(page, one).count("not sealed") == 1
    besides = row_of(page, two)
    assert "K1’s page damaged, keep off Why of K1-2" in besides
    assert "don’t set: not sealed" not in besides


def copies_of(page) -> str:
    """The words of the copies on their mark's page, with a bar before each button of one copy."""
    body = html.unescape(page.content.decode())
    found = re.search(r'<section class="stack" id="copies".*?</section>', body, re.DOTALL)[0]
    return " ".join(re.sub(r"<[^>]+>", " ", re.sub(r'<button form="tap-', "| <", found)).split())


def test_the_one_copy_of_a_mark_is_not_set_by_a_second_tap_on_the_same_spot(client_of, site_lead, placed, seal):
    seal(placed.current)
    placed.copies.exclude(number=1).delete()
    placed.copies.update(stage="built")
    client, one = client_of(site_lead), placed.copies.get()
    where = f"/jobs/{placed.job_id}/trusses/{placed.pk}/"
    came = tick(client, placed, **tap_of(client.get(where), one))
    assert came.redirect_chain == [(f"{where}?ticked={one.pk}#copies", 302)]
    assert "delivered just now Take this back of copy 1 Copy 1 is not delivered" in copies_of(came)
    assert "|" not in copies_of(came)
    assert "| Copy 1: set, as it should be" in copies_of(client.get(where))
    [event] = re.findall(r'id="back-just".*?name="event" value="(\d+)"', came.content.decode(), re.DOTALL)
    back = client.post(f"{where}copies/take-back/", {"event": event}, follow=True)
    assert "taken back: built just now" in copies_of(back)
    assert "|" not in copies_of(back)
    assert placed.copies.get().stage == "built"


def test_the_row_of_a_copy_that_was_tapped_stays_where_it_was(client_of, site_lead, placed, seal):
    """Else the next copy's button would come under the thumb."""
    seal(placed.current)
    placed.copies.update(stage="built")
    client, (one, two, _) = client_of(site_lead), placed.copies.order_by("number")
    where = f"/jobs/{placed.job_id}/trusses/{placed.pk}/"
    came = copies_of(tick(client, placed, **tap_of(client.get(where), one)))
    row = r"Copy 1 delivered just now Take this back of copy 1 Copy 1 is not delivered Copy 2 \| Delivered, as it"
    assert re.search(row, came)
    assert "| Set, as it should be" not in came
    came = copies_of(tick(client, placed, **tap_of(client.get(where), two)))
    assert re.search(r"Copy 2 delivered just now .{40,60} Copy 3 \| Delivered, as it should", came), "one is left"


def test_what_fails_is_set_by_no_tap_in_the_order(client_of, site_lead, designer, job, king_post):
    for load in king_post["loads"]["area"]:
        load["psf"] *= 3 if load["case"] == "snow" else 1
    mark = add_mark(job, {**king_post, "mark": "K9"}, 2, designer)
    assert never(mark.current)
    place = Placement.objects.create(truss=mark, level="Roof", direction="x", spacing_in=24, count=2, **AT)
    mark.copies.update(stage="delivered", built_to=mark.current, released_to=mark.current, placement=place)
    seals.say_what_is_asked(designer, job, **ONLY_WARNS)
    page = order(client_of(site_lead), mark)
    assert "delivered, built to revision 0 its checks fail K9’s page" in row_of(page, mark.copies.get(number=1))
    assert 'form="tap-' not in page.content.decode()
    mark.copies.update(stage="built")
    row = row_of(order(client_of(site_lead), mark), mark.copies.get(number=1))
    assert "its checks fail K9’s page | " in row, "that it came is said by a tap"


def test_a_tap_leads_back_where_its_copy_is_by_then(client_of, site_lead, placed):
    """A phone that had no signal sends on the level as its page had it."""
    placed.copies.update(stage="built")
    client, one = client_of(site_lead), placed.copies.get(number=1)
    sent = tap_of(order(client, placed), one)
    Placement.objects.update(level="Main roof")
    done = tick(client, placed, **sent)
    assert (done.status_code, placed.copies.get(number=1).stage) == (200, "delivered")
    assert done.redirect_chain == [
        (f"/jobs/{placed.job_id}/setting/?level=Main+roof&ticked={one.pk}#copy-{one.pk}", 302)
    ]
    placed.copies.update(placement=None, stage="built")
    done = tick(client, placed, **sent)
    assert (done.status_code, done.redirect_chain) == (200, [(f"/jobs/{placed.job_id}/setting/", 302)])


@pytest.mark.parametrize("later", [{}, {"HTTP_IDEMPOTENCY_KEY": "typed-without-a-signal"}])
@pytest.mark.parametrize(
    "changed",
    [{"turned": True}, {"origin_x_in": 0.25}, {"spacing_in": 25}, {"level": "Main roof"}, {"direction": "y"}],
    ids=lambda changed: next(iter(changed)),
)
def test_what_was_moved_on_the_plan_meanwhile_is_not_set(client_of, site_lead, placed, seal, changed, later):
    seal(placed.current)
    client, two = client_of(site_lead), placed.copies.get(number=2)
    sent = tap_of(order(client, placed), two)
    Placement.objects.update(**changed)
    where = f"/jobs/{placed.job_id}/trusses/{placed.pk}/copies/"
    said = client.post(where, sent, **later)
    told = "K1: copy 2 got another place on the plan, or was turned, since the page was opened on which it was ticked."
    assert said.status_code == 422
    assert told in (" ".join(said.json()["says"]) if later else read_of(said))
    assert placed.copies.get(number=2).stage == "delivered"
    assert not Look.objects.exists()
    # what is wrong of it is kept all the same: that sets nothing
    tick(client, placed, **{**sent, "whole": "below", "point-wood": "wrong"})
    assert Look.objects.get().wrong == ["wood"]
    first = placed.copies.get(number=1)
    again = tap_of(client.get(f"/jobs/{placed.job_id}/trusses/{placed.pk}/"), first)
    tick(client, placed, **again)
    assert placed.copies.get(number=1).stage == "set"


def test_of_several_that_are_set_together_one_was_moved(client_of, site_lead, placed):
    client = client_of(site_lead)
    page = client.get(f"/jobs/{placed.job_id}/trusses/{placed.pk}/").content.decode()
    stood = [one for one in re.findall(r'name="stood" value="([^"]*)"', page) if page.count(one) > 1]
    ids = list(placed.copies.order_by("pk").values_list("pk", flat=True))
    assert sorted({int(one.split()[0]) for one in stood}) == ids
    sure = tick(client, placed, to="set", copy=ids, stood=stood)
    Placement.objects.update(spacing_in=24.5)
    passed_on = re.findall(r'name="stood" value="([^"]*)"', sure.content.decode())
    refused = tick(client, placed, to="set", copy=ids, stood=passed_on, sure="yes", whole="right")
    assert "K1: copies 2–3 got another place on the plan" in read_of(refused)
    assert set(placed.copies.values_list("stage", flat=True)) == {"delivered"}
    odd = ["x y", "9" * 30, "", "1 2 3"]
    tick(client, placed, to="set", copy=ids, stood=odd, sure="yes", whole="right")
    assert set(placed.copies.values_list("stage", flat=True)) == {"set"}


def test_where_one_just_tapped_no_second_tap_says_more(
    client_of, site_lead, make_person, job, placed, seal, monkeypatch
):
    """The page comes back with the row under the thumb: it says what was said, and how that is taken back."""
    seal(placed.current)
    placed.copies.update(stage="built")
    client, (one, two) = client_of(site_lead), placed.copies.order_by("number")[:2]
    came = tick(client, placed, **tap_of(order(client, placed), one))
    row = row_of(came, one)
    assert "|" not in row
    assert "delivered just now Take this back of K1-1 It was built before; the record keeps both. K1-1 is not" in row
    assert row_of(came, two).endswith("| Delivered, as it should be")
    assert row_of(order(client, placed), one).endswith("| Set, as it should be")
    other = client_of(make_person("second", job, Role.SITE_LEAD))
    at = came.redirect_chain[-1][0]
    assert row_of(other.get(at), one).endswith("| Set, as it should be"), "whoever didn't tick isn't told that they did"
    [back] = re.findall(r'action="([^"]*take-back/)"', came.content.decode())
    taken = client.post(
        back, dict(re.findall(r'name="(event|in-order)" value="(\d+)"', came.content.decode())), follow=True
    )
    assert placed.copies.get(number=1).stage == "built"
    assert taken.redirect_chain[-1][0] == at
    row = row_of(taken, one)
    assert row.endswith("taken back: built just now")
    monkeypatch.setattr(undoing, "JUST_NOW", timedelta(0))
    assert row_of(client.get(at), one).endswith("| Delivered, as it should be")
    for odd in ("0", "x", "99999999999999999999"):
        assert client.get(f"/jobs/{job.pk}/setting/?ticked={odd}").status_code == 200


class TestWhatCameSinceThePageWasOpened:
    @pytest.fixture
    def taps(self, placed, seal, client_of, site_lead):
        """What the button of copy 2 sends from either page, both read before anything else comes."""
        seal(placed.current)
        client, second = client_of(site_lead), placed.copies.get(number=2)
        pages = order(client, placed), client.get(f"/jobs/{placed.job_id}/trusses/{placed.pk}/")
        return [tap_of(page, second) for page in pages]

    @pytest.fixture
    def ask(self, builder, placed):
        needed_by = placed.job.today() + timedelta(days=14)
        asks = [{"truss": placed.pk, "kind": "question", "question": {"says": "Wait with copy 2."}, "copies": [2]}]
        return lambda: workflow.file(builder, placed.job, reason="The house changed", needed_by=needed_by, asks=asks)

    def queued(self, client, truss, tap):
        where = f"/jobs/{truss.job_id}/trusses/{truss.pk}/copies/"
        return client.post(where, tap, headers={"Idempotency-Key": str(uuid4())})

    @pytest.mark.parametrize("page", [0, 1])
    def test_another_hand_found_it_wrong(self, placed, taps, page, site_lead, make_person, client_of):
        other = make_person("other-lead", placed.job, Role.SITE_LEAD)
        second = placed.copies.get(number=2)
        looks.tick(other, placed, [second.pk], "set", points={"end": False})
        answer = self.queued(client_of(site_lead), placed, taps[page])
        assert answer.status_code == 422
        assert "copy 2 was found with end wrong, by another hand, since the page was opened" in read_of(answer)
        assert (placed.copies.get(number=2).stage, len(looks.open_looks([second]))) == ("delivered", 1)
        # read, put right, looked at again
        assert "|" not in row_of(order(client_of(site_lead), placed), second)
        read = str(looks.newest(placed.job_id))
        assert tick(client_of(site_lead), placed, **taps[page] | {"known": read}).status_code == 200
        assert (placed.copies.get(number=2).stage, looks.open_looks([second])) == ("set", [])

    def test_what_one_found_oneself_one_says_is_right_now(self, placed, taps, site_lead, client_of):
        looks.tick(site_lead, placed, [placed.copies.get(number=2).pk], "set", points={"end": False})
        assert self.queued(client_of(site_lead), placed, taps[0]).status_code == 200
        assert placed.copies.get(number=2).stage == "set"

    @pytest.mark.parametrize("page", [0, 1])
    def test_something_was_asked_of_it(self, placed, taps, ask, page, site_lead, client_of):
        change, client, second = ask(), client_of(site_lead), placed.copies.get(number=2)
        answer = self.queued(client, placed, taps[page])
        assert answer.status_code == 422
        assert "K1: something was asked of copy 2 since the page was opened" in read_of(answer)
        assert placed.copies.get(number=2).stage == "delivered"
        told = row_of(order(client, placed), second)
        assert f"Request {change.pk} is open on it read it before it is set" in told
        assert "|" not in told
        assert "|" in row_of(order(client, placed), placed.copies.get(number=1))
        there = client.get(f"/jobs/{placed.job_id}/trusses/{placed.pk}/").content.decode()
        assert f'form="tap-{second.pk}"' not in there

    def test_with_a_signal_it_is_asked_and_leads_back_to_the_order(self, placed, taps, ask, site_lead, client_of):
        ask()
        client, where = client_of(site_lead), f"/jobs/{placed.job_id}/trusses/{placed.pk}/copies/"
        page = html.unescape(client.post(where, taps[0]).content.decode())
        form = re.search(rf'<form method="post" action="{where}".*?</form>', page, re.DOTALL)[0]
        sure = dict(re.findall(r'name="([\w-]+)" value="([^"]*)"', form))
        assert (sure["level"], sure["known"]) == ("Roof", taps[0]["known"])
        answer = client.post(where, sure)
        assert answer["Location"].startswith(f"/jobs/{placed.job_id}/setting/?level=Roof&ticked=")
        assert placed.copies.get(number=2).stage == "set"
