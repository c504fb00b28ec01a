"""What an inspector finds under a copy that is built to an earlier revision: that one's drawing, its sealed PDF, and
the designer's word by which the copy stays; and old trusses and repairs, told with their mark."""

from __future__ import annotations

import html
import re
from datetime import timedelta

import pytest
from django.core.cache import cache
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from changes import workflow
from changes.inspection import links
from changes.models import InspectorLink
from tests.changes.asking import DAMAGE, FITS, attach, compute
from tests.sealed import SAID, drawing
from trusses.copies import earlier
from trusses.models import Copy, Stage, Truss
from trusses.revisions import add_mark, issue_revision, read_and_analyse
from trusses.sealing import recording

MONEY = "Costs $3,400 more"


def words(answer) -> str:
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", answer.content.decode())).split())


def revised(truss, designer, **more):
    document, analysis = read_and_analyse({**truss.current.document, **more})
    made = issue_revision(truss, truss.current, document, analysis, designer)
    truss.refresh_from_db()
    return made


def sealed(designer, revision, what):
    """(the drawing, its bytes)"""
    sent = drawing(what)
    content = sent.getvalue()
    said = {**SAID, "sealed_on": revision.truss.job.today(), "covers": ("plates", "restraint")}
    return recording.attach(designer, revision, sent, len(content), **said), content


@pytest.fixture
def handed(job, truss, builder):
    cache.clear()
    return links.hand_out(builder, job, for_whom="Plans examiner", days=30)


@pytest.fixture
def old(judged_here, truss, designer, builder):
    """K1 with five copies: 1 and 2 stay by revision 0, nobody said what of 3; 4 and 5 aren't cut. Revision 0 is sealed,
    reviewed and accepted. (revision 0, its drawing, the PDF)"""
    for number in (4, 5):
        Copy.objects.create(truss=truss, number=number)
    first = truss.current
    truss.copies.filter(number__lte=3).update(stage=Stage.BUILT, built_to=first)
    was, content = sealed(designer, first, "revision 0")
    for kind in ("reviewed", "accepted"):
        recording.record(builder, was, kind, name=f"Who {kind} it", on=truss.job.today())
    revised(truss, designer, openings=[{**FITS, "id": "O9"}], title="Another title")
    earlier.say(designer, truss, (1, 2), "stays", "No <b>duct</b> in that bay")
    return first, was, content


