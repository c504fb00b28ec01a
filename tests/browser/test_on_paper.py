"""Every kind of page that one prints: no leaf that is almost empty before the last, nothing to press or to fill in."""

from __future__ import annotations

import re
from collections.abc import Callable

import pypdfium2
import pytest

from tests.browser.paper import image, printed
from tests.browser.people import DESK, Person
from tests.browser.test_inspector import made

HALF = 0.45
"""So much of each leaf that another follows has print on it, from its top down: a drawing that doesn't fit below what
is said goes over the page and leaves less than half of a leaf."""
INK = 200
SITE = "/jobs/1"
PRINTED = [
    "/requests/9/",
    "/requests/12/",
    "/requests/17/",
    f"{SITE}/trusses/1/",
    f"{SITE}/trusses/2/",
    f"{SITE}/trusses/12/",
    f"{SITE}/trusses/12/revisions/0/",
    f"{SITE}/trusses/2/revisions/1/",
    f"{SITE}/setting/",
    f"{SITE}/plan/",
    f"{SITE}/sheets/",
    f"{SITE}/trusses/12/labels/",
]
INSPECTED = ["", "plan/", "marks/12/"]


@pytest.mark.parametrize("size", ["Letter", "A4"])
@pytest.mark.parametrize("who", ["site-lead", "designer", "inspector"])
def test_no_leaf_is_almost_empty_before_the_last(enters: Callable[..., Person], who: str, size: str) -> None:
    person = enters("builder" if who == "inspector" else who, DESK)
    addresses = [f"{link}{page}" for link in [made(person)] for page in INSPECTED] if who == "inspector" else PRINTED
    empty = {}
    for address in addresses:
        person.opens_answered(address)
        paper = printed(person.page, size)
        if short := {n + 1: reached for n in range(len(paper) - 1) if (reached := reaches(paper, n)) < HALF}:
            empty[address] = (short, len(paper))
        elif reaches(paper, len(paper) - 1) == 0:
            empty[address] = ("the last is blank", len(paper))
    assert empty == {}


def reaches(paper: pypdfium2.PdfDocument, number: int) -> float:
    """The lowest print between the edges of a page, as a share of what lies between them."""
    grey = image(paper, number, 50)
    inside = grey.crop((0, round(0.06 * grey.height), grey.width, round(0.94 * grey.height)))
    box = inside.point(lambda value: 255 * (value < INK)).getbbox()
    return round(box[3] / inside.height, 2) if box else 0.0


@pytest.mark.parametrize(
    ("address", "who", "controls"),
    [
        (f"{SITE}/trusses/2/", "designer", ["Copy 4", "Release the chosen ones"]),
        (f"{SITE}/trusses/2/revisions/1/code/", "designer", ["Withdraw it", "Withdraw this code", "Leave it"]),
        (f"{SITE}/inspectors/", "builder", ["Hand out a link", "Revoke", "Make the link"]),
        (f"{SITE}/building/", "designer", ["Change the limits"]),
        (f"{SITE}/sheathing/", "designer", ["Sheathing on this job"]),
        (f"{SITE}/plates/", "designer", ["Upload a table"]),
        ("/requests/17/", "designer", ["It doesn't end by that after all"]),
        (f"{SITE}/trusses/12/", "site-lead", ["What is to be done", "What is wrong with"]),
    ],
)
def test_what_is_pressed_or_filled_in_is_not_printed(
    enters: Callable[..., Person], address: str, who: str, controls: list[str]
) -> None:
    person = enters(who, DESK)
    person.opens_answered(address)
    shown = person.page.locator("main").inner_text()
    assert [one for one in controls if one not in shown] == [], "they are there to be left out"
    paper = printed(person.page)
    said = " ".join(paper[n].get_textpage().get_text_bounded() for n in range(len(paper)))
    assert [one for one in controls if one in said] == []
    person.page.emulate_media(media="print")
    fields = person.page.locator("main :is(input, select, textarea, button):not(th *)")
    assert [one for one in fields.all() if one.is_visible()] == []


def test_a_mark_on_paper_still_names_its_copies_and_those_that_keep_off(enters: Callable[..., Person]) -> None:
    person = enters("site-lead", DESK)
    person.opens_answered(f"{SITE}/trusses/12/")
    paper = printed(person.page)
    said = " ".join(" ".join(paper[n].get_textpage().get_text_bounded().split()) for n in range(len(paper)))
    assert re.search(r"7 delivered .* Copies 12–18 ", said)
    assert "Copy 15 don’t set Copy 16 don’t set" in said


def test_damage_of_several_copies_is_told_once_on_a_sheet(enters: Callable[..., Person]) -> None:
    person = enters("site-lead", DESK)
    person.opens_answered(f"{SITE}/trusses/12/revisions/0/")
    first = " ".join(printed(person.page)[0].get_textpage().get_text_bounded().split())
    assert first.count("Not copies 15–16: damaged, keep off.") == first.count("damaged") == 2, "there and on the edge"
    assert "Which trusses it is for Copies 1–14, 17–18 of F2." in first
