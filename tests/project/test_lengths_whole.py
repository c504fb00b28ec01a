"""No line of a page ends between an inch and its fraction; what somebody typed stays as it was typed."""

from __future__ import annotations

import re

from django.urls import reverse

from project.middleware import lengths_whole

WHOLE = "5\N{NO-BREAK SPACE}3/4"


def whole(page: str) -> str:
    return lengths_whole(page.encode()).decode()


def test_a_fraction_stays_with_its_inches():
    assert whole("<p>It is 5 3/4&quot; up</p>") == f"<p>It is {WHOLE}&quot; up</p>"
    assert whole("12'-3 15/16") == "12'-3\N{NO-BREAK SPACE}15/16"
    assert whole('<svg><text x="1">5 3/4</text></svg>') == f'<svg><text x="1">{WHOLE}</text></svg>'


def test_nothing_else_is_joined():
    for page in ("5 3/5 of it", "on 5 11/28", "5 and 3/4", "5 3/40", "R 3/4"):
        assert whole(page) == page


def test_what_is_typed_and_what_stands_in_a_tag_stay():
    for page in (
        '<input value="5 3/4">',
        '<p title="5 3/4">',
        '<textarea name="why">a 5 3/4 duct</textarea>',
        "<textarea>5 3/4</textarea>",
        "<option>5 3/4</option>",
        '<path d="M5 3/4"/>',
        "<pre>5 3/4</pre>",
        "<SCRIPT>if (a>b) x = '5 3/4'</SCRIPT>",
        "<textarea><b>5 3/4</textarea>",
    ):
        assert whole(page) == page
    assert whole("<textarea>5 3/4</textarea><p>5 3/4") == f"<textarea>5 3/4</textarea><p>{WHOLE}"


def test_two_megabytes_of_fractions_are_read_once():
    """As anybody may send it before signing in, in a field that is shown again: 19 s when each looked for its tag."""
    typed = f'<input value="{"5 3/4 " * 300_000}">'
    assert whole(typed) == typed
    assert whole("<p>5 3/4</p>" * 100_000).count(WHOLE) == 100_000


def test_every_page_has_it(client_of, builder, truss):
    page = client_of(builder).get(reverse("trusses:sheet", args=[truss.job_id, truss.pk, 0])).content.decode()
    said = re.sub(r"<[^>]*>", "<>", page)
    assert re.search("[0-9]\N{NO-BREAK SPACE}[0-9]+/[0-9]", said)
    assert not re.search("[0-9] [0-9]{1,2}/(?:2|4|8|16)(?![0-9])", said)
