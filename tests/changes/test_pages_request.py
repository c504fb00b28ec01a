"""A request's page: what it offers in each state, and that a refused act keeps the words that came with it."""

from __future__ import annotations

import html
import re
from collections.abc import Callable
from typing import Any

import pytest

from changes import workflow
from changes.models import Decision, Request
from changes.pages import story
from tests.changes.asking import CUTS_CHORD, FITS, HITS_WEB, TOO_SOFT, approve, compute, first_options, without_web
from tests.changes.reading import shows, text, url

REDIRECT, FORBIDDEN = 302, 403


def without(opening: dict[str, Any], key: str) -> dict[str, Any]:
    return {name: value for name, value in opening.items() if name != key}


def one_tap(page: Any, verdict: str) -> dict[str, list[str]]:
    """What the form sends that issues an opening elsewhere, or asks whether it may stand there."""
    (section,) = re.findall(r'aria-label="Where it fits as the truss is">(.*?)</section>', page.content.decode(), re.S)
    (form,) = [one for one in section.split("<form")[1:] if f'value="{verdict}"' in one]
    sent: dict[str, list[str]] = {"verdict": [verdict]}
    for name, value in re.findall(r'name="([^"]+)" value="([^"]*)"', form):
        if name not in ("verdict", "csrfmiddlewaretoken"):
            sent.setdefault(name, []).append(html.unescape(value))
    return sent


