"""What others decided of several sealed drawings in one form: each a record of its own, one that is refused keeps none
out."""

from __future__ import annotations

import re
from datetime import timedelta
from typing import Any

import pytest

from tests.trusses.reading import text
from tests.trusses.sealing.test_seals import revised
from trusses.marks.correcting import withdraw
from trusses.models import Truss
from trusses.revisions import add_mark
from trusses.sealing import recording, records_page
from trusses.sealing.models import SealedDrawing, SealRecord


@pytest.fixture
def three(asks_all, truss, job, designer, king_post, attach) -> list[SealedDrawing]:
    """The drawings of K1, R3 and R4."""
    others = [add_mark(job, {**king_post, "mark": mark}, 1, designer) for mark in ("R3", "R4")]
    before = job.today() - timedelta(days=2)
    made = [attach(words="drawing of K1")]
    return made + [attach(one.current, words=f"drawing of {one.mark}", sealed_on=before) for one in others]


@pytest.fixture
def at(job, three) -> str:
    return f"/jobs/{job.pk}/sealed-drawings/record/?" + "&".join(f"drawing={one.pk}" for one in three)


@pytest.fixture
def sent(job, three):
    """What the form sends of one kind, of the drawings at `which`."""

    def sent(kind: str = "reviewed", which: tuple[int, ...] = (0, 1, 2), **other: Any) -> dict[str, Any]:
        said = {"name": f"Who {kind} it", "on": job.today().isoformat(), "told_by": "letter 7", **other}
        return {f"{kind}-of": [three[one].pk for one in which]} | {f"{kind}-{key}": said[key] for key in said}

    return sent


def on_record(kind: str) -> list[str]:
    rows = SealRecord.objects.filter(kind=kind).order_by("drawing")
    return [f"{row.drawing.truss.mark} {row.name}" for row in rows.select_related("drawing__truss")]


def told(answer: Any) -> str:
    return " ".join(text(answer).split())


def test_each_is_a_record_of_its_own_and_who_decided_is_typed_once(client_of, builder, at, sent, three):
    desk = client_of(builder)
    page = desk.get(at).content.decode()
    assert [page.count(f'name="{one}"') for one in ("reviewed-name", "accepted-on", "accepted-of")] == [1, 1, 3]
    assert "checked" not in page, "nobody ticks in passing what was decided of one alone"
    answer = desk.post(at, sent() | sent("accepted", (0, 2)), follow=True)
    assert answer.redirect_chain == [(at, 302)]
    every = "K1 revision 0, R3 revision 0 and R4 revision 0"
    assert f"Recorded as reviewed by the building designer: {every}." in told(answer)
    assert "Recorded as accepted by the building department: K1 revision 0 and R4 revision 0." in told(answer)
    assert on_record("reviewed") == [f"{mark} Who reviewed it" for mark in ("K1", "R3", "R4")]
    assert on_record("accepted") == [f"{mark} Who accepted it" for mark in ("K1", "R4")]
    assert {(row.told_by, row.by) for row in SealRecord.objects.all()} == {("letter 7", builder)}
    assert 'name="reviewed-of"' not in answer.content.decode()
    assert answer.content.decode().count('name="accepted-of"') == 1


def test_what_is_refused_of_one_keeps_none_out_and_loses_nothing(client_of, builder, at, sent, job):
    """K1's drawing was sealed today, the others two days before."""
    yesterday = (job.today() - timedelta(days=1)).isoformat()
    answer = client_of(builder).post(at, sent(on=yesterday) | sent("accepted", (), name="Kept as typed", on=""))
    assert answer.status_code == 422
    assert "Not all of it was recorded." in told(answer)
    assert "K1 revision 0: " in told(answer)
    assert "is before it was sealed" in told(answer)
    assert on_record("reviewed") == ["R3 Who reviewed it", "R4 Who reviewed it"]
    assert "Which drawings: Under “Accepted by the building department”: tick each drawing that it is of." in told(
        answer
    )
    page = answer.content.decode()
    assert (page.count('name="reviewed-of"'), page.count('name="accepted-of"')) == (1, 3)
    assert 'value="Kept as typed"' in page
    assert f'value="{yesterday}"' in page


def test_what_is_put_right_in_the_form_that_came_back_is_recorded(client_of, builder, at, sent, job):
    desk = client_of(builder)
    answer = desk.post(at, sent("reviewed", (0, 1)) | sent("accepted", (0,), on=""))
    assert (answer.status_code, on_record("reviewed"), on_record("accepted")) == (
        422,
        ["K1 Who reviewed it", "R3 Who reviewed it"],
        [],
    )
    again = holds(answer.content.decode())
    assert again["reviewed-name"] == again["reviewed-on"] == again["reviewed-told_by"] == [""]
    assert again["accepted-name"] == ["Who accepted it"]
    answer = desk.post(at, again | {"accepted-on": [job.today().isoformat()]}, follow=True)
    assert answer.redirect_chain == [(at, 302)]
    assert on_record("accepted") == ["K1 Who accepted it"]