class TestFromTheLink:
    def test_the_first_page_tells_by_which_revision_each_copy_is(self, handed, client, old, truss, designer):
        answer = client.get(reverse("changes:inspect", args=[handed[1]]))
        told = words(answer)
        assert "Copies 4–5 by revision 1, the current one. no sealed drawing of K1 revision 1 is attached" in told
        assert "Save the PDF of K1 revision 0, copies 1–3" in told
        assert "K1 revision 0 , superseded for every other copy Copies 1–2 stay by it: “ No <b>duct</b> in" in told
        assert f"{designer.username} , " in told
        assert "Copy 3 is built to it, and nobody has said yet what is to be done with it: not to be set" in told
        assert "<b>duct" not in answer.content.decode()

    def test_the_current_sealed_drawing_comes_before_any_other(self, handed, client, old, truss, designer):
        now, _ = sealed(designer, truss.current, "revision 1")
        first = client.get(reverse("changes:inspect", args=[handed[1]])).content.decode()
        named = re.findall(r'href="[^"]+/seals/(\d+)\.pdf">([^<]+)<', first)
        assert named == [
            (str(now.pk), "Save the PDF of K1 revision 1, copies 4–5"),
            (str(old[1].pk), "Save the PDF of K1 revision 0, copies 1–3"),
        ]

    def test_walked_to_the_old_drawing_and_its_pdf(self, handed, client, old):
        """By the addresses that stand on the pages, all of them below the link's own."""
        top = reverse("changes:inspect", args=[handed[1]])
        first = client.get(top).content.decode()
        (page,) = re.findall(rf'href="({top}marks/\d+/revisions/0/)"', first)
        answer = client.get(page)
        told, body = words(answer), answer.content.decode()
        assert "K1 revision 0 superseded" in told
        assert "Superseded by revision 1. It counts for copies 1–2 alone." in told
        assert "For every other copy see K1 revision 1" in told
        assert "Reviewed by the building designer: Who reviewed it" in told
        assert "Accepted by the building department: Who accepted it" in told
        assert "What revision 1 changed, and copies 1–3 don’t have Opening O9 is new: " in told
        assert "Another title" not in told, "the drawing is revision 0's"
        assert "O9" not in "".join(re.findall(r"<svg.*?</svg>", body, re.DOTALL))
        assert old[0].sha256 in told
        assert "superseded" in html.unescape(re.search(r'media="print" href="([^"]+)"', body)[1]), "on paper too"
        (at,) = re.findall(r'href="([^"]+\.pdf)"', body)
        assert at.startswith(top)
        pdf = client.get(at)
        assert b"".join(pdf) == old[2]
        assert pdf["Content-Disposition"].endswith('filename="K1-revision-0-sealed.pdf"')
        links_there = re.findall(r'<a [^>]*href="([^"]+)"', body)
        assert [one for one in links_there if not one.startswith((top, "#"))] == []

    def test_no_page_of_it_leads_out_of_the_link(self, handed, client, old, truss, designer):
        earlier.say(designer, truss, (3,), earlier.ANEW, "It is too short")
        top = reverse("changes:inspect", args=[handed[1]])
        for page in ("", f"marks/{truss.pk}/", f"marks/{truss.pk}/revisions/0/"):
            answer = client.get(f"{top}{page}")
            there = re.findall(r'<a [^>]*href="([^"]+)"', answer.content.decode())
            assert [one for one in there if not one.startswith((top, "#"))] == [], page
            assert "Don’t use the old truss of copy 3, built to revision 0 It is made anew: “ It is too short" in words(
                answer
            )

    def test_the_current_ones_page_leads_there(self, handed, client, old, truss):
        answer = client.get(reverse("changes:inspect-mark", args=[handed[1], truss.pk]))
        told = words(answer)
        assert "K1 revision 1" in told
        assert "Copies 4–5 by revision 1, the current one." in told
        assert "The sealed drawing of revision 1: no sealed drawing of K1 revision 1 is attached" in told
        assert reverse("changes:inspect-revision", args=[handed[1], truss.pk, 0]) in answer.content.decode()

    def test_what_waits_and_what_is_set_is_told_so(self, handed, client, old, truss, designer):
        earlier.say(designer, truss, (1, 2), "waits", "The crane")
        truss.copies.filter(number=3).update(stage=Stage.SET)
        told = words(client.get(reverse("changes:inspect-revision", args=[handed[1], truss.pk, 0])))
        assert "Superseded by revision 1. No copy is said to stay by it." in told
        assert "copies 1–2 built to revision 0, superseded copy 3 set, built to revision 0, superseded" in told
        assert "Copies 1–2 are built to it, and wait: not to be set : “ The crane ”" in told
        assert "nobody has said yet what is to be done with it For what is current see" in told.replace("  ", " ")

    def test_the_next_revision_asks_anew_and_is_what_differs(self, handed, client, old, truss, designer):
        revised(truss, designer, lateral_restraint={"top_chord_in": 24, "bottom_chord_in": 24})
        told = words(client.get(reverse("changes:inspect-revision", args=[handed[1], truss.pk, 0])))
        assert "Superseded by revision 2. No copy is said to stay by it. Copies 1–3 are built to it, and" in told
        assert "What revision 2 changed, and copies 1–3 don’t have" in told
        assert "The lateral restraint to install is different; see the list of revision 2." in told
        assert client.get(reverse("changes:inspect-revision", args=[handed[1], truss.pk, 1])).status_code == 404

    def test_damage_and_repair_are_told_with_the_revision_that_the_copy_is_of(
        self, handed, client, old, truss, site_lead, designer
    ):
        asks = [{"truss": truss, "kind": "damage", "copies": [2], "damage": DAMAGE}]
        filed = {"reason": "A plumber's saw.", "needed_by": truss.job.today(), "asks": asks}
        change = compute(workflow.file(site_lead, truss.job, **filed))
        where = [reverse("changes:inspect-revision", args=[handed[1], truss.pk, 0])]
        where.append(reverse("changes:inspect", args=[handed[1]]))
        for page in where:
            assert "Copy 2: damaged, keep off." in words(client.get(page))
        repair = attach(designer, change)
        workflow.decide(designer, change, verdict="approve", reason="As drawn", ends_by="repair")
        for kind, who in (("reviewed", designer), ("accepted", designer), ("carried out", designer)):
            name = "" if kind == "carried out" else "An invented name"
            recording.record(who, repair, kind, name=name, on=truss.job.today())
        for page in where:
            answer = client.get(page)
            assert "Copy 2 was damaged and repaired , by the repair drawing sealed by An invented engineer" in words(
                answer
            )
            assert "keep off" not in words(answer)
            done = f"Repair carried out as drawn: {designer.username} , "
            assert (done in words(answer)) == (page == where[1]), "in the list of repairs"
            at = reverse("changes:inspect-seal", args=[handed[1], repair.pk])
            assert at in answer.content.decode()
            assert client.get(at).status_code == 200

    def test_no_money_of_a_request_stands_there(self, handed, client, old, truss, builder, designer):
        asks = [{"truss": truss, "kind": "question", "question": {"says": MONEY}}]
        filed = {"reason": "A question", "needed_by": truss.job.today(), "asks": asks}
        workflow.file(builder, truss.job, **filed)
        for name, more in (("inspect", ()), ("inspect-mark", (truss.pk,)), ("inspect-revision", (truss.pk, 0))):
            answer = client.get(reverse(f"changes:{name}", args=[handed[1], *more]))
            assert answer.status_code == 200
            assert MONEY not in html.unescape(answer.content.decode())


