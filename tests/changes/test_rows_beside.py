"""What an option does to the rows of restraint of trusses that keep their design, on the page and for programs."""

from __future__ import annotations

import pytest
from django.urls import reverse

from changes import workflow
from tests.changes.asking import API, FITS, PATH, STIFF_ENOUGH, answer_of, approve, compute, without_web
from tests.changes.test_page_queries import asked
from trusses.models import Placement, Truss
from trusses.plan.rows import notes, touched
from trusses.revisions import add_mark

SAYS = "The row on W1 of K1-3 has nothing to run to: reinforce that web singly, or keep the row. In K1-2, W1 is gone."


@pytest.fixture
def king_post(king_post):
    king_post["lateral_restraint"]["webs"] = {"W1": 1}
    king_post["loads"]["point"] = [{"case": "wind", "joint": "D", "down_lb": -400, "pattern": "up"}]
    return king_post


@pytest.fixture
def drawn(truss, designer, answered):
    """A request whose second option has no web; the last of three copies is cut and keeps it."""
    stand = Placement.objects.create(
        truss=truss, level="Roof", origin_x_in=0, origin_y_in=0, direction="x", spacing_in=24, count=3
    )
    truss.copies.update(placement=stand)
    truss.copies.filter(number=3).update(stage="cut", built_to=truss.current)
    change = answered()
    document = without_web(truss.current.document, change.asks.get().opening, bottom=STIFF_ENOUGH)
    document["lateral_restraint"] = {"top_chord_in": 24, "bottom_chord_in": 48}
    option = workflow.draw_option(designer, change, ask=change.asks.get(), document=document, title="No web")
    compute(change)
    option.refresh_from_db()
    return option


def page(client, option):
    where = reverse("changes:request", args=(option.request_id,))
    return client.get(f"{where}?option={option.pk}").content.decode()


def test_the_page_counts_who_is_touched_and_says_what_to_do(drawn, client_of, builder, designer):
    for person in (builder, designer):
        told = page(client_of(person), drawn)
        assert SAYS in told
        assert "1 truss that keeps its design is touched" in told
        assert ("common practice" in told) is (person == designer)


def test_an_option_that_keeps_the_row_touches_nobody(drawn, client_of, designer):
    kept = drawn.request.options.exclude(pk=drawn.pk).get()
    assert "Rows of restraint beside it" not in page(client_of(designer), kept)


def test_rows_a_hold_a_decision_and_copies_take_no_more_questions_than_any_page(drawn, client_of, designer):
    """Of the option that breaks a row as of the one that keeps it."""
    change, client = drawn.request, client_of(designer)
    workflow.decide(designer, change, verdict="send back", reason="Where does it start?")
    where = reverse("changes:request", args=(change.pk,))
    kept = change.options.exclude(pk=drawn.pk).get()
    assert "Where does it start?" in client.get(where).content.decode()
    assert SAYS in page(client, drawn)
    assert asked(client, f"{where}?option={kept.pk}") <= 16
    assert asked(client, f"{where}?option={drawn.pk}") <= 16


def test_programs_read_the_same(drawn, api_of, builder):
    told = api_of(builder).get(f"{API}/options/{drawn.pk}/figures/").json()["rows"]
    assert told["touched"] == ["K1-3"]
    (cut,) = told["cut"]
    assert cut["says"].startswith(SAYS)
    assert (cut["web"], cut["trusses"], told["lonely"]) == ("W1", ["K1-3"], [])
    assert cut["row_lb"] == pytest.approx(0.02 * cut["compression_lb"])


def test_once_a_newer_revision_is_current_nothing_is_said(drawn, designer, client_of, answered):
    workflow.decide(
        designer, drawn.request, verdict="approve", options={drawn.asks.get().pk: drawn.pk}, reason="Clear it"
    )
    assert "Rows of restraint beside it" not in page(client_of(designer), drawn)
    assert FITS["id"] in {opening["id"] for opening in drawn.document["openings"]}


BESIDE_WEB = {**FITS, "centre_in": [112.75, 30]}
"""Half an inch clear of W1's left edge, its clearance counted, where the row is: a 2x4 there takes 1 1/2 in."""
ONE_EDGE = "Row on W1: on its right edge only; on the left one opening O1 is in the way."


def test_an_opening_where_the_row_goes_is_said_before_it_is_decided(truss, answered, client_of, builder, designer):
    change = answered(BESIDE_WEB)
    assert change.asks.get().verdict == "fits"
    for person in (builder, designer):
        told = client_of(person).get(reverse("changes:request", args=(change.pk,))).content.decode()
        said = " ".join(told.replace("\N{NO-BREAK SPACE}", " ").replace("\N{WORD JOINER}", "").split())
        # the answer, and for who decides beside what is decided
        assert said.count(ONE_EDGE) == (2 if person == designer else 1)
        assert "Clear of wood is clear of the members alone." in said


