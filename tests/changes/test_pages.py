"""The page where a builder asks: what it says of each place; bad input keeps what was typed and stores nothing."""

from __future__ import annotations

import html
import re
from datetime import timedelta
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from changes.models import Request
from changes.pages.forms import OpeningForm
from tests.changes.asking import FITS, compute
from tests.changes.reading import shows, text
from trusses import demo_set
from trusses.analysis.format.document import read
from trusses.models import Copy, Truss
from trusses.revisions import add_mark

K1_BESIDE_THE_WEB = {"along": "8'-2 1/4\"", "up": "1'-5 1/4\""}
"""(100, 20) of K1: from the bearing's inside face (5 1/2 in. wide), up from the 2x6's top edge."""

K1_IN_THE_WEB = {"along": "9'-9 1/4\"", "up": "1'-5 1/4\""}


@pytest.fixture
def page(truss: Truss) -> str:
    return reverse("changes:ask", args=[truss.job_id, truss.pk])


@pytest.fixture
def typed(needed_by) -> dict[str, str]:
    """What the form holds when all is well."""
    return {
        "shape": "circle",
        "diameter": '8"',
        "width": '14"',
        "height": '8"',
        "insulation": '0"',
        "clearance": '1"',
        **K1_BESIDE_THE_WEB,
        "carries": "supply trunk",
        "reason": "The far rooms need air.",
        "needed_by": needed_by.isoformat(),
        "key": "a-key-of-this-form",
        "send": "1",
    }


class TestAPageToAskOn:
    def test_starts_with_an_opening_where_it_fits(self, client_of, builder, page):
        answer = client_of(builder).get(page)
        assert answer.status_code == 200
        assert 'data-diameter="8"' in answer.content.decode()

    @pytest.mark.parametrize("htmx", [{}, {"HX-Request": "true"}])
    def test_an_empty_body_says_what_is_missing(self, client_of, builder, page, htmx):
        answer = client_of(builder).post(page, {}, headers=htmx)
        assert answer.status_code == 200
        assert "Type a length" in text(answer)
        assert "This field is required." not in text(answer)
        assert not Request.objects.exists()

    def test_files_what_was_typed(self, client_of, builder, page, typed, truss):
        answer = client_of(builder).post(page, typed)
        change = Request.objects.get()
        assert answer.headers["Location"] == reverse("changes:request", args=[change.pk])
        ask = change.asks.get()
        assert ask.opening == {
            "id": "O1",
            "shape": "circle",
            "centre_in": [101.0, 20.0],
            "diameter_in": 8.0,
            "clearance_in": 1.0,
            "note": 'supply trunk: 8" round',
        }
        assert (change.reason, ask.truss) == ("The far rooms need air.", truss)

    def test_counts_insulation_twice_and_clearance_not_at_all(self, client_of, builder, page, typed):
        wrapped = {"shape": "rectangle", "width": '10"', "height": '6"', "insulation": "1 1/2"}
        client_of(builder).post(page, {**typed, **wrapped})
        opening = Request.objects.get().asks.get().opening
        assert (opening["width_in"], opening["height_in"], opening["clearance_in"]) == (13.0, 9.0, 1.0)
        assert opening["note"] == 'supply trunk: 10" × 6", with 1 1/2" insulation'

    def test_sent_twice_files_once(self, client_of, builder, page, typed):
        client = client_of(builder)
        first, second = client.post(page, typed), client.post(page, typed)
        assert first.headers["Location"] == second.headers["Location"]
        assert Request.objects.count() == 1

    def test_sent_again_with_other_words_says_what_the_first_made(self, client_of, builder, page, typed):
        client = client_of(builder)
        client.post(page, typed)
        answer = client.post(page, {**typed, "reason": "Another reason."})
        assert answer.status_code == 422
        assert "This form was sent already, and what was sent stands as it was." in text(answer)
        assert "Idempotency-Key" not in text(answer)
        assert Request.objects.count() == 1
        assert shows(answer, "reason", "Another reason.")