class TestNotThere:
    def test_where_nobody_is_built_to_it(self, handed, client, truss, designer):
        revised(truss, designer, title="Better")
        where = reverse("changes:inspect-revision", args=[handed[1], truss.pk, 0])
        assert client.get(where).status_code == 404
        for page in (
            reverse("changes:inspect", args=[handed[1]]),
            reverse("changes:inspect-mark", args=[handed[1], truss.pk]),
        ):
            body = client.get(page).content.decode()
            assert "/revisions/" not in body
            assert "superseded" not in body

    def test_the_current_one_has_its_own_page(self, handed, client, old, truss):
        answer = client.get(reverse("changes:inspect-revision", args=[handed[1], truss.pk, 1]))
        assert (answer.status_code, answer["Location"]) == (
            302,
            reverse("changes:inspect-mark", args=[handed[1], truss.pk]),
        )
        assert client.get(reverse("changes:inspect-revision", args=[handed[1], truss.pk, 2])).status_code == 404
        assert client.get(f"/inspect/{handed[1]}/marks/{truss.pk}/revisions/{'9' * 30}/").status_code == 404

    def test_once_made_anew_it_opens_no_more(self, handed, client, old, truss, designer):
        earlier.say(designer, truss, (1, 2, 3), earlier.ANEW, "It is too short")
        for name, more in (("inspect-revision", (truss.pk, 0)), ("inspect-seal", (old[1].pk,))):
            assert client.get(reverse(f"changes:{name}", args=[handed[1], *more])).status_code == 404

    @pytest.mark.parametrize("how", ["expired", "ended", "unknown"])
    def test_by_a_link_that_is_none_any_more(self, handed, client, old, truss, builder, how):
        token = handed[1]
        if how == "ended":
            links.end(builder, handed[0])
        elif how == "expired":
            InspectorLink.objects.update(expires_at=timezone.now() - timedelta(seconds=1))
        else:
            token = "x" * 32
        for name, more in (("inspect-revision", (truss.pk, 0)), ("inspect-seal", (old[1].pk,))):
            answer = client.get(reverse(f"changes:{name}", args=[token, *more]))
            assert answer.status_code == (404 if how == "unknown" else 410)
            assert truss.job.name not in answer.content.decode()

    def test_by_the_link_of_another_job(self, client, old, truss, other_job):
        cache.clear()
        designer = other_job.job.memberships.get().user
        _, token = links.hand_out(designer, other_job.job, for_whom="Another", days=3)
        for name, more in (("inspect-revision", (truss.pk, 0)), ("inspect-seal", (old[1].pk,))):
            assert client.get(reverse(f"changes:{name}", args=[token, *more])).status_code == 404

    def test_of_a_mark_that_was_withdrawn(self, handed, client, old, truss):
        Truss.objects.filter(pk=truss.pk).update(withdrawn_at=timezone.now())
        for name, more in (("inspect-revision", (truss.pk, 0)), ("inspect-seal", (old[1].pk,))):
            assert client.get(reverse(f"changes:{name}", args=[handed[1], *more])).status_code == 404


def test_the_first_page_asks_as_often_for_marks_without_such_copies(
    handed, client, old, truss, job, designer, king_post
):
    """Marks without such copies cost nothing more."""
    where = reverse("changes:inspect", args=[handed[1]])
    client.get(where)
    counts = []
    for mark in ("K7", "K8"):
        with CaptureQueriesContext(connection) as queries:
            assert client.get(where).status_code == 200
        counts.append(len(queries))
        add_mark(job, {**king_post, "mark": mark}, 2, designer)
    assert counts[0] == counts[1]
