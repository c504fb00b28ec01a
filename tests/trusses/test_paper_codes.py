"""What the code on a printed sheet opens for whoever holds the paper, and nothing besides."""

from __future__ import annotations

import re

import pytest
from django.core.cache import cache
from django.db import IntegrityError, transaction
from django.urls import reverse

from trusses import paper_codes
from trusses.copies import earlier, old_ones
from trusses.models import PaperCode
from trusses.refusals import Refused
from trusses.revisions import add_mark, issue_revision, read_and_analyse

pytestmark = pytest.mark.django_db


@pytest.fixture
def code(truss):
    cache.clear()
    return paper_codes.counting(truss.current)


def opened(client, token):
    return client.get(reverse("trusses:paper", args=[token]))


def place(code):
    return [code.revision.truss.job_id, code.revision.truss_id, code.revision.number]


def said(answer) -> str:
    body = re.sub(r"<head>.*?</head>", "", answer.content.decode(), flags=re.S)
    return " ".join(re.sub(r"<[^>]+>", " ", body).split())


class TestWithoutAnAccount:
    def test_the_current_paper_is_told_with_mark_revision_and_copies(self, client, truss, code):
        answer = opened(client, code.token)
        assert answer.status_code == 200
        told = said(answer)
        assert told.startswith("CURRENT Revision 0 of K1 is the current one.")
        assert "This paper is for copies 1–3" in told
        assert "not that one may build by it" in told

    def test_nothing_else_is_told(self, client, truss, code, designer, builder):
        """No job, place, name, title, drawing or way further in; no cookie."""
        answer = opened(client, code.token)
        page = answer.content.decode()
        for secret in (truss.job.name, builder.username, designer.username, truss.current.document["title"]):
            assert secret
            assert secret not in page
        assert re.findall(r'href="(?!/static/)([^"]*)"', page) == []
        assert "<svg" not in page
        assert "<script" not in page
        assert not answer.cookies
        assert answer["X-Robots-Tag"] == "noindex, nofollow"
        assert answer["Referrer-Policy"] == "no-referrer"
        assert "no-store" in answer["Cache-Control"]

    def test_a_superseded_paper_is_dead_by_which_revision(self, client, truss, code, designer, king_post):
        truss.copies.filter(number=1).update(stage="cut", built_to=truss.current)
        issue_revision(truss, truss.current, *read_and_analyse({**king_post, "title": "Next"}), designer)
        told = said(opened(client, code.token))
        assert told.startswith("DEAD Revision 0 of K1 was superseded by revision 1. Take it down.")
        assert "Built by this paper already copy 1" in told
        truss.refresh_from_db()
        now = said(opened(client, paper_codes.counting(truss.current).token))
        assert now.startswith("CURRENT Revision 1")
        assert "This paper is for copies 2–3" in now
        assert "Built to revision 0, and not by this paper copy 1" in now

    def test_an_old_truss_that_is_made_anew_is_told_of_until_it_is_gone(
        self, client, truss, code, designer, site_lead, king_post
    ):
        truss.copies.filter(number__lte=2).update(stage="built", built_to=truss.current)
        issue_revision(truss, truss.current, *read_and_analyse({**king_post, "title": "Next"}), designer)
        truss.refresh_from_db()
        earlier.say(designer, truss, (2,), earlier.ANEW, "Bent by the crane")
        says = "Made anew: don’t use the old truss, built to revision 0, of copy 2"
        now = paper_codes.counting(truss.current).token
        for token in (code.token, now):
            told = said(opened(client, token))
            assert says in told
            assert "Bent by the crane" not in told
        (old,) = old_ones.there(truss)
        old_ones.say_gone(site_lead, truss, old.event.pk, [2], "Burnt")
        assert "old truss" not in said(opened(client, now))

    def test_a_withdrawn_mark_is_dead(self, client, client_of, designer, truss, code):
        type(truss).objects.filter(pk=truss.pk).update(withdrawn_at="2026-01-01T00:00Z")
        assert said(opened(client, code.token)).startswith(
            "DEAD K1 is withdrawn: it is out of the set. Take this down."
        )
        sheet = client_of(designer).get(reverse("trusses:sheet", args=place(code)))
        assert re.search(r'first-line">\s*DEAD', sheet.content.decode())

    def test_copies_that_became_another_mark_s_are_named(self, client, truss, code, designer, king_post):
        other = add_mark(truss.job, {**king_post, "mark": "K1-b"}, 1, designer)
        type(truss).objects.filter(pk=other.pk).update(variant_of=truss)
        other.copies.update(number=2)
        truss.copies.filter(number=2).delete()
        told = said(opened(client, code.token))
        assert "This paper is for copies 1, 3" in told
        assert "Of K1-b now, and not by this paper copy 2" in told

    @pytest.mark.parametrize(
        ("what", "says"),
        [("", "before a designer says"), ("waits", "before a designer says"), ("stays", "stays by it")],
    )
    def test_what_is_to_be_done_with_built_copies_stands_there_too(
        self, client, truss, code, designer, king_post, what, says
    ):
        truss.copies.filter(number=1).update(stage="cut", built_to=truss.current)
        issue_revision(truss, truss.current, *read_and_analyse({**king_post, "title": "Next"}), designer)
        truss.refresh_from_db()
        truss.copies.filter(number=1).update(earlier=what, earlier_for=truss.current if what else None)
        assert says in said(opened(client, code.token))

    def test_what_no_paper_has_is_not_to_be_built_from(self, client, code):
        wrong = ("0" if code.token[0] != "0" else "1") + code.token[1:]
        for token in (wrong, "x", "%F0%9F%A6%86", "'--", "a" * 400):
            answer = client.get(f"/paper/{token}/")
            assert answer.status_code == 404
            assert "Don’t build from it" in answer.content.decode()

    def test_it_is_typed_as_people_read_it(self, client, code):
        typed = paper_codes.spelled(code.token).lower().replace("0", "o").replace("1", "l")
        answer = client.get(reverse("trusses:paper-typed"), {"code": f" {typed} "}, follow=True)
        assert answer.redirect_chain == [(reverse("trusses:paper", args=[code.token]), 302)]
        assert said(answer).startswith("CURRENT")
        half = client.get(reverse("trusses:paper-typed"), {"code": typed[:9]})
        assert half.status_code == 422
        assert f'value="{typed[:9]}"' in half.content.decode()

    def test_one_address_can_not_try_without_end(self, client, code, settings, monkeypatch):
        from trusses.sheets.code_page import Looks

        monkeypatch.setattr(Looks, "rate", "3/min", raising=False)
        answers = [opened(client, code.token).status_code for _ in range(4)]
        assert answers == [200, 200, 200, 429]
        cache.clear()


