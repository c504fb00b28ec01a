"""The page of one mark, and ticking its copies on."""

from __future__ import annotations

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from tests.trusses.reading import HOSTILE, text
from trusses.models import Stage
from trusses.revisions import add_mark
from trusses.sealing import seals


class TestAMarksPage:
    def test_offers_a_change_to_the_builder_alone(self, client_of, cast, job, truss):
        pages = {
            who: text(client_of(cast[who]).get(f"/jobs/{job.pk}/trusses/{truss.pk}/"))
            for who in ("builder", "designer", "site lead")
        }
        assert {who for who, said in pages.items() if "Ask for a change" in said} == {"builder"}

    def test_tells_every_revision_and_what_was_built_to_which(self, client_of, builder, job, truss, second_revision):
        said = text(client_of(builder).get(f"/jobs/{job.pk}/trusses/{truss.pk}/"))
        assert said.index("Revision 1 current") < said.index("Revision 0 superseded")
        assert "Revision 1 is current for copy 3; copies 1–2 are built to revision 0, and nobody has said yet" in said

    def test_ends_the_time_for_changes_where_all_is_cut(self, client_of, builder, job, truss):
        truss.can_change_until = job.today()
        truss.save()
        pages = f"/jobs/{job.pk}/trusses/{truss.pk}/", f"/jobs/{job.pk}/"
        for ended, says in ((False, "Last day for changes: today"), (True, "All cut: changes ended")):
            if ended:
                truss.copies.update(stage=Stage.CUT, built_to=truss.current)
            for address in pages:
                said = text(client_of(builder).get(address))
                assert [one for one in ("Last day for changes", "All cut") if one in said] == [says.split(":")[0]]

    def test_more_copies_take_no_more_queries(self, client_of, designer, job, king_post):
        client, counts = client_of(designer), []
        for n in (1, 3, 30):
            mark = add_mark(job, {**king_post, "mark": f"K{n}"}, n, designer)
            with CaptureQueriesContext(connection) as queries:
                client.get(f"/jobs/{job.pk}/trusses/{mark.pk}/")
            counts.append(len(queries))
        assert counts[0] == counts[1] == counts[2] <= 27


