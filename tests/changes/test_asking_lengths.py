"""What the asking form measures, asks back and refuses to offer."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.urls import reverse

from changes.pages.datum import Datum, Size
from changes.pages.forms import FilingForm, OpeningForm
from tests.changes.reading import text
from trusses.analysis.format.document import read
from trusses.analysis.format.lengths import UnclearError, parse_length
from trusses.demo_set import marks
from trusses.drawing.measures import reach, rise
from trusses.drawing.outline import outlines
from trusses.drawing.shape import gap, shape
from trusses.models import Copy


@pytest.mark.parametrize("mark", ["R1", "R6", "R9", "F1"])
@pytest.mark.parametrize("form", ["circle", "rectangle"])
def test_the_fields_say_what_the_drawing_measures(mark, form):
    """From either wall, of either shape, over a level chord and a sloping one."""
    document = next(one.document for one in marks() if one.mark == mark)
    datum, drawn = Datum(document), shape(document)
    sizes = {"diameter_in": 8} if form == "circle" else {"width_in": 14, "height_in": 6}
    xs = [x for x, _ in document["joints"].values()]
    for share in (0.3, 0.45, 0.6):
        x = min(xs) + share * (max(xs) - min(xs))
        opening = {"id": "O1", "shape": form, **sizes, "centre_in": [x, datum.low(x) + 9], "clearance_in": 1}
        for face in datum.faces:
            along, up = datum.marks(face, (x, datum.low(x) + 9), Size.of(opening))
            asked = gap(opening, asked=True, face=(face.joint, face.way))
            measured, over = reach(drawn, asked), rise(drawn, outlines(drawn), asked)
            assert measured is not None
            assert over is not None
            assert (along, up) == pytest.approx((measured.distance, over.distance), abs=1e-6)
            assert datum.centre(face, (along, up), Size.of(opening)) == pytest.approx(opening["centre_in"], abs=1e-3)


@pytest.mark.parametrize(
    ("typed", "readings"), [("12", ("12'", '12"')), ("2.5", ("2.5'", '2.5"')), ("-3", ("-3'", '-3"'))]
)
def test_a_bare_number_is_asked_about_where_both_are_possible(typed, readings):
    with pytest.raises(UnclearError) as asked:
        parse_length(typed, negative=True, feet_to_in=36 * 12)
    assert asked.value.values["readings"] == list(readings)
    assert f"{typed} could be" in str(asked.value)


@pytest.mark.parametrize(("typed", "inches"), [("147.5", 147.5), ("0", 0), ("12-3", 147), ('12"', 12), ("12'", 144)])
def test_what_can_be_meant_in_one_way_is_taken(typed, inches):
    assert parse_length(typed, feet_to_in=36 * 12) == inches


def test_sizes_come_back_in_inches(king_post):
    body = {
        "shape": "circle",
        "diameter": "14 in.",
        "along": "8' 2\"",
        "up": "1' 5\"",
        "clearance": "1/2",
        "insulation": "0",
    }
    form = OpeningForm(body, design=read(king_post))
    assert form.is_valid(), form.errors
    assert form.understood == {
        "diameter": '14"',
        "insulation": '0"',
        "clearance": '1/2"',
        "along": "8'-2\"",
        "up": "1'-5\"",
    }
    assert form.opening()["note"] == '14" round'


def test_the_day_has_a_default_no_later_than_the_last_for_changes(job):
    today = job.today()
    day = lambda **more: FilingForm(today=today, **more).fields["needed_by"].initial  # noqa: E731
    assert day() == today + timedelta(days=7)
    assert day(last_day=today + timedelta(days=3)) == today + timedelta(days=3)


def test_a_day_after_the_last_for_changes_is_told_beside_the_field(job, client_of, builder, truss):
    """The form knows the day and the sentence, which a script shows once a later day is chosen; damage has none."""
    truss.can_change_until = job.today() + timedelta(days=3)
    truss.save()
    page = text(client_of(builder).get(reverse("changes:ask", args=[job.pk, truss.pk])))
    assert "The last day for changes is " in page
    form = FilingForm(today=job.today(), last_day=truss.can_change_until)
    attrs = form["needed_by"].field.widget.attrs
    assert attrs["data-last"] == truss.can_change_until.isoformat()
    assert attrs["data-late"] == "That is after the last day for changes: it may be cut by then."
    form.asks_what_happened()
    assert "data-last" not in form["needed_by"].field.widget.attrs
    assert "last day" not in form.fields["needed_by"].help_text
    over = FilingForm(today=job.today(), last_day=job.today() - timedelta(days=1))
    assert "data-last" not in over["needed_by"].field.widget.attrs


class TestPastChange:
    def cut_all(self, truss):
        Copy.objects.filter(truss=truss).update(stage="cut", built_to=truss.current)

    def test_a_mark_that_is_all_cut_offers_no_form_and_says_whom_to_ask(self, client_of, builder, designer, truss):
        client = client_of(builder)
        ask = reverse("changes:ask", args=[truss.job_id, truss.pk])
        mark = reverse("trusses:mark", args=[truss.job_id, truss.pk])
        needs = reverse("changes:needs-of-mark", args=[truss.job_id, truss.pk])
        assert needs in client.get(mark).content.decode()
        self.cut_all(truss)
        page = client.get(mark)
        assert ask not in page.content.decode()
        for answer in (page, client.get(ask)):
            said = " ".join(text(answer).split())
            assert "All 3 copies of K1 are cut already." in said
            assert f"Ask {designer.get_full_name() or designer.username}, the truss designer of this job" in said
            assert "Send the request" not in said

    def test_so_does_one_whose_last_day_is_past(self, client_of, builder, truss):
        truss.can_change_until = truss.job.today() - timedelta(days=1)
        truss.save()
        answer = client_of(builder).get(reverse("changes:ask", args=[truss.job_id, truss.pk]))
        assert "The last day for changes to K1 was" in text(answer)
        assert '<form method="post" class' not in answer.content.decode()