class TestEnding:
    def test_a_designer_ends_it_with_a_reason_and_the_next_print_has_another(self, client_of, client, code, designer):
        address = reverse("trusses:paper-code", args=place(code))
        lacks = client_of(designer).post(address, {"token": code.token, "reason": " "})
        assert lacks.status_code == 422
        done = client_of(designer).post(address, {"token": code.token, "reason": "A set was lost"}, follow=True)
        assert "is withdrawn" in done.content.decode()
        assert opened(client, code.token).status_code == 410
        following = paper_codes.counting(code.revision)
        assert following.token != code.token
        assert opened(client, following.token).status_code == 200
        sheet = client_of(designer).get(reverse("trusses:sheet", args=place(code)))
        assert following.token in sheet.content.decode()
        assert code.token not in sheet.content.decode()

    def test_two_at_once_end_one_code_and_lose_no_word(self, client_of, code, designer):
        paper_codes.end(designer, code.revision, code.token, "First")
        address = reverse("trusses:paper-code", args=place(code))
        late = client_of(designer).post(address, {"token": code.token, "reason": "Second thought"})
        assert late.status_code == 409
        assert "withdrawn meanwhile" in late.content.decode()
        assert paper_codes.counting(code.revision).token in late.content.decode()  # sent again it ends the next
        assert "Second thought" in late.content.decode()
        assert PaperCode.objects.count() == 2

    @pytest.mark.parametrize("who", ["builder", "site lead"])
    def test_nobody_else_ends_it(self, client_of, cast, code, who):
        address = reverse("trusses:paper-code", args=place(code))
        assert client_of(cast[who]).post(address, {"token": code.token, "reason": "x"}).status_code == 403
        assert PaperCode.objects.get().ended_at is None

    def test_a_revision_has_one_that_counts(self, code):
        with pytest.raises(IntegrityError), transaction.atomic():
            paper_codes.make(code.revision)

    def test_an_empty_reason_is_refused_below_the_page(self, code, designer):
        with pytest.raises(Refused) as refused:
            paper_codes.end(designer, code.revision, code.token, "  ")
        assert refused.value.code == "paper-code-reason"


def test_the_printed_address_is_the_one_that_people_outside_reach(client_of, site_lead, truss, code, settings):
    address = reverse("trusses:sheet", args=[truss.job_id, truss.pk, 0])
    assert f"http://testserver/paper/{code.token}/" in client_of(site_lead).get(address).content.decode()
    settings.PUBLIC_ADDRESS = "https://trusses.example"
    assert f"https://trusses.example/paper/{code.token}/" in client_of(site_lead).get(address).content.decode()


def test_eighty_bits():
    assert len(set(paper_codes.LETTERS)) == 32
    tokens = {paper_codes.new_token() for _ in range(50)}
    assert len(tokens) == 50
    assert all(paper_codes.read(paper_codes.spelled(token)) == token for token in tokens)
