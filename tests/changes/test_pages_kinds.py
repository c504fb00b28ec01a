"""The pages of the kinds of ask: the choice that comes first, each form from what was typed to the request, what is
refused beside what was typed."""

from __future__ import annotations

import io
import json
import re

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from PIL import Image

from changes.models import Photo, Request
from changes.pages.kind_form import numbers
from changes.pages.needs import NEEDS
from tests.changes.asking import compute
from tests.changes.kind_forms import TYPED, WHY, address
from tests.changes.reading import text
from trusses.analysis.words.lengths import feet_inches
from trusses.models import Copy, Stage
from trusses.revisions import add_mark


@pytest.fixture(autouse=True)
def own_folder(settings, tmp_path):
    settings.DATA_DIR = tmp_path


def test_a_job_without_trusses_says_what_is_missing_and_who_adds_it(client_of, builder, designer, job):
    at = reverse("changes:needs", args=[job.pk])
    page = client_of(builder).get(at)
    called = designer.get_full_name() or designer.username
    says = f"This job has no trusses yet. Nothing of them can be asked for before a truss designer adds them: {called}"
    assert says in " ".join(text(page).split())
    assert re.findall(r'<li><a href="([^"]+)"', page.content.decode()) == [reverse("changes:ask-of-job", args=[job.pk])]


def test_what_is_up_there_is_told_in_a_builders_words(client_of, builder, row):
    page = " ".join(text(client_of(builder).get(address(row, "damage"))).split())
    assert "People or goods on the floor Things stored in the attic People or material on the roof Snow" in page


def test_the_choice_comes_first_and_each_leads_somewhere(client_of, builder, row):
    page = client_of(builder).get(reverse("changes:needs-of-mark", args=[row.job_id, row.pk])).content.decode()
    assert page.count("<li><a ") == len(NEEDS) == 7
    for need in NEEDS:
        assert need.says in page
    assert "can&#x27;t be asked" not in page


def test_of_a_job_the_mark_is_chosen_next(client_of, builder, row):
    first = client_of(builder).get(reverse("changes:needs", args=[row.job_id])).content.decode()
    assert "?kind=load" in first
    marks = client_of(builder).get(reverse("changes:needs", args=[row.job_id]) + "?kind=load").content.decode()
    assert address(row, "load") in marks
    of_none = client_of(builder).get(reverse("changes:needs", args=[row.job_id]) + "?kind=question").content.decode()
    assert reverse("changes:ask-of-job", args=[row.job_id]) in of_none


def test_marks_to_choose_from_stand_as_they_are_counted(client_of, builder, designer, row, king_post):
    for mark in ("K10", "K2"):
        add_mark(row.job, {**king_post, "mark": mark}, 1, designer)
    page = client_of(builder).get(reverse("changes:needs", args=[row.job_id]), {"kind": "load"})
    told = [one.mark for one, _ in page.context["marks"]]
    assert told.index("K2") < told.index("K10")


def test_marks_to_choose_from_say_what_and_where_they_are(client_of, builder, designer, row, king_post):
    client, where = client_of(builder), reverse("changes:needs", args=[row.job_id]) + "?kind=load"
    counts = []
    for mark in ("K2", "K3"):
        add_mark(row.job, {**king_post, "mark": mark, "title": f"Over the hall of {mark}"}, 2, designer)
        client.get(where)
        with CaptureQueriesContext(connection) as queries:
            told = " ".join(text(client.get(where)).split())
        counts.append(len(queries))
        assert f"{mark} 2 trusses · not on the plan yet Over the hall of {mark}" in told, told
    assert re.search(rf"{row.mark} \d+ trusses · Roof ", told)
    assert counts[0] == counts[1]


def test_marks_to_choose_from_say_which_are_past_change_where_that_matters(client_of, builder, row):
    Copy.objects.filter(truss=row).update(stage=Stage.CUT)
    where = reverse("changes:needs", args=[row.job_id])
    said = {kind: text(client_of(builder).get(where, {"kind": kind})) for kind in ("load", "damage")}
    assert {kind: "All cut: changes ended" in told for kind, told in said.items()} == {"load": True, "damage": False}
    closed = client_of(builder).get(address(row, "load")).content.decode()
    assert reverse("changes:needs-of-mark", args=[row.job_id, row.pk]) in closed  # damage and questions


def test_the_small_plan_speaks_of_dashes_only_where_it_has_some(client_of, builder, row):
    pages = {kind: client_of(builder).get(address(row, kind)).content.decode() for kind in ("load", "damage")}
    assert {kind: page.count("dashed is cut already") for kind, page in pages.items()} == {"load": 0, "damage": 0}
    Copy.objects.filter(truss=row, number=1).update(stage=Stage.CUT)
    for kind, dashes in (("load", 1), ("damage", 0)):  # damage is told of cut copies too
        page = client_of(builder).get(address(row, kind)).content.decode()
        plan = page[page.index("choose-plan") :].partition("</svg>")[0]
        assert (plan.count("stroke-dasharray"), page.count("dashed is cut already")) == (dashes, dashes), kind