class TestWhatIsOffered:
    @pytest.mark.parametrize(
        ("who", "offered"),
        [
            ("builder", {"Withdraw the request"}),
            ("designer", {"Issue this revision", "The saw waits for K1", "Forces before and after"}),
            ("site lead", set()),
        ],
    )
    def test_follows_the_role(self, client_of, cast, answered, who, offered):
        said = text(client_of(cast[who]).get(url("request", answered(HITS_WEB).pk)))
        everything = {"Withdraw the request", "Issue this revision", "The saw waits for K1", "Forces before and after"}
        assert {words for words in everything if words in said} == offered

    def test_forces_that_nothing_changes_are_folded(self, client_of, designer, answered):
        folded = "<summary>Forces before and after: alike in every member</summary>"
        assert folded in client_of(designer).get(url("request", answered(FITS).pk)).content.decode()
        page = client_of(designer).get(url("request", answered(HITS_WEB).pk)).content.decode()
        assert "Forces before and after" in page
        assert folded not in page

    @pytest.mark.parametrize(
        ("who", "folds"),
        [
            (
                "designer",
                [
                    "Ways to answer: ",
                    "Four answers: lumber passes; ",
                    "Forces before and after: ",
                    "What the walls carry; deflection, lumber",
                    "To look at: ",
                    "What happened, ",
                ],
            ),
            ("builder", ["Ways that work: ", "What they carry today and then", "What happened, "]),
        ],
    )
    def test_what_a_phone_folds_says_what_is_in_it_and_comes_after_the_drawings(
        self, client_of, cast, answered, who, folds
    ):
        page = client_of(cast[who]).get(url("request", answered(HITS_WEB).pk)).content.decode()
        said = re.findall(r'<details class="folds"><summary>(.*?)</summary>', page, re.DOTALL)
        assert [one[: len(fold)] for one, fold in zip(said, folds, strict=True)] == folds
        first = page[: page.index('<details class="folds">')]
        assert "Takes a redesign" in first
        assert first.count("<figcaption>") == 2, "the drawings before and after"

    def test_an_opening_of_which_no_clearance_was_said_is_told_without(self, client_of, designer, answered):
        """As a program may file it."""
        said = text(client_of(designer).get(url("request", answered(without(FITS, "clearance_in")).pk)))
        assert 'clear 8" round. ' in said

    def test_follows_the_state(self, client_of, designer, builder, answered):
        change = answered()
        workflow.withdraw(builder, change)
        said = text(client_of(designer).get(url("request", change.pk)))
        assert "Issue this revision" not in said
        assert "The saw waits for K1" not in said
        assert "waits for nothing" in said

    def test_what_cuts_a_chord_can_not_be_approved_but_declined(self, client_of, designer, answered):
        said = text(client_of(designer).get(url("request", answered(CUTS_CHORD).pk)))
        assert "Not possible here" in said
        assert "Issue this revision" not in said
        assert "Decline with the reason" in said

    def test_what_was_declined_reads_as_no_leave(self, client_of, designer, builder, answered):
        change = answered(HITS_WEB)
        workflow.decide(designer, change, verdict="decline", reason="Use the attic.")
        for who in (designer, builder):
            said = text(client_of(who).get(url("request", change.pk)))
            assert "Declined: nothing comes of this." in said
            assert "declined, nothing was issued" in said
            assert "a proposal, not a drawing" not in said

    def test_an_open_page_can_tell_that_it_is_of_before(self, client_of, designer, builder, outsider, answered):
        change = answered(HITS_WEB)
        page, at = client_of(builder).get(url("request", change.pk)), url("request-now", change.pk)
        assert f'data-now="{client_of(builder).get(at).json()["now"]}"' in page.content.decode()
        workflow.decide(designer, change, verdict="decline", reason="Use the attic.")
        now = client_of(builder).get(at).json()["now"]
        assert f'data-now="{now}"' not in page.content.decode()
        assert f'data-now="{now}"' in client_of(builder).get(url("request", change.pk)).content.decode()
        assert client_of(outsider).get(at).status_code == 404

    @pytest.mark.parametrize("asked", [HITS_WEB, CUTS_CHORD])
    def test_where_it_fits_elsewhere_is_one_tap(self, client_of, designer, builder, answered, asked, truss):
        change = answered(asked)
        there = next(option for option in change.options.all() if option.elsewhere)
        seen = text(client_of(builder).get(url("request", change.pk)))
        assert "Elsewhere it fits without another design" in seen
        assert there.says in seen
        assert "Issue it there" not in seen
        page = client_of(designer).get(url("request", change.pk))
        assert {"Issue it there", "Ask builder whether there will do"} <= set(
            re.findall(r">([^<]+)<", page.content.decode())
        )
        # looked at, it is what the drawing and the decision show
        looked = client_of(designer).get(url("request", change.pk), {"option": there.pk}).content.decode()
        assert f'name="option" value="{there.pk}"' in looked
        sent = one_tap(page, "approve")
        assert client_of(designer).post(url("decide", change.pk), sent).status_code == REDIRECT
        truss.refresh_from_db()
        assert truss.current.document["openings"][0]["centre_in"] == there.elsewhere[0]["centre_in"]
        said = text(client_of(builder).get(url("request", change.pk)))
        assert "the opening stands elsewhere than it was asked" in said

    def test_whether_elsewhere_will_do_is_asked_with_one_tap(self, client_of, designer, answered):
        change = answered(HITS_WEB)
        sent = one_tap(client_of(designer).get(url("request", change.pk)), "send back")
        assert client_of(designer).post(url("decide", change.pk), sent).status_code == REDIRECT
        change.refresh_from_db()
        assert change.state == "sent back"
        assert change.decisions.get().reason == (
            'K1 needs no other design if it stands elsewhere: opening O1 6 3/4" to the left. Will that place do?'
        )

    def test_what_was_sent_back_is_computed_again_by_its_answer_and_by_no_button_that_is_refused(
        self, client_of, cast, answered, designer
    ):
        first, change = answered(), answered(HITS_WEB)
        workflow.decide(designer, change, verdict="send back", reason="Which duct?")
        approve(designer, first)
        seen = {who: text(client_of(cast[who]).get(url("request", change.pk))) for who in ("builder", "designer")}
        assert {who: "Compute it again" in said for who, said in seen.items()} == {"builder": False, "designer": True}
        assert "once you answer, it is computed again from today's truss" in seen["builder"]

    def test_peoples_words_are_words(self, client_of, cast, answered, designer):
        change = answered(reason="<script>alert(1)</script>")
        workflow.decide(designer, change, verdict="send back", reason="<b onmouseover=alert(2)>why</b>")
        for who in ("builder", "designer", "site lead"):
            body = client_of(cast[who]).get(url("request", change.pk)).content.decode()
            assert "<script>alert" not in body
            assert "<b onmouseover" not in body
            assert "&lt;script&gt;alert(1)" in body