def test_an_opening_away_from_the_row_needs_no_word(truss, answered, client_of, designer):
    change = answered(FITS)
    told = client_of(designer).get(reverse("changes:request", args=(change.pk,))).content.decode()
    assert "Clear of wood is clear of the members alone." not in told


@pytest.mark.parametrize("turned", [False, True])
@pytest.mark.parametrize(("joint", "to_in"), [("A", 8), ("C", 232)])
def test_a_bearing_that_moves_under_wood_that_stays_cuts_off_no_row(ask, row, designer, turned, joint, to_in):
    """At whichever end, K1-1 and 2 are asked about and the others are cut; nor does it once it is decided."""
    row.placements.update(turned=turned)
    row.copies.filter(number__gte=3).update(stage="cut", built_to=row.current, released_to=row.current)
    change = ask("bearing", {"change": "moved", "joint": joint, "to_in": to_in}, copies=[1, 2])
    one = answer_of(change)
    option = one.options.filter(passes=True).first()
    mark = Truss.objects.select_related("job", "current").get(pk=row.pk)
    assert "W1" in option.document["lateral_restraint"]["webs"]
    assert not touched(mark, option.document, option.analysis).cut
    approve(designer, change, {one.pk: option.pk}, reason="It moved")
    [beside] = row.variants.all()
    assert "through" in notes(row, row.current)[0]
    assert notes(beside, beside.current)[0].startswith("W1: the row runs through K1-3 to K1-5 and K1-b-1 to K1-b-2, 5")


def test_nor_is_one_cut_off_from_copies_that_are_built_to_the_revision_before(ask, row, designer):
    change = ask("bearing", {"change": "moved", "joint": "A", "to_in": 8})
    one, first = answer_of(change), row.current
    approve(designer, change, {one.pk: one.options.filter(passes=True).first().pk}, reason="It moved")
    row.copies.filter(number__gte=3).update(stage="cut", built_to=first, released_to=first)
    row.refresh_from_db()
    assert row.current.number == 1
    assert notes(row, row.current) == ["W1: the row runs through K1-1 to K1-5, 5 trusses."]


@pytest.fixture
def two_marks(truss, job, designer, king_post):
    """Three copies of K1 and then three of K2, 24 in. apart, whose webs one row holds."""
    other = add_mark(job, {**king_post, "mark": "K2"}, 3, designer)
    for i, one in enumerate((truss, other)):
        row = Placement.objects.create(truss=one, origin_x_in=0, origin_y_in=72 * i, spacing_in=24, count=3)
        one.copies.update(placement=row)
    return truss, other


SHARED = "The row on W1 through K1-1 to K1-3 and K2-1 to K2-3 runs on the right edge in all of them: on the left one"


def test_while_it_is_placed_an_opening_is_told_of_the_rows_that_other_trusses_share(two_marks, api_of, builder):
    first, _ = two_marks
    ask = lambda opening: api_of(builder).post(  # noqa: E731
        f"{API}/fit/", {"truss": first.pk, "opening": opening}, format="json"
    )
    told = ask(BESIDE_WEB).json()
    assert (told["fits"], f"{SHARED} opening O1 of K1-1 to K1-3 are in the way." in told["beside"]) == (True, True)
    assert ask(FITS).json()["beside"] == ""


@pytest.mark.usefixtures("two_marks")
@pytest.mark.parametrize("turned", [False, True])
def test_while_it_is_drawn_a_run_is_told_of_the_rows_it_takes_an_edge_from(api_of, builder, job, turned):
    """Through K1 alone: what it takes there K2 has to go by too. Of trusses that stand turned left is the drawing's."""
    at_in = 112.75
    if turned:
        Placement.objects.update(turned=True)
        at_in = 240 - at_in
    run = {**PATH, "points_in": [[at_in, -10], [at_in, 60]], "height_in": 32.75}
    told = api_of(builder).post(f"{API}/run/", {"job": job.pk, "run": run}, format="json").json()
    assert [one["verdict"] for one in told["crossings"]] == ["fits"] * 3
    own, shared = told["rows"]
    assert own.startswith("K1-1–3: Row of restraint on W1: on its right edge only; on the left one this opening is")
    assert shared == f"{SHARED} opening of this run of K1-1 to K1-3 are in the way."
    clear = {**run, "points_in": [[at_in - 20, -10], [at_in - 20, 60]], "height_in": 22.75}
    assert api_of(builder).post(f"{API}/run/", {"job": job.pk, "run": clear}, format="json").json()["rows"] == []
