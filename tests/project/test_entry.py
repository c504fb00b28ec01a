"""The way in, bounded in tries; and addresses that only take what a form sends."""

from __future__ import annotations

import os
import subprocess
import sys

import pytest
from django.core.cache import cache
from django.test import Client

from tests.changes.reading import text
from tests.conftest import PASSWORD

WRONG = {"username": "builder", "password": "wrong"}
RIGHT = {"username": "builder", "password": PASSWORD}


@pytest.fixture(autouse=True)
def no_earlier_tries():
    cache.clear()
    yield
    cache.clear()


def test_tries_to_sign_in_are_bounded_with_the_wait_in_words(builder):
    client = Client()
    assert [client.post("/sign-in/", WRONG).status_code for _ in range(20)] == [200] * 20
    page = client.post("/sign-in/", RIGHT)
    assert page.status_code == 429
    seconds = int(page["Retry-After"])
    assert 0 < seconds <= 60
    assert f"Too many tries from here. Wait {seconds} seconds, then try again." in " ".join(text(page).split())
    assert "_auth_user_id" not in client.session
    assert client.get("/sign-in/").status_code == 200


@pytest.fixture
def office(django_user_model):
    return django_user_model.objects.create_superuser("office", password=PASSWORD)


WRONG_OFFICE = {"username": "office", "password": "wrong"}
RIGHT_OFFICE = {"username": "office", "password": PASSWORD}


def test_the_offices_pages_have_the_same_door(office):
    """Wrong tries there and at the front are one count, and the right password comes too late at both."""
    client = Client()
    assert client.get("/admin/").headers["Location"] == "/admin/login/?next=/admin/"
    assert [client.post("/admin/login/?next=/admin/", WRONG_OFFICE).status_code for _ in range(10)] == [200] * 10
    assert [client.post("/sign-in/", WRONG_OFFICE).status_code for _ in range(10)] == [200] * 10
    for door in ("/admin/login/", "/sign-in/", "/api/v1/token/"):
        refused = client.post(door, RIGHT_OFFICE) if "api" not in door else _token(client, RIGHT_OFFICE)
        assert refused.status_code == 429
        assert 0 < int(refused.headers["Retry-After"]) <= 60
    assert "_auth_user_id" not in client.session


def _token(client: Client, body: dict[str, str]):
    return client.post("/api/v1/token/", body, content_type="application/json")


def test_the_offices_door_lets_the_office_in(office):
    client = Client()
    answer = client.post("/admin/login/?next=/admin/trusses/", {**RIGHT_OFFICE, "next": "/admin/trusses/"})
    assert answer.headers["Location"] == "/admin/trusses/"
    assert client.get("/admin/").status_code == 200


def test_who_is_not_the_office_is_told_so_and_sent_nowhere(client_of, builder):
    page = client_of(builder).get("/admin/", follow=True)
    assert page.status_code == 403
    assert len(page.redirect_chain) == 1


def test_an_account_is_not_guessed_from_many_addresses(builder):
    """A hundred wrong tries an hour, wherever they come from; where the person signed in before, it goes on."""
    home = Client(REMOTE_ADDR="198.51.100.1")
    assert home.post("/sign-in/", RIGHT).status_code == 302
    for place in range(10):
        client = Client(REMOTE_ADDR=f"192.0.2.{place}")
        assert [client.post("/sign-in/", WRONG).status_code for _ in range(10)] == [200] * 10
    refused = Client(REMOTE_ADDR="192.0.2.99").post("/sign-in/", RIGHT)
    assert refused.status_code == 429
    assert 3000 < int(refused.headers["Retry-After"]) <= 3600
    assert Client(REMOTE_ADDR="198.51.100.1").post("/sign-in/", RIGHT).status_code == 302


def _locked_out(tried_from: str, then_from: str) -> bool:
    """Whether twenty wrong tries from one address keep another from trying."""
    for n in range(20):
        guess = {"username": f"guessed-{n}", "password": "wrong"}
        assert Client(REMOTE_ADDR=tried_from).post("/sign-in/", guess).status_code == 200
    return Client(REMOTE_ADDR=then_from).post("/sign-in/", RIGHT).status_code == 429