class TestTicking:
    def tick(self, client, truss, **body):
        return client.post(f"/jobs/{truss.job_id}/trusses/{truss.pk}/copies/", body, follow=True)

    def test_delivered_with_what_was_found(self, client_of, site_lead, truss):
        truss.copies.update(stage=Stage.BUILT, built_to=truss.current)
        first = truss.copies.first()
        page = self.tick(client_of(site_lead), truss, to="delivered", copy=first.pk, found=HOSTILE)
        first.refresh_from_db()
        assert (first.stage, first.found_at_delivery) == ("delivered", HOSTILE)
        assert "1 copy is delivered now." in text(page)
        assert "<script>alert" not in page.content.decode()

    def test_twice_is_harmless(self, client_of, site_lead, truss):
        truss.copies.update(stage=Stage.BUILT, built_to=truss.current)
        first, client = truss.copies.first(), client_of(site_lead)
        self.tick(client, truss, to="delivered", copy=first.pk, found="a split")
        page = self.tick(client, truss, to="delivered", copy=first.pk, found="a split")
        first.refresh_from_db()
        assert (first.stage, first.found_at_delivery) == ("delivered", "a split")
        assert "They were delivered already." in text(page)

    def test_another_word_of_what_was_delivered_before_is_brought_back(self, client_of, site_lead, truss):
        truss.copies.update(stage=Stage.BUILT, built_to=truss.current)
        first, client = truss.copies.first(), client_of(site_lead)
        self.tick(client, truss, to="delivered", copy=first.pk, found="a split")
        page = self.tick(client, truss, to="delivered", copy=first.pk, found="another word")
        first.refresh_from_db()
        assert first.found_at_delivery == "a split"
        assert "Copy 1 was delivered already, by another hand" in text(page)
        assert "another word" in text(page)

    @pytest.mark.parametrize(
        ("body", "says"),
        [
            ({"to": "delivered", "copy": "first"}, "Choose copies from the list."),
            ({"to": "delivered"}, "Choose at least one copy."),
            ({"to": "sold", "copy": "1"}, "Say to which stage the copies go"),
            (
                {"to": "delivered", "all": "designing", "found": "rain-soaked"},
                "is designing, not built yet, so it can't be delivered",
            ),
        ],
    )
    def test_that_makes_no_sense_changes_nothing(self, client_of, site_lead, truss, body, says):
        page = self.tick(client_of(site_lead), truss, **body)
        assert page.status_code == 422
        assert 'id="troubles" role="alert" tabindex="-1" autofocus' in page.content.decode()
        assert says in text(page)
        assert set(truss.copies.values_list("stage", flat=True)) == {"designing"}

    def test_keeps_a_text_that_is_too_long(self, client_of, site_lead, truss):
        truss.copies.update(stage=Stage.BUILT, built_to=truss.current)
        page = self.tick(client_of(site_lead), truss, to="delivered", all="built", found="x" * 501)
        assert "can have 500 characters; this has 501" in text(page)
        assert "x" * 501 in page.content.decode()

    def test_a_cut_is_to_the_revision_on_the_page(self, client_of, designer, truss, second_revision):
        truss.copies.update(stage=Stage.RELEASED, released_to=second_revision, built_to=None)
        old = truss.revisions.get(number=0)
        page = self.tick(client_of(designer), truss, to="cut", all="released", seen=old.pk)
        assert "newer revision than the one on your page" in text(page)
        assert set(truss.copies.values_list("stage", flat=True)) == {"released"}
        chosen = truss.copies.values_list("pk", flat=True)
        asked = self.tick(client_of(designer), truss, to="cut", copy=chosen, seen=second_revision.pk)
        assert "Are copies 1–3 of K1 cut?" in text(asked)
        assert set(truss.copies.values_list("stage", flat=True)) == {"released"}
        self.tick(client_of(designer), truss, to="cut", copy=chosen, seen=second_revision.pk, sure="yes")
        assert set(truss.copies.values_list("stage", "built_to")) == {("cut", second_revision.pk)}


def test_copies_at_two_stages_are_not_released_unasked(client_of, designer, truss, second_revision):
    """One released to the revision before, the others in design: each is asked about, so not both at once."""
    first, *others = truss.copies.order_by("number").values_list("pk", flat=True)
    truss.copies.filter(pk=first).update(stage=Stage.RELEASED, released_to=truss.revisions.get(number=0))
    chosen = {"to": "released", "copy": [first, *others]}
    said = text(client_of(designer).post(f"/jobs/{truss.job_id}/trusses/{truss.pk}/copies/", chosen))
    assert "Some of these copies are released to an earlier revision" in said
    assert not truss.copies.filter(released_to=second_revision).exists()


def test_one_copy_by_itself_is_one_button(client_of, designer, truss):
    """Nothing to tick where there is nothing to choose; of the others it is chosen."""
    truss.copies.update(stage=Stage.RELEASED, released_to=truss.current)
    truss.copies.filter(number=2).update(stage=Stage.CUT, built_to=truss.current)
    seals.say_what_is_asked(designer, truss.job, review=False, acceptance=False, without="warns")
    page = client_of(designer).get(f"/jobs/{truss.job_id}/trusses/{truss.pk}/")
    assert "Copy 2: built" in text(page)
    assert "Record copy 2" not in text(page)
    assert "Record: the chosen ones are cut" in text(page)
    asked = {"to": "cut", "all": "released", "seen": truss.current.pk}
    truss.copies.exclude(number=1).update(stage=Stage.CUT, built_to=truss.current)
    asked = client_of(designer).post(f"/jobs/{truss.job_id}/trusses/{truss.pk}/copies/", asked)
    assert "Is copy 1 of K1 cut?" in text(asked)


def test_who_says_the_next_stage_is_told_to_whoever_does_not(client_of, builder, truss):
    said = text(client_of(builder).get(f"/jobs/{truss.job_id}/trusses/{truss.pk}/"))
    assert "Copies 1–3: once they are released, the designer says so here." in said