class TestWithdrawing:
    """One step before it happens says what it does, on a page that needs no script."""

    def test_asks_first_and_says_what_it_does(self, client_of, builder, answered):
        change, client = answered(HITS_WEB), client_of(builder)
        said = text(client.get(url("withdraw", change.pk)))
        assert "no longer waits for K1" in said
        assert "It can't come back" in said
        change.refresh_from_db()
        assert change.is_open
        assert client.post(url("withdraw", change.pk)).status_code == REDIRECT
        change.refresh_from_db()
        assert change.state == "withdrawn"

    def test_says_nothing_of_a_hold_that_was_refused(self, client_of, builder, designer, answered):
        change = answered(HITS_WEB)
        workflow.answer_hold(designer, change.holds.get(), acknowledge=False, says="It is cut today.")
        said = text(client_of(builder).get(url("withdraw", change.pk)))
        assert "Nobody decides it any more" in said
        assert "no longer waits" not in said

    @pytest.mark.parametrize("who", ["site lead"])
    def test_is_not_offered_to_who_may_not(self, client_of, cast, answered, who):
        assert client_of(cast[who]).get(url("withdraw", answered(HITS_WEB).pk)).status_code == REDIRECT

    def test_is_not_offered_of_what_is_over(self, client_of, builder, answered):
        change = answered(HITS_WEB)
        workflow.withdraw(builder, change)
        assert client_of(builder).get(url("withdraw", change.pk)).status_code == REDIRECT


class TestProgress:
    def test_polls_until_the_answer_is_there(self, client_of, builder, ask_for):
        change, client = ask_for(), client_of(builder)
        page = client.get(url("request", change.pk))
        assert 'hx-trigger="every 2s"' in page.content.decode()
        waiting = client.get(url("progress", change.pk))
        assert waiting.status_code == 200
        assert "In line for the computation" in text(waiting)
        assert "<html" not in waiting.content.decode()
        compute(change)
        done = client.get(url("progress", change.pk))
        assert (done.status_code, done.headers["HX-Refresh"]) == (286, "true")
        assert 'hx-trigger="every 2s"' not in client.get(url("request", change.pk)).content.decode()

    @pytest.mark.parametrize("late", ["changes.pages.story.sections", "changes.pages.story._asks"])
    def test_an_answer_that_comes_while_the_page_is_made_is_not_missed(
        self, client_of, builder, ask_for, monkeypatch, late
    ):
        """The page either tells the answer or polls for it, whatever the worker does meanwhile."""
        change, client = ask_for(), client_of(builder)
        reads = getattr(story, late.rsplit(".", 1)[1])

        def answered_first(*args: Any, **kwargs: Any) -> Any:
            compute(change)
            return reads(*args, **kwargs)

        monkeypatch.setattr(late, answered_first)
        body = client.get(url("request", change.pk)).content.decode()
        assert 'hx-trigger="every 2s"' in body or "awaiting decision" in body