@pytest.mark.parametrize(
    ("tried_from", "then_from", "same"),
    [
        ("2001:db8:1:2::1", "2001:db8:1:2:ffff:ffff:ffff:ffff", True),  # the last of the same /64
        ("2001:db8:1:2::1", "2001:0DB8:0001:0002:0000:0000:0000:0001", True),  # written otherwise
        ("2001:db8:1:2::1", "2001:db8:1:3::1", False),  # the /64 beside it
        ("fe80::1%eth0", "fe80::2%eth0", True),
        ("::ffff:192.0.2.1", "192.0.2.1", True),  # IPv4 as a dual-stack socket tells it
        ("::ffff:192.0.2.1", "::ffff:192.0.2.2", False),
        ("192.0.2.1", "192.0.2.2", False),
    ],
)
def test_a_network_of_ipv6_is_one_address(builder, tried_from, then_from, same):
    """Whoever is given a /64 has 2⁶⁴ addresses to try from (RFC 4291, 2.5.1; prefixes for examples of RFC 3849 and
    RFC 5737; from memory)."""
    assert _locked_out(tried_from, then_from) == same


def test_an_office_behind_one_address_is_not_locked_out(make_person):
    """Thirty who sign in within a minute, and those who did so before while somebody there tries names."""
    names = [f"person-{n}" for n in range(30)]
    for name in names:
        make_person(name)
    assert {Client().post("/sign-in/", {"username": name, "password": PASSWORD}).status_code for name in names} == {302}
    for n in range(30):
        tried = Client().post("/sign-in/", {"username": f"guessed-{n}", "password": "wrong"}).status_code
        assert tried == (200 if n < 20 else 429)
    assert Client().post("/sign-in/", {"username": names[0], "password": PASSWORD}).status_code == 302


COUNTED_ELSEWHERE = """
import django

django.setup()
from django.core.cache import cache

tries = cache.get("throttle_sign-in_127.0.0.1")
print(len(tries))
cache.set("throttle_sign-in_127.0.0.1", tries * 4)
"""


def test_tries_are_counted_by_all_processes_together(builder, settings, tmp_path):
    """Another process sees five tries and makes them twenty; here the next one is refused."""
    settings.CACHES = {"default": settings.CACHES["default"] | {"LOCATION": tmp_path / "cache"}}
    client = Client()
    for _ in range(5):
        client.post("/sign-in/", WRONG)
    environment = os.environ | {"DATA_DIR": str(tmp_path), "DJANGO_SETTINGS_MODULE": "project.settings"}
    other = subprocess.run(
        [sys.executable, "-c", COUNTED_ELSEWHERE],
        env=environment,
        capture_output=True,
        text=True,
        check=True,
        timeout=60,
    )
    assert other.stdout == "5\n"
    assert client.post("/sign-in/", RIGHT).status_code == 429


def test_another_address_is_not_kept_out(builder):
    client = Client()
    for _ in range(21):
        client.post("/sign-in/", WRONG)
    invented = {"X-Forwarded-For": "203.0.113.9"}
    assert client.post("/sign-in/", RIGHT, headers=invented).status_code == 429
    other = Client(REMOTE_ADDR="192.0.2.7")
    assert other.post("/sign-in/", RIGHT).status_code == 302


@pytest.mark.parametrize(
    "path", ["/sign-out/", "/requests/1/decide/", "/requests/1/compute/", "/jobs/1/trusses/1/copies/"]
)
def test_an_address_for_forms_alone_explains_itself(path, client_of, builder):
    page = client_of(builder).get(path)
    assert page.status_code == 405
    assert "POST" in page["Allow"]
    assert "only takes what the button of a page sends to it" in text(page)


def test_the_api_keeps_its_own_words(api_of, builder):
    answer = api_of(builder).put("/api/v1/jobs/", {})
    assert answer.status_code == 405
    assert answer.json() == {"detail": 'Method "PUT" not allowed.'}


def test_what_is_not_understood_says_so_before_it_is_known_whose_it_is(client):
    answer = client.get("/", HTTP_HOST="elsewhere.example")
    assert answer.status_code == 400
    assert "What was sent is nothing that this site understands." in answer.content.decode()