@pytest.mark.parametrize(
    ("kind", "typed", "field"), [("passage", {"copy": "99"}, "copy"), ("load", {"copies": "99"}, "copies")]
)
def test_a_copy_that_isn_t_there_is_told_at_its_field(send, row, kind, typed, field):
    page = send(kind, **typed)
    assert page.status_code == 422
    (told,) = page.context["form"].errors[field]
    assert told.startswith(f"{row.mark} has no copy 99; it has ")


def test_walls_as_measured_come_before_the_copies(client_of, builder, row):
    page = client_of(builder).get(address(row, "bearing")).content.decode()
    assert page.index('data-field="off-') < page.index('data-field="copies"')
    assert "Wall at" not in page


def test_past_change_only_damage_and_questions_are_left(client_of, builder, row):
    Copy.objects.filter(truss=row).update(stage=Stage.CUT)
    page = client_of(builder).get(reverse("changes:needs-of-mark", args=[row.job_id, row.pk])).content.decode()
    assert address(row, "damage") in page
    assert address(row, "question") in page
    assert address(row, "load") not in page
    assert "past change" in client_of(builder).get(address(row, "load")).content.decode()


@pytest.mark.parametrize("kind", TYPED)
def test_what_was_typed_becomes_the_ask_and_is_answered(kind, send, client_of, designer):
    answer = send(kind)
    assert answer.status_code == 302, answer.content.decode()[:3000]
    change = compute(Request.objects.get())
    ask = change.asks.get()
    assert ask.kind == kind
    for person in (change.filed_by, designer):
        page = client_of(person).get(answer["Location"]).content.decode()
        assert ask.kind in ("question",) or ask.told[0]["code"]
        for sentence in ask.says.split(". ")[:1]:
            assert sentence[:40].replace("'", "&#x27;") in page


def test_lengths_are_measured_from_the_left_bearing(send):
    send("load")
    wish = Request.objects.get().asks.get().wish
    assert (wish["at_in"], wish["weight_lb"], wish["shared"]) == (120, 150, "stiff")
    assert Request.objects.get().asks.get().copies == [2, 3, 4]


def test_across_is_measured_from_the_copy_that_was_named(send):
    send("passage")
    ask = Request.objects.get().asks.get()
    assert ask.wish["across_in"] == 24 + 12
    assert ask.copies == [2, 3]


def test_a_place_on_a_piece_is_from_its_left_or_lower_end(send):
    """W1 runs from B (120, 60) down to D (120, 0): 20 in. up from D is 40 in. from B."""
    send("damage")
    assert Request.objects.get().asks.get().wish["at_in"] == 40


@pytest.mark.parametrize(
    ("kind", "typed", "spots", "said"),
    [
        ("load", {}, [[120.0, 0.0]], "= 10&#x27;-0&quot;"),
        ("load", {"along": "someday"}, [], ""),
        ("damage", {}, None, ""),
        ("question", {}, [[36.0, 6.0]], "= 3&#x27;-0&quot;"),
    ],
)
def test_what_is_typed_is_marked_on_the_drawing(kind, typed, spots, said, client_of, builder, row):
    body = {**TYPED[kind], **typed}
    page = client_of(builder).post(address(row, kind), body, headers={"HX-Request": "true"})
    (marked,) = re.findall(r'data-spots="(.*?)"', page.content.decode())
    assert said in page.content.decode()
    assert json.loads(marked) == spots if spots is not None else len(json.loads(marked)) == 1
    assert not Request.objects.exists()


BY = {"along": "", "by": '6"', "toward": "left"}


def test_a_bearing_moves_by_so_much_toward_an_end(send, row, client_of, builder):
    right = row.current.document["joints"]["C"][0]
    page = client_of(builder).post(address(row, "bearing"), {**TYPED["bearing"], **BY}, headers={"HX-Request": "true"})
    assert f'6" toward the left end: to {feet_inches(right - 6)} from the left bearing' in text(page)
    assert send("bearing", **BY).status_code == 302
    assert Request.objects.get().asks.get().wish["to_in"] == right - 6


def test_how_far_a_bearing_goes_is_told_in_feet_and_inches(row, client_of, builder):
    right = row.current.document["joints"]["C"][0]
    typed = {**TYPED["bearing"], "along": f'{right - 30}"', "by": "", "toward": ""}
    page = client_of(builder).post(address(row, "bearing"), typed, headers={"HX-Request": "true"})
    assert """, 2'-6" toward the left end""" in text(page)


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        ({"joint": ""}, "Say which bearing."),
        ({"toward": ""}, "Say toward which end it moves."),
        ({"along": "19'"}, "and 19'-0\" is typed above: empty one."),
    ],
)
def test_a_bearing_moves_to_one_place(typed, says, send):
    page = send("bearing", **{**BY, **typed})
    assert page.status_code == 422
    assert says in text(page)