def offered(answer: Any) -> list[tuple[str, str]]:
    """Along and up of each place that is offered."""
    found = re.findall(r'data-along="([^"]*)" data-up="([^"]*)"', answer.content.decode())
    return [(html.unescape(along), html.unescape(up)) for along, up in found]


class TestALiveAnswer:
    """What htmx puts in while one types or after a drag."""

    def ask(self, client: Any, page: str, typed: dict[str, str], **changed: str) -> Any:
        body = {name: value for name, value in typed.items() if name != "send"}
        return client.post(page, {**body, **changed}, headers={"HX-Request": "true"})

    def test_never_sends_although_the_button_was_pressed(self, client_of, builder, page, typed):
        answer = client_of(builder).post(page, typed, headers={"HX-Request": "true"})
        assert answer.status_code == 200
        assert not Request.objects.exists()

    @pytest.mark.parametrize(("shown", "hidden"), [("desk", "phone"), ("phone", "desk")])
    def test_draws_the_size_that_is_shown(self, client_of, builder, page, typed, shown, hidden):
        client = client_of(builder)
        both, one = (self.ask(client, page, typed, shown=size).content.decode() for size in ("", shown))
        assert f'id="ask-{shown}-title"' in one
        assert f'id="ask-{hidden}-title"' in both
        assert f'<div class="for-{hidden}"></div>' in one
        assert len(one) < 0.75 * len(both)

    def test_asks_for_no_document_and_no_copies(self, client_of, builder, page, typed):
        client = client_of(builder)
        self.ask(client, page, typed)
        with CaptureQueriesContext(connection) as queries:
            self.ask(client, page, typed)
        assert len(queries) <= 5
        assert not [one for one in queries if '"trusses_revision"."document"' in one["sql"]]

    def test_is_a_fragment(self, client_of, builder, page, typed):
        answer = self.ask(client_of(builder), page, typed)
        body = answer.content.decode()
        assert answer.status_code == 200
        assert body.strip().startswith('<div id="picture"')
        assert "<html" not in body
        assert "Why, in your own words" not in body

    @pytest.mark.parametrize(
        ("place", "says"),
        [
            (K1_BESIDE_THE_WEB, ["Fits as it is", "to spare beyond its clear space"]),
            (K1_IN_THE_WEB, ["Touches W1", "Web W1 is in the way", "to where it fits"]),
            ({"along": "8'-0\"", "up": '0"'}, ["Not possible here", "It would cut chord B1.1. A chord is never cut."]),
            ({"along": "40'-0\"", "up": "1'-0\""}, ["Not possible here", "an opening must lie between the chords"]),
            ({"along": "-3'-0\"", "up": "1'-0\""}, ["Not possible here"]),
        ],
    )
    def test_tells_what_stands_in_the_way(self, client_of, builder, page, typed, place, says):
        said = text(self.ask(client_of(builder), page, typed, **place))
        for words in says:
            assert words in said

    def test_of_what_fits_nowhere_offers_no_place(self, client_of, builder, page, typed):
        said = text(self.ask(client_of(builder), page, typed, diameter='50"'))
        assert "fits nowhere in this truss as it stands" in said
        assert "Move it" not in said

    def test_what_fits_is_no_leave_to_cut(self, client_of, builder, page, typed):
        body = self.ask(client_of(builder), page, typed).content.decode()
        note = re.search(r'<div class="note ([^"]*)" id="answer">\s*(.*?)</div>', body, re.DOTALL)
        assert note is not None
        assert (note[1], "Fits as it is" in note[2], "Nothing may be cut on this." in note[2]) == ("", True, True)

    def test_offers_no_place_where_another_opening_is_asked_for(self, client_of, builder, page, typed, ask_for, truss):
        """Beside the web of K1, where it would fit next, another request wants to be."""
        client, wanted = client_of(builder), {**typed, **K1_IN_THE_WEB}
        [first] = offered(self.ask(client, page, wanted))
        ask_for({**FITS, "centre_in": [128, 20]}, {**FITS, "id": "O2", "centre_in": [112, 20]})
        answer = self.ask(client, page, wanted)
        offers = offered(answer)
        assert offers
        assert first not in offers
        for along, up in offers:
            there = self.ask(client, page, {**typed, "along": along, "up": up})
            assert "Fits as it is" in text(there)
            assert "It overlaps" not in text(there)

    def test_says_so_where_other_openings_have_all_the_room(self, client_of, builder, page, typed, ask_for):
        large = {**typed, **K1_IN_THE_WEB, "diameter": '20"'}
        client = client_of(builder)
        assert offered(self.ask(client, page, large))
        ask_for({"id": "O1", "shape": "rectangle", "centre_in": [120, 25], "width_in": 160, "height_in": 40})
        answer = self.ask(client, page, large)
        assert offered(answer) == []
        assert "This size fits only where another opening is, or is asked for." in text(answer)
        assert "fits nowhere" not in text(answer)

    @pytest.mark.parametrize(
        ("changed", "says"),
        [
            ({"along": "12' 13\""}, "12' 13\""),
            ({"along": "somewhere"}, "somewhere"),
            ({"diameter": '-3"'}, "can't be negative"),
            ({"diameter": "0"}, "Give the diameter, more than 0 in."),
            ({"clearance": "2000'"}, "1000'-0\""),
            ({"shape": "triangle"}, "Choose round or rectangular."),
            ({"up": ""}, "Type a length, such as"),
        ],
    )
    def test_of_what_can_not_be_read_says_so(self, client_of, builder, page, typed, changed, says):
        said = text(self.ask(client_of(builder), page, typed, **changed))
        assert "Can't tell yet" in said
        assert says in said

    @pytest.mark.parametrize("mark", ["R1", "R2", "R6", "R9", "F1"])
    def test_a_place_that_is_offered_fits_as_the_fields_write_it(self, client_of, builder, designer, job, typed, mark):
        document = next(one.document for one in demo_set.marks() if one.mark == mark)
        truss = add_mark(job, document, 1, designer)
        page, client, offered = reverse("changes:ask", args=[job.pk, truss.pk]), client_of(builder), 0
        tape = OpeningForm(design=read(document)).datum
        span = max(x for x, _ in document["joints"].values())
        for share in (0.31, 0.43, 0.57, 0.71):
            along = f'{share * span - tape.faces[0].x:.3f}"'
            place = {"along": along, "up": "9 3/32", "diameter": '5"', "clearance": '1/2"'}
            answer = self.ask(client, page, typed, **place)
            button = re.search(r'data-along="([^"]+)" data-up="([^"]+)"', answer.content.decode())
            if button is None:
                continue
            offered += 1
            moved = {"along": html.unescape(button[1]), "up": html.unescape(button[2])}
            said = text(self.ask(client, page, typed, **{**place, **moved}))
            assert "Fits as it is" in said, (share, moved)
        assert offered, "no place was offered, so nothing was tried"


