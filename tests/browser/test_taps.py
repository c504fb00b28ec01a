"""One copy's own button beside a form of several: a tap throws away nothing that was typed of other copies."""

from __future__ import annotations

import itertools
from collections.abc import Callable

import pytest
from playwright.sync_api import expect

from tests.browser.people import PHONE, Person
from tests.trusses.test_looks import photo

TICK = "input[name=copy][type=checkbox]"


@pytest.mark.parametrize("what", ["a tick", "a note", "a point", "a photo"])
def test_a_copys_own_button_is_away_while_anything_is_typed_of_others(enters: Callable[..., Person], what: str) -> None:
    lead = enters("site-lead", PHONE)
    page = lead.page
    lead.opens_mark("R9")
    form = page.locator("form.copies-form", has=page.locator("[name=to][value=delivered]")).first
    own = page.locator('#copies button[form^="tap-"]')
    assert own.count() > 1
    expect(own.first).to_be_visible()
    fold = form.locator("details.look-fields")
    fold.locator("summary").tap()
    note = form.locator("textarea[name=found]")
    if what == "a tick":
        form.locator(TICK).first.check()
    elif what == "a note":
        note.fill("Split by the heel")
    elif what == "a point":
        form.locator("input[type=radio][value=wrong]").first.check()
    else:
        file = {"name": "heel.jpg", "mimeType": "image/jpeg", "buffer": photo().read()}
        form.locator("input[type=file]").set_input_files(file)
    for one in own.all():
        expect(one).to_be_hidden()
    expect(page.locator("#copies")).to_contain_text("tick them: the buttons are hidden then")
    if what == "a note":
        note.fill("")
        expect(own.first).to_be_visible()


def test_on_a_phone_answers_stand_below_each_other_and_every_hold_apart(enters: Callable[..., Person]) -> None:
    wide = "all => all.map((one) => { const b = one.getBoundingClientRect(); return [b.left, b.right] })"
    lead = enters("site-lead", PHONE)
    lead.opens_mark("R9")
    answers = lead.page.locator("#copies .chips:has([name=whole]) label")
    assert answers.count() == 3
    assert len({tuple(box) for box in answers.evaluate_all(wide)}) == 1
    designer = enters("designer", PHONE)
    designer.opens_mark("F1")
    holds = designer.page.locator("#copies .note > .stack").evaluate_all(
        "all => all.map((one) => { const b = one.getBoundingClientRect(); return [b.top, b.bottom] })"
    )
    assert len(holds) > 1
    assert all(below[0] - above[1] >= 12 for above, below in itertools.pairwise(holds)), holds
