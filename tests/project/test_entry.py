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
    "path", ["/sign-out/", "/requests/1/decide/", "/requests/1/withdraw/", "/jobs/1/trusses/1/copies/"]
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