class TestBadInput:
    @pytest.mark.parametrize(
        ("changed", "says"),
        [
            ({"diameter": '-3"'}, "can't be negative"),
            ({"diameter": "400'"}, "is more than the whole truss K1"),
            ({"along": "12' 13\""}, "12' 13\""),
            ({"along": "", "up": ""}, "Type a length, such as"),
            ({"needed_by": "2001-09-09"}, "is past; today at the job is"),
            ({"needed_by": "9999-12-31"}, "is more than a hundred years away"),
            ({"needed_by": "soon"}, "Enter a valid date"),
            ({"reason": ""}, "Not sent. Why, in your own words: Say in a sentence what it is for"),
            ({"needed_by": ""}, "Not sent. Answer needed by: Say by which day you need the answer."),
            ({"reason": "x" * 2001}, "at most 2000 characters"),
            ({"carries": "y" * 121}, "at most 120 characters"),
        ],
    )
    def test_keeps_what_was_typed_and_stores_nothing(self, client_of, builder, page, typed, changed, says):
        answer = client_of(builder).post(page, {**typed, **changed})
        assert answer.status_code == 422
        assert says in " ".join(text(answer).split())
        for name in ("diameter", "along", "up", "reason", "needed_by", "carries"):
            assert shows(answer, name, {**typed, **changed}[name]), name
        assert not Request.objects.exists()

    def test_never_names_a_place_in_a_programs_body(self, client_of, builder, page, typed):
        answer = client_of(builder).post(page, {**typed, "diameter": "400'"})
        assert "asks[0]" not in text(answer)

    def test_shows_markup_as_words(self, client_of, builder, page, typed):
        hostile = "<script>alert(1)</script>\"'><img src=x onerror=alert(1)>"
        answer = client_of(builder).post(
            page, {**typed, "reason": hostile, "carries": hostile[:60], "along": hostile[:30]}
        )
        assert answer.status_code == 422
        assert shows(answer, "reason", hostile)
        assert "<script>alert" not in answer.content.decode()
        assert "<img src=x" not in answer.content.decode()

    def test_after_the_last_day_says_so(self, client_of, builder, page, typed, truss):
        truss.can_change_until = truss.job.today() - timedelta(days=1)
        truss.save()
        answer = client_of(builder).post(page, typed)
        assert answer.status_code == 422
        assert "The last day for changes to K1 was" in text(answer) or "the last day for changes to K1 was" in text(
            answer
        )
        assert not Request.objects.exists()

    def test_when_all_is_cut_says_what_remains(self, client_of, builder, page, typed, truss):
        Copy.objects.filter(truss=truss).update(stage="cut", built_to=truss.current)
        answer = client_of(builder).post(page, typed)
        assert answer.status_code == 422
        assert "3 copies of K1 are cut already" in text(answer)
        assert shows(answer, "reason", typed["reason"])

    def test_through_a_chord_is_answered_never(self, client_of, builder, page, typed):
        client = client_of(builder)
        sent = client.post(page, {**typed, "up": '0"'})
        change = compute(Request.objects.get())
        said = text(client.get(sent.headers["Location"]))
        assert change.asks.get().verdict == "never"
        assert "Not possible here" in said
        assert "A chord is never cut" in said


