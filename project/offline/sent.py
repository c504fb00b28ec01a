"""Forms that arrive once. A form brings an Idempotency-Key: in a field where a page sends it, as a header where a phone
sends on what waited for a signal. Its effect and its key are written together or not at all; the same form under the
same key is answered as it was, and does nothing.

What was refused may be sent again, changed or by a phone on whose screen no refusal was seen yet. From a page the very
same is not done any more: that is a browser going back over its history or a reload, and nobody chose it again."""

from __future__ import annotations

import contextlib
import hashlib
import json
import re
from collections.abc import Callable, Iterable
from html.parser import HTMLParser
from typing import Any

from django.conf import settings
from django.contrib import messages
from django.db import IntegrityError, transaction
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect, JsonResponse
from django.shortcuts import render, resolve_url
from django.urls import reverse
from django.utils.http import url_has_allowed_host_and_scheme

from changes.models import IdempotencyKey
from project.models import SentForm
from project.offline.whose import whose

HEADER = "Idempotency-Key"
FIELD = "idempotency-key"
_KEY = re.compile(r"[\x21-\x7e]{8,200}")
_OUTSIDE = ("/api/", "/admin/")
"""The API keeps keys of its own; the office's pages have none."""
BY = "queued-by"
"""The field with the account that a form's page was made for, as `whose` names it."""
FROM = "queued-from"
"""The field with the address of the page on which a form stands."""
_NOT_TYPED = ("csrfmiddlewaretoken", FIELD, BY)

_REFUSED = (400, 409, 422)

_Answers = Callable[[HttpRequest], HttpResponse]


def sent_once(get_response: _Answers) -> _Answers:
    def middleware(request: HttpRequest) -> HttpResponse:
        if request.method != "POST" or request.path.startswith(_OUTSIDE) or request.headers.get("HX-Request"):
            return get_response(request)
        later = HEADER in request.headers
        typed_by = request.POST.get(BY, "")
        if typed_by and request.user.is_authenticated and typed_by != whose(request.user):
            answer = render(request, "409.html", {"of_another": True}, status=401 if later else 409)  # 401: it waits on
            return _told(answer) if later else answer
        key = request.headers.get(HEADER) or request.POST.get(FIELD, "")
        if not key:
            return get_response(request)
        if later and not request.user.is_authenticated:
            return JsonResponse({"says": ["Sign in first."]}, status=401)
        if not _KEY.fullmatch(key) or not request.user.is_authenticated:
            return get_response(request)
        answer = _once(request, request.user, key, get_response, later=later)
        return _told(answer) if later else answer

    return middleware


def _once(request: HttpRequest, user: Any, key: str, get_response: _Answers, *, later: bool) -> HttpResponse:
    body = _sha256(request)
    with transaction.atomic():
        sent, first = SentForm.objects.select_for_update().get_or_create(
            user=user, key=key, defaults={"body_sha256": body}
        )
        refused_before = not first and not sent.to
        if sent.to:
            if sent.body_sha256 == body:
                return HttpResponseRedirect(sent.to)
            return render(request, "409.html", {"from": _page_of(request)}, status=409)
        answer = get_response(request)
        to = answer.headers.get("Location", "") if 300 <= answer.status_code < 400 else ""
        done = bool(to) and not to.startswith(resolve_url(settings.LOGIN_URL))
        if done and refused_before and not later and sent.body_sha256 == body:
            transaction.set_rollback(True)
            list(messages.get_messages(request))  # read, so that it is said nowhere: it was taken back just now
            told = {"refused_before": True, "from": _page_of(request), "messages": []}
            return render(request, "409.html", told, status=409)
        if done:
            SentForm.objects.filter(pk=sent.pk).update(to=to[:500], body_sha256=body)
        else:
            transaction.set_rollback(True)
    if not later and not done and answer.status_code in _REFUSED:
        with contextlib.suppress(IntegrityError):  # done meanwhile, by a second tap
            SentForm.objects.update_or_create(user=user, key=key, to="", defaults={"body_sha256": body})
    return answer


def _page_of(request: HttpRequest) -> str:
    """The page on which a form stands: its own address may take nothing but what is sent."""
    page = request.POST.get(FROM, "")
    return page if page.startswith("/") and url_has_allowed_host_and_scheme(page, allowed_hosts=None) else ""


def _sha256(request: HttpRequest) -> str:
    """Of where it goes, of all that was typed and of each file's bytes."""
    typed: list[Any] = [request.path]
    typed += [[name, request.POST.getlist(name)] for name in sorted(request.POST) if name not in _NOT_TYPED]
    for name in sorted(request.FILES):
        for file in request.FILES.getlist(name):
            typed.append([name, file.name, hashlib.sha256(b"".join(file.chunks())).hexdigest()])
            file.seek(0)
    return hashlib.sha256(json.dumps(typed).encode()).hexdigest()


def _told(answer: HttpResponse) -> HttpResponse:
    """The answer for a script: where it led to, or what the page would have said. A page that asks something is no
    arrival: a person has to answer."""
    if to := answer.headers.get("Location", ""):
        return JsonResponse({"to": to})
    if answer.status_code >= 500:
        return answer
    status = 409 if answer.status_code == 200 else answer.status_code
    return JsonResponse({"says": _says(answer)}, status=status)


def _says(answer: HttpResponse) -> list[str]:
    reader = _Alerts()
    reader.feed(answer.content.decode(errors="replace"))
    return reader.alerts or reader.first or ["It was not taken."]


class _Alerts(HTMLParser):
    """The sentences of a page's alerts, and those with which its main part begins."""

    _VOID = frozenset({"input", "br", "img", "hr", "link", "meta", "path", "line", "use"})
    _SAYS = frozenset({"strong", "span", "p", "h1", "li"})

    def __init__(self) -> None:
        super().__init__()
        self.alerts: list[str] = []
        self.first: list[str] = []
        self._open: list[tuple[str, bool]] = []
        self._text: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag in self._VOID:
            return
        marks = ("role", "alert") in attrs or tag == "main"
        if tag in self._SAYS or marks:
            self._close()
        self._open.append((tag, marks))

    def handle_endtag(self, tag: str) -> None:
        if tag in self._SAYS or any(tag == name and marks for name, marks in self._open):
            self._close()
        while self._open and self._open.pop()[0] != tag:
            pass

    def handle_data(self, text: str) -> None:
        self._text.append(text)

    def _close(self) -> None:
        says = " ".join("".join(self._text).split())
        self._text = []
        if not says:
            return
        if any(marks and name != "main" for name, marks in self._open):
            self.alerts.append(says)
        elif len(self.first) < 2 and any(name == "main" for name, _ in self._open):
            self.first.append(says)


def arrived(user: Any, keys: Iterable[str]) -> dict[str, str]:
    """The keys under which something of the person's arrived, each with the address that it led to."""
    keys = [key for key in keys if _KEY.fullmatch(key)]
    filed = IdempotencyKey.objects.filter(user=user, key__in=keys).values_list("key", "request")
    found = {key: reverse("changes:request", args=[pk]) for key, pk in filed}
    sent = SentForm.objects.filter(user=user, key__in=keys).exclude(to="")
    return found | dict(sent.values_list("key", "to"))
