"""Copies chosen on a small plan with a thumb and by keys, in step with the list; their labels on paper."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import expect

from tests.browser.paper import printed
from tests.browser.people import PHONE, Person


@pytest.fixture
def builder(browser, demo):
    size = {"width": PHONE.width, "height": PHONE.height}
    context = browser.new_context(base_url=demo, viewport=size, has_touch=True, service_workers="block")
    person = Person(context.new_page(), PHONE)
    person.sign_in("builder")
    yield person.page
    context.close()


def test_a_thumb_and_keys_choose_copies_and_the_list_is_in_step(builder):
    page = builder
    page.goto("/jobs/1/trusses/1/ask/")
    boxes = page.locator("input[name=copies]")
    pick = page.locator("[data-free] .target")

    def chosen() -> list[int]:
        return [int(box.get_attribute("value")) for box in boxes.all() if box.is_checked()]

    every = chosen()
    assert len(every) == pick.count() > 5
    page.get_by_role("button", name="Some").tap()
    assert chosen() == []
    for number in (3, 5):
        page.locator(f'[data-copy="{number}"] .target').tap()
    assert chosen() == [3, 5]
    boxes.nth(every.index(4)).check()
    expect(page.get_by_role("checkbox", name="Copy 4").first).to_be_checked()
    expect(page.locator("[data-chosen]")).to_have_text(f"Chosen: copies 3–5, 3 of {len(every)} that can be.")
    page.get_by_role("button", name="One").tap()
    page.locator('[data-copy="2"] .target').tap()
    assert chosen() == [2]
    page.locator('[data-copy="2"]').focus()
    page.keyboard.press("ArrowRight")
    page.keyboard.press("Space")
    assert chosen() == [3]
    page.get_by_role("button", name="All").tap()
    assert chosen() == every
    # the last copies lie beyond the edge: that is told, and one tap away
    page.get_by_role("button", name=re.compile("cop(y|ies) further right")).tap()
    expect(page.get_by_role("button", name=re.compile("further right"))).to_be_hidden()
    expect(page.get_by_role("button", name=re.compile("cop(y|ies) further left"))).to_be_visible()
    # what another request asks for is drawn, and told apart from what is asked here
    theirs, mine = page.locator("#stage .opening.not-mine:visible"), page.locator("#stage .opening.ask:visible")
    assert "not-mine" not in mine.first.get_attribute("class")
    colors = [one.first.evaluate("one => getComputedStyle(one).color") for one in (theirs, mine)]
    assert colors[0] != colors[1]
    # nothing of it reaches beyond the screen
    assert page.evaluate("document.querySelector('.choose').getBoundingClientRect().right") <= PHONE.width
    # where numbers are typed, they follow, and what is typed is shown
    page.goto("/jobs/1/trusses/1/ask/load/")
    field = page.locator("[name=copies]")
    field.fill("2-4, 9")
    page.locator('[data-copy="3"] .target').tap()
    assert field.input_value() == "2, 4, 9"
    field.fill("")
    expect(page.locator("[data-chosen]")).to_contain_text(f"{len(every)} of {len(every)}")
    # left empty it means all: "Some" begins with none, which no server takes for all
    page.get_by_role("button", name="Some").tap()
    expect(page.locator("[data-chosen]")).to_have_text("None is chosen.")
    assert field.input_value() == "none yet"
    for number in (4, 5):
        page.locator(f'[data-copy="{number}"] .target').tap()
    assert field.input_value() == "4–5"


@pytest.mark.parametrize("size", ["Letter", "A4"])
def test_labels_print_several_to_a_page_and_none_is_cut(builder, size):
    page = builder
    page.goto("/jobs/1/trusses/1/labels/")
    count = page.locator(".label").count()
    paper = printed(page, size)
    assert len(paper) == -(-count // 8)
    told = [sheet.get_textpage().get_text_range() for sheet in paper]
    numbers = [int(n) for sheet in told for n in re.findall(r"R1\s+copy\s+(\d+)", sheet)]
    assert sorted(numbers) == list(range(1, count + 1))
    assert " ".join("".join(told).split()).count("This doesn’t allow cutting, building or setting.") >= count