def test_bearings_are_called_by_their_walls(client_of, builder, row):
    wall = row.job.wall_lines.create(label="north <wall>")
    row.stands_on.create(joint="A", wall=wall)
    page = text(client_of(builder).get(address(row, "bearing")))
    assert 'north <wall> (A), at 0"' in page
    assert "right bearing (C), at" in page


def test_walls_as_measured(send):
    answer = send("bearing", change="measured", **{"off-C": '-6"', "rise-A": '-1/2"'})
    assert answer.status_code == 302
    walls = Request.objects.get().asks.get().wish["walls"]
    assert walls == [{"joint": "A", "x_in": 0, "y_in": -0.5}, {"joint": "C", "x_in": 234, "y_in": 0}]


@pytest.mark.parametrize(
    ("kind", "typed", "says"),
    [
        ("load", {"along": "40'"}, "there is no bottom chord to carry it"),
        ("load", {"weight": "0"}, "Say how much it weighs: pounds as a number"),
        ("load", {"weight": ""}, "required"),
        ("load", {"copies": "two"}, "like 1-3, 7"),
        ("load", {"copies": "9"}, "has no copy 9"),
        ("bearing", {"along": ""}, "Type a length"),
        ("bearing", {"along": "25'"}, "beyond the end of K1"),
        ("passage", {"across": "30'"}, "across the row"),
        ("passage", {"copy": "99"}, "copies"),
        ("damage", {"copies": ""}, "required"),
        ("damage", {"at": "9'"}, "is not on W1"),
        ("question", {"says": ""}, "Ask something."),
        ("question", {"up": ""}, "Give both, or neither."),
    ],
)
def test_what_is_wrong_is_said_and_nothing_typed_is_lost(kind, typed, says, send):
    answer = send(kind, **typed)
    page = answer.content.decode()
    assert answer.status_code == 422
    assert says in page.replace("&#x27;", "'")
    # a question is asked nothing besides
    assert (TYPED[kind]["along"] if kind == "question" else WHY["reason"]) in page.replace("&#x27;", "'")
    assert not Request.objects.exists()


def test_a_second_tap_on_send_finds_the_first(send):
    first, second = send("load"), send("load")
    assert first["Location"] == second["Location"]
    assert Request.objects.count() == 1


def test_a_photo_goes_with_damage_and_is_shown(send, client_of, builder):
    out = io.BytesIO()
    Image.new("RGB", (40, 30), (90, 60, 30)).save(out, "JPEG")
    answer = send("damage", photos=SimpleUploadedFile("web.jpg", out.getvalue(), "image/jpeg"))
    photo = Photo.objects.get()
    assert f"/photos/{photo.pk}/" in client_of(builder).get(answer["Location"]).content.decode()


def test_what_is_no_photo_is_said(send):
    answer = send("damage", photos=SimpleUploadedFile("web.jpg", b"not a picture", "image/jpeg"))
    assert answer.status_code == 422
    assert "no picture" in answer.content.decode()
    assert not Request.objects.exists()


def test_who_may_ask(cast, send, client_of, row):
    statuses = {who: client_of(person).get(address(row, "load")).status_code for who, person in cast.items()}
    assert statuses == {"builder": 200, "designer": 403, "site lead": 403, "outsider": 404, "nobody": 302}
    assert send("load", person=cast["outsider"]).status_code == 404
    assert client_of(cast["builder"]).get(address(row, "opening")).status_code == 404


def test_a_second_weight_goes_with_the_first(send, row):
    answer = send("load", second_what="stone", second_weight="60", second_along="5'")
    assert answer.status_code == 302
    one, other = compute(Request.objects.get()).asks.order_by("id")
    assert [(ask.wish["what"], ask.wish["weight_lb"], ask.wish["at_in"]) for ask in (one, other)] == [
        ("air handler", 150, 120),
        ("stone", 60, 60),
    ]
    assert one.options.get() == other.options.get()


def test_a_second_weight_without_its_place_is_refused_beside_it(send):
    answer = send("load", second_what="stone")
    assert answer.status_code == 422
    assert "Say where it is." in answer.content.decode()
    assert not Request.objects.exists()


@pytest.mark.parametrize(
    ("text", "found"),
    [("1-3, 7", [1, 2, 3, 7]), ("5", [5]), ("2 4", [2, 4]), ("1 – 2", [1, 2]), ("4-4", [4])],
)
def test_numbers_of_copies(text, found):
    assert numbers(text) == found


@pytest.mark.parametrize("text", ["a", "3-1", "1-", "-2", "1-9999", "1,,2x"])
def test_no_numbers_of_copies(text):
    with pytest.raises(Exception, match="like 1-3, 7"):
        numbers(text)