class TestADecision:
    def body(self, change: Request, verdict: str, **more: Any) -> dict[str, Any]:
        chosen = {f"option-{ask}": option for ask, option in first_options(change).items()}
        return {"verdict": verdict, "reason": "The web moves 4 in.; fine by me.", **chosen, **more}

    @pytest.fixture
    def decide(self, client_of, designer) -> Callable[..., Any]:
        def post(change: Request, body: dict[str, Any]) -> Any:
            return client_of(designer).post(url("decide", change.pk), body)

        return post

    def test_issues_a_revision(self, decide, answered, truss):
        change = answered(HITS_WEB)
        option = change.options.get(pk=next(iter(first_options(change).values())))
        answer = decide(change, self.body(change, "approve"))
        assert answer.headers["Location"] == url("request", change.pk)
        truss.refresh_from_db()
        assert (truss.current.number, truss.current.sha256) == (1, option.sha256)

    def test_shows_what_was_approved_not_what_stands_first(self, client_of, decide, answered):
        change = answered(HITS_WEB)
        passing = list(change.options.filter(passes=True).order_by("rank"))
        assert len(passing) > 1, "the ask has one answer only, so the first and the chosen can't be told apart"
        chosen = passing[-1]
        ask = change.asks.get()
        decide(change, self.body(change, "approve", **{f"option-{ask.pk}": chosen.pk}))
        for query, caption in (
            ("", "After: what was issued, not sealed"),
            (f"?option={passing[0].pk}", "not what was issued"),
        ):
            answer = client_of(change.filed_by).get(url("request", change.pk) + query)
            assert caption in text(answer)
            assert answer.context["sections"][0].chosen == (passing[0] if query else chosen)
        assert f"“{chosen.title}”" in text(answer)

    def test_after_another_one_keeps_the_reason_and_says_who_was_first(self, decide, answered, job, make_person):
        change = answered()
        other = make_person("quicker", job, "designer")
        workflow.decide(other, change, verdict="decline", reason="Call me first.")
        answer = decide(change, self.body(change, "approve"))
        assert answer.status_code == 422
        assert "was declined by quicker" in text(answer)
        assert "What you wrote: “ The web moves 4 in.; fine by me. ”" in text(answer)
        assert Decision.objects.count() == 1

    def test_of_what_was_sent_back_meanwhile_is_late(
        self, decide, client_of, answered, builder, designer, job, make_person
    ):
        """Two designers: one sends it back while the other writes why it is declined, before and after the answer."""
        change, other = answered(), make_person("quicker", job, "designer")

        def shown() -> dict[str, str]:
            page = client_of(designer).get(url("request", change.pk)).content.decode()
            form = page[page.index('id="decision"') :]
            return dict(re.findall(r'name="(state|after)" value="([^"]*)"', form[: form.index("</form>")]))

        first = shown()
        workflow.decide(other, change, verdict="send back", reason="Which duct?")
        declines = {"verdict": "decline", "reason": "Use the attic."}
        for seen in ({}, first):  # a form without it was of what waited for a decision
            answer = decide(change, declines | seen)
            assert answer.status_code == 422
            assert "was sent back by quicker" in text(answer)
            assert "after this decision was begun; it is sent back now" in text(answer)
            assert shows(answer, "reason", "Use the attic.")
        second = shown()
        workflow.answer(builder, change, says="The trunk.")
        compute(change)
        for seen in (first, second):
            assert "after this decision was begun; it is awaiting decision now" in text(decide(change, declines | seen))
        assert Decision.objects.count() == 1
        assert decide(change, declines | shown()).status_code == REDIRECT
        assert Decision.objects.count() == 2

    def test_on_a_truss_revised_meanwhile_keeps_the_reason(self, decide, answered, designer, truss):
        first, second = answered(), answered({**FITS, "centre_in": [140, 20], "id": "O2"})
        workflow.decide(designer, first, verdict="approve", options=first_options(first))
        answer = decide(second, self.body(second, "approve"))
        assert answer.status_code == 422
        assert "K1 has revision 1 since" in text(answer)
        assert shows(answer, "reason", "The web moves 4 in.; fine by me.")
        assert "Compute it again" in text(answer)
        # beside the decision stands why nothing can be issued, and the way on; not what would come of it
        decide_box = text(answer).split("Decide", 1)[1]
        assert "Nothing can be issued as it stands" in decide_box
        assert 'form="compute-again"' in answer.content.decode()
        assert "It issues one new revision" not in decide_box

    @pytest.mark.parametrize(
        ("verdict", "reason", "says"),
        [
            ("send back", "", "Ask a question; sending back needs one."),
            ("decline", "  ", "Say why; declining needs a reason."),
            ("decline", "x" * 2001, "at most 2000 characters"),
            ("seal", "I seal this.", "Select a valid choice. seal"),
        ],
    )
    def test_without_what_it_needs_says_so(self, decide, answered, verdict, reason, says):
        change = answered()
        answer = decide(change, self.body(change, verdict, reason=reason))
        assert answer.status_code == 422
        assert says in text(answer)
        assert shows(answer, "reason", reason.strip())
        assert not Decision.objects.exists()

    def test_without_an_option_says_so(self, decide, answered):
        answer = decide(answered(), {"verdict": "approve", "reason": "Fine."})
        assert answer.status_code == 422
        assert "Choose an option that answers ask" in text(answer)
        assert shows(answer, "reason", "Fine.")

    def test_with_an_option_of_another_request_finds_nothing(self, decide, answered):
        first, second = answered(), answered({**FITS, "centre_in": [140, 20]})
        ask, option = first.asks.get().pk, second.options.get().pk
        answer = decide(first, {"verdict": "approve", "reason": "Fine.", f"option-{ask}": option})
        assert answer.status_code == 422
        assert "does not answer ask" in text(answer)
        assert not Decision.objects.exists()

    def test_accepts_too_much_deflection_by_name_and_with_a_reason_only(self, decide, answered, designer, truss):
        change = answered(HITS_WEB)
        document = without_web(truss.current.document, HITS_WEB, bottom=TOO_SOFT)
        option = workflow.draw_option(designer, change, ask=change.asks.get(), document=document)
        compute(change)
        body = {"verdict": "approve", "option": option.pk, f"option-{change.asks.get().pk}": option.pk}
        refused = decide(change, {**body, "reason": "The ceiling is not plastered."})
        assert refused.status_code == 422
        assert "accept it by name with a reason" in text(refused)
        assert 'name="accepts" value="total deflection"' in refused.content.decode()
        assert shows(refused, "reason", "The ceiling is not plastered.")
        assert decide(change, {**body, "accepts": "total deflection", "reason": ""}).status_code == 422
        done = decide(change, {**body, "accepts": "total deflection", "reason": "The ceiling is not plastered."})
        assert done.status_code == REDIRECT
        truss.refresh_from_db()
        assert truss.current.accepts == [{"rule": "total deflection", "reason": "The ceiling is not plastered."}]