def holds(page: str) -> dict[str, list[str]]:
    """What a form would send as it stands on a page."""
    found: dict[str, list[str]] = {}
    for tag in re.findall(r"<input[^>]*>", page):
        name, value = (re.search(rf' {one}="([^"]*)"', tag) for one in ("name", "value"))
        if name and ('type="checkbox"' not in tag or " checked" in tag):
            found.setdefault(name[1], []).append(value[1] if value else "")
    found.pop("csrfmiddlewaretoken")
    return found


@pytest.mark.parametrize(
    ("which", "other", "says"),
    [
        ((0,), {"name": ""}, "Give the name of who did it."),
        ((0,), {"name": "J. \u202eeoD"}, "holds a character that can't be printed"),
        ((0, 1), {"on": "2990-01-01"}, "Jan 1, 2990 can't be the day"),
        ((), {}, "tick each drawing that it is of."),
    ],
)
def test_what_is_wrong_of_all_records_nothing_and_is_said_once(client_of, builder, at, sent, which, other, says):
    answer = client_of(builder).post(at, sent("reviewed", which, **other))
    assert (answer.status_code, on_record("reviewed")) == (422, [])
    assert told(answer).partition("Nothing was recorded.")[2].partition("Its sealed drawing")[0].count(says) == 2


def test_nothing_typed_is_said(client_of, builder, at):
    answer = client_of(builder).post(at, {})
    assert answer.status_code == 422
    assert "Tick the drawings, and say who decided it and when." in told(answer)


def test_what_is_sent_twice_is_recorded_once_and_no_trouble(client_of, builder, at, sent):
    desk = client_of(builder)
    assert [desk.post(at, sent(name=" Who\u200b  reviewed it")).status_code for _ in range(2)] == [302, 302]
    assert on_record("reviewed") == [f"{mark} Who reviewed it" for mark in ("K1", "R3", "R4")]


def test_another_who_was_first_is_named_and_the_rest_is_recorded(client_of, builder, designer, at, sent, three, job):
    recording.record(designer, three[1], "reviewed", name="Somebody else", on=job.today())
    answer = client_of(builder).post(at, sent())
    assert answer.status_code == 422
    who = designer.get_full_name() or designer.username
    assert f"What you typed of R3 revision 0 was not recorded: {who} recorded Somebody else, " in told(answer)
    assert on_record("reviewed") == ["K1 Who reviewed it", "R3 Somebody else", "R4 Who reviewed it"]


def test_where_nothing_is_left_to_record_no_form_stays_with_what_was_typed(
    client_of, builder, designer, at, sent, three
):
    for one in three:
        recording.record(designer, one, "reviewed", name="Somebody else", on=one.truss.job.today())
    answer = client_of(builder).post(at, sent())
    assert "What you typed of K1 revision 0 was not recorded" in told(answer)
    assert 'name="reviewed-name"' not in answer.content.decode()
    assert 'href="#id_reviewed' not in answer.content.decode()
    assert answer.content.decode().count('name="accepted-of"') == 3


def test_what_is_left_to_record_is_said_and_keeps_what_was_typed(client_of, builder, designer, at, sent, three, job):
    recording.record(designer, three[0], "reviewed", name="Somebody else", on=job.today())
    answer = client_of(builder).post(at, sent(which=(0, 1)))
    assert on_record("reviewed") == ["K1 Somebody else", "R3 Who reviewed it"]
    left = "Still to be recorded: R4 revision 0. The name and the day stand as you typed them; tick what they are of."
    assert left in told(answer)
    assert told(answer).count("Still to be recorded") == 1
    assert 'value="Who reviewed it"' in answer.content.decode()
    again = client_of(builder).post(at, sent(which=(2,)), follow=True)
    assert "Still to be recorded" not in told(again)
    assert on_record("reviewed")[-1] == "R4 Who reviewed it"


def test_of_what_counts_no_more_nothing_is_recorded(client_of, builder, designer, at, sent, three, truss):
    """K1 has another revision since the form was opened, R3's drawing and R4 were withdrawn."""
    revised(truss, designer)
    recording.withdraw(designer, three[1], "Wrong file")
    withdraw(designer, Truss.objects.get(mark="R4"), "not built")
    answer = client_of(builder).post(at, sent())
    assert (answer.status_code, on_record("reviewed")) == (422, [])
    assert "K1 has revision 1 now." in told(answer)
    assert "The drawing of R3 revision 0 is withdrawn: nothing more is recorded of it." in told(answer)
    assert "R4 is withdrawn: nothing was recorded of its drawing." in told(answer)
    page = client_of(builder).get(at)
    assert "All that this job asks for" not in told(page)
    assert "reviewed-of" not in page.content.decode()


def test_whose_it_is_and_where_it_is_led_to(client_of, cast, builder, designer, site_lead, at, job, three):
    assert [client_of(cast[who]).get(at).status_code for who in ("builder", "designer", "site lead", "outsider")] == [
        200,
        200,
        403,
        404,
    ]
    assert client_of(builder).get(at.partition("?")[0]).status_code == 404
    every = [one.revision for one in three]
    assert records_page.address(builder, job, every).endswith(at.partition("?")[2])
    assert records_page.address(site_lead, job, every) == records_page.address(builder, job, every[:1]) == ""
    attaching = f"/jobs/{job.pk}/sealed-drawings/attach/?" + "&".join(f"revision={one.pk}" for one in every)
    assert at.replace("&", "&amp;") in client_of(designer).get(attaching).content.decode()
