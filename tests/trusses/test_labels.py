"""Labels of a mark's copies: which truss, which end, which revision; and that they are no leave to do anything."""

from __future__ import annotations

import re

from tests.trusses.reading import text
from trusses.models import Copy, Placement, Stage, Truss
from trusses.production import move
from trusses.revisions import add_mark
from trusses.sheets.labels import labels


def address(truss: Truss) -> str:
    return f"/jobs/{truss.job_id}/trusses/{truss.pk}/labels/"


def test_a_label_for_each_copy_says_which_it_is(client_of, site_lead, designer, truss):
    row = Placement.objects.create(truss=truss, origin_x_in=0, origin_y_in=0, spacing_in=24, count=2, turned=True)
    truss.copies.filter(number__in=[1, 2]).update(placement=row)
    move(designer, truss, [truss.copies.get(number=1).pk], Stage.RELEASED)
    first, second, third = labels(truss)
    assert (first.mark, first.number, first.revision, first.made, first.superseded) == ("K1", 1, 0, "", False)
    assert (first.toward, first.level, second.revision) == ("right", "Roof", None)
    assert (third.toward, third.level) == ("", "")
    page = client_of(site_lead).get(address(truss))
    said = text(page)
    assert page.content.decode().count('<li class="label">') == 3
    assert "K1 copy 1" in said
    assert "bearing A , left in the drawing. In plan, Roof : marked end toward the right of the plan." in said
    assert (said.count("Released to revision 0."), said.count("Released to no revision.")) == (1, 2)
    assert said.count("Says which truss it is. This doesn’t allow cutting, building or setting.") == 3


def test_what_is_released_to_a_superseded_revision_says_so(truss, designer, client_of, site_lead):
    move(designer, truss, [copy.pk for copy in truss.copies.all()], Stage.RELEASED)
    assert not labels(truss)[0].superseded
    truss.copies.update(stage=Stage.BUILT, built_to=truss.current)
    first = truss.current
    first.pk, first.number, first._state.adding = None, 1, True
    first.save()
    Truss.objects.filter(pk=truss.pk).update(current=first)
    truss.refresh_from_db()
    one = labels(truss)[0]
    assert (one.revision, one.made, one.superseded, one.stays) == (0, "Built", True, False)
    # what is cut isn't built yet, and what a designer said stays by it isn't put aside
    truss.copies.filter(number=1).update(stage=Stage.CUT)
    truss.copies.filter(number=2).update(earlier=Copy.Earlier.STAYS, earlier_for=truss.current)
    truss.copies.filter(number=3).update(stage=Stage.RELEASED, built_to=None)
    said = text(client_of(site_lead).get(address(truss)))
    assert "Cut to revision 0, which is superseded: don’t set ." in said
    assert "Built to revision 0, and stays by it." in said
    assert "Released to revision 0, which is superseded: don’t cut ." in said


def test_a_variants_label_says_what_it_was(client_of, builder, designer, truss, king_post):
    variant = add_mark(truss.job, {**king_post, "mark": "K1-b"}, 1, designer)
    Truss.objects.filter(pk=variant.pk).update(variant_of=truss)
    assert "A variant: it was K1 copy 1." in text(client_of(builder).get(address(variant)))


def test_hostile_names_are_letters_and_strangers_see_nothing(client_of, builder, outsider, designer, job, king_post):
    job.name = '"><script>alert(1)</script>'
    job.save()
    mark = add_mark(job, {**king_post, "mark": '"><script>א'}, 1, designer)
    page = client_of(builder).get(address(mark)).content.decode()
    assert "<script>alert" not in page
    assert re.search(r'label-name long"><bdi>&quot;&gt;&lt;script&gt;', page)
    assert client_of(outsider).get(address(mark)).status_code == 404


def test_the_mark_and_its_sheet_lead_there(client_of, builder, truss):
    for page in ("", "revisions/0/"):
        assert (
            address(truss) in client_of(builder).get(f"/jobs/{truss.job_id}/trusses/{truss.pk}/{page}").content.decode()
        )


def test_what_is_for_paper_has_a_button_to_print_it(client_of, site_lead, truss):
    """No paper shows the button, and none is offered before a script can print."""
    job = f"/jobs/{truss.job_id}"
    pages = [address(truss), f"{job}/setting/", f"{job}/plan/", f"{job}/trusses/{truss.pk}/revisions/0/"]
    for page in pages:
        told = client_of(site_lead).get(page).content.decode()
        assert re.findall(r"<button[^>]*data-print[^>]*>", told) == [
            '<button type="button" class="button quiet no-print" data-print hidden>'
        ], page