class TestAnAnswer:
    def test_files_the_request_again(self, client_of, builder, designer, answered):
        change = answered()
        workflow.decide(designer, change, verdict="send back", reason="Why here?")
        sent = client_of(builder).post(url("answer", change.pk), {"says": "The stack stands below."})
        assert sent.headers["Location"] == url("request", change.pk)
        change.refresh_from_db()
        assert change.state == "filed"

    def test_without_words_says_so(self, client_of, builder, designer, answered):
        change = answered()
        workflow.decide(designer, change, verdict="send back", reason="Why here?")
        sent = client_of(builder).post(url("answer", change.pk), {"says": " "})
        assert sent.status_code == 422
        assert "Not answered." in text(sent)
        assert re.search(r"Your answer:\s+Write an answer first\.", text(sent))

    def test_too_late_keeps_the_words(self, client_of, builder, answered):
        change = answered()
        workflow.withdraw(builder, change)
        sent = client_of(builder).post(url("answer", change.pk), {"says": "The <b>stack</b> stands below."})
        assert sent.status_code == 422
        assert "was withdrawn by builder" in text(sent)
        assert "The <b>stack</b> stands below." in text(sent)
        assert "<b>stack" not in sent.content.decode()


class TestAHold:
    @pytest.mark.parametrize(("acknowledge", "says"), [("yes", "acknowledged by"), ("no", "The saw does not wait.")])
    def test_is_answered_by_name(self, client_of, designer, answered, acknowledge, says):
        change, client = answered(), client_of(designer)
        client.post(url("answer-hold", change.holds.get().pk), {"acknowledge": acknowledge, "says": "Told the saw."})
        said = " ".join(text(client.get(url("request", change.pk))).split())
        assert says in said
        assert "by designer" in said
        assert "Told the saw." in said

    def test_is_answered_once(self, client_of, designer, answered):
        change, client = answered(), client_of(designer)
        address = url("answer-hold", change.holds.get().pk)
        client.post(address, {"acknowledge": "yes"})
        again = client.post(address, {"acknowledge": "no", "says": "The <b>saw</b> is past it."})
        assert again.status_code == 422
        assert "The hold on K1 was acknowledged" in text(again)
        assert "The <b>saw</b> is past it." in text(again)
        assert "<b>saw" not in again.content.decode()

    @pytest.mark.parametrize(
        ("sent", "why"),
        [
            ({"acknowledge": "yes", "says": "w" * 501}, "A word about the hold: Ensure this value has at most 500"),
            ({"says": "At S3"}, "Say whether the saw waits or can't."),
            ({"acknowledge": "perhaps", "says": "At S3"}, "Say whether the saw waits or can't."),
            ({"acknowledge": "yes", "says": "At\x07 S3"}, "The hold is not answered by that."),
        ],
    )
    def test_what_is_refused_keeps_the_word(self, client_of, designer, ask_for, sent, why):
        hold = ask_for().holds.get()
        page = client_of(designer).post(url("answer-hold", hold.pk), sent)
        assert page.status_code == 422
        assert why in text(page)
        assert f'value="{sent["says"]}"' in page.content.decode()
        hold.refresh_from_db()
        assert hold.standing == "asked"