class TestBackAfterSending:
    def test_the_page_is_never_kept(self, client_of, builder, page):
        assert "no-store" in client_of(builder).get(page)["Cache-Control"]

    def test_it_says_what_was_asked_already(self, client_of, builder, page, typed):
        client = client_of(builder)
        assert "You asked of K1 already" not in text(client.get(page))
        client.post(page, typed)
        again = client.get(page)
        number = Request.objects.get().pk
        assert f"You asked of K1 already. Request {number}, filed. What is sent here is one more." in " ".join(
            text(again).replace("\n", " ").split()
        ).replace(" ,", ",").replace(" .", ".")
        assert shows(again, "reason", "")

    def test_the_same_sent_from_a_fresh_page_is_refused_with_the_number(self, client_of, builder, page, typed):
        client = client_of(builder)
        client.post(page, typed)
        fresh = re.search(r'name="key" value="([^"]+)"', client.get(page).content.decode())
        answer = client.post(page, {**typed, "key": fresh[1]})
        assert answer.status_code == 422
        assert text(answer).count(f"You asked exactly this already: request {Request.objects.get().pk} is filed.") == 1
        assert "Fits as it is" in text(answer)  # the opening is told of all the same
        assert "Can't tell yet" not in text(answer)

    def test_peoples_words_keep_their_direction_to_themselves(self, client_of, builder, page, typed):
        client_of(builder).post(page, {**typed, "reason": "\u202eback\u05d0"})
        body = client_of(builder).get(f"/requests/{Request.objects.get().pk}/").content.decode()
        assert "<bdi>\u202eback\u05d0</bdi>" in body