class TestTheQueue:
    def test_filters_by_state_in_the_address(self, client_of, designer, builder, answered):
        kept = answered(reason="Kept open")
        gone = answered({**FITS, "centre_in": [140, 20]}, reason="Taken back")
        workflow.withdraw(builder, gone)
        client, address = client_of(designer), url("queue", kept.job_id)
        for state, shown, hidden in (("", kept, gone), ("withdrawn", gone, kept)):
            said = text(client.get(address, {"state": state}))
            assert shown.reason in said
            assert hidden.reason not in said
        everything = text(client.get(address, {"state": "all"}))
        assert kept.reason in everything
        assert gone.reason in everything
        assert "No request stands at “failed”." in text(client.get(address, {"state": "failed"}))
        assert kept.reason in text(client.get(address, {"state": "<nonsense>", "page": "999"}))

    def test_more_requests_take_no_more_queries(self, client_of, builder, answered, django_assert_max_num_queries):
        client = client_of(builder)
        address = url("queue", answered().job_id)
        with django_assert_max_num_queries(30) as one:
            client.get(address)
        for x in (60, 140, 180):
            answered({**FITS, "centre_in": [x, 14], "diameter_in": 4})
        with django_assert_max_num_queries(len(one)):
            client.get(address)


@pytest.mark.parametrize(("answer", "says"), [("yes", "The saw waits for K1"), ("no", "The saw does not wait for K1")])
def test_an_answered_hold_is_confirmed(answer, says, client_of, designer, ask_for):
    hold = ask_for().holds.get()
    page = client_of(designer).post(
        f"/holds/{hold.pk}/answer/", {"acknowledge": answer, "says": "By Monday."}, follow=True
    )
    assert f"{says}. The story of this request says so, with your name." in text(page)


def test_the_option_on_show_stays_when_a_hold_is_answered(client_of, designer, answered):
    """Else who acknowledges a hold on the way would decide on another option than was looked at."""
    change = answered(HITS_WEB)
    shown = change.options.filter(stale=False).order_by("pk").last()
    address = f"/requests/{change.pk}/?option={shown.pk}"
    assert (
        f'<input type="hidden" name="option" value="{shown.pk}">'
        in (client_of(designer).get(address).content.decode().split('id="holds"')[1].split("</section>")[0])
    )
    sent = {"acknowledge": "yes", "option": [shown.pk, "x"]}
    answer = client_of(designer).post(f"/holds/{change.holds.get().pk}/answer/", sent)
    assert answer["Location"] == address


def test_no_drawing_stands_on_the_page_more_often_than_it_is_read(client_of, designer, answered):
    """Before and after are lettered for a phone and for a desk, the enlarged details, which are for a desk, once; the
    forces come once they are opened."""
    change = answered(HITS_WEB)
    body = client_of(designer).get(f"/requests/{change.pk}/").content.decode()
    slug = change.asks.get().truss_id
    assert body.count("<svg") == 2 * 2 + 2
    assert f"forces-{slug}" not in body.replace(f'id="forces-{slug}"', "").replace(f'"#forces-{slug}"', "")
    at = re.search(r'hx-get="([^"]*/forces/)"', body)
    forces = client_of(designer).get(at[1]).content.decode()
    assert forces.count("<svg") == 2
    assert f"before-forces-{slug}-phone" not in forces
    assert f"after-forces-{slug}" in forces
