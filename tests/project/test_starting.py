"""What refuses to start, and on which data: keys, hosts, and whose database it is."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from django.test import Client
from rest_framework.authtoken.models import Token

from project.demo import _people
from tests.conftest import PASSWORD

ROOT = Path(__file__).resolve().parents[2]
SETTINGS = ("MODE", "SECRET_KEY", "ALLOWED_HOSTS", "DATABASE_URL", "REDIS_URL", "DATA_DIR", "DJANGO_SETTINGS_MODULE")
OFFICE = {"MODE": "production", "SECRET_KEY": "k" * 60, "ALLOWED_HOSTS": "example.test"}
WEB = [sys.executable, "-c", "import project.wsgi; print('started')"]
WORKER = [sys.executable, "-m", "celery", "-A", "project", "worker", "--concurrency", "1"]
KEY = [sys.executable, "-c", "from project.settings import SECRET_KEY; print(SECRET_KEY)"]


def run(command: list[str], data: Path, **own: str) -> subprocess.CompletedProcess[str]:
    data.mkdir(parents=True, exist_ok=True)
    env = {name: value for name, value in os.environ.items() if name not in SETTINGS}
    env |= {"DATA_DIR": str(data), "DATABASE_URL": f"sqlite:///{data / 'rows.sqlite3'}", **own}
    return subprocess.run(command, cwd=ROOT, env=env, capture_output=True, text=True, timeout=60, check=False)


def refused(command: list[str], data: Path, **own: str) -> str:
    done = run(command, data, **own)
    assert done.returncode != 0
    assert "started" not in done.stdout
    return done.stderr


class TestKeys:
    @pytest.mark.parametrize("mode", ["", "development", "demo"])
    def test_each_folder_of_data_has_its_own(self, tmp_path: Path, mode: str) -> None:
        own = {"MODE": mode} if mode else {}
        keys = [run(KEY, tmp_path / folder, **own).stdout.strip() for folder in ("one", "one", "other")]
        assert keys[0] == keys[1] != keys[2]
        assert all(len(key) > 50 for key in keys)
        assert not any(keys[0] in path.read_text() for path in (ROOT / "project").glob("*.py"))
        assert (tmp_path / "one" / "secret-key").stat().st_mode & 0o077 == 0

    def test_a_fresh_clone_makes_its_own_and_keeps_it_out_of_the_repository(self, tmp_path: Path) -> None:
        """Without MODE, SECRET_KEY and DATA_DIR, and however open the files of the account are."""
        keys = []
        for name in ("one", "other"):
            clone = tmp_path / name
            shutil.copytree(ROOT / "project", clone / "project", ignore=shutil.ignore_patterns("__pycache__"))
            shutil.copy(ROOT / ".gitignore", clone)
            environment = {key: value for key, value in os.environ.items() if key not in SETTINGS}
            done = subprocess.run(
                [sys.executable, "-c", "from project.settings import SECRET_KEY; print(SECRET_KEY)"],
                cwd=clone,
                env=environment,
                umask=0,
                capture_output=True,
                text=True,
                timeout=60,
                check=True,
            )
            key = clone / ".data" / "development" / "secret-key"
            assert key.read_text() == done.stdout.strip()
            assert key.stat().st_mode & 0o777 == 0o600
            keys.append(done.stdout.strip())
        # 48 random bytes, each four letters for three bytes (RFC 4648, 5)
        assert keys[0] != keys[1]
        assert all(len(key) == 64 and len(set(key)) > 20 for key in keys)
        assert ".data/" in (ROOT / ".gitignore").read_text().splitlines()
        for command in (["git", "init", "-q"], ["git", "add", "-A"]):
            subprocess.run(command, cwd=clone, check=True, capture_output=True, timeout=60)
        added = subprocess.run(["git", "ls-files"], cwd=clone, check=True, capture_output=True, text=True, timeout=60)
        assert "project/settings.py" in added.stdout
        assert ".data" not in added.stdout

    @pytest.mark.parametrize("key", ["", "short", "development-only-" + "x" * 48, "django-insecure-" + "y" * 48])
    def test_production_takes_none_that_others_know(self, tmp_path: Path, key: str) -> None:
        assert "SECRET_KEY must be" in refused(WEB, tmp_path, **OFFICE | {"SECRET_KEY": key})


@pytest.mark.parametrize("hosts", [{}, {"ALLOWED_HOSTS": ""}, {"ALLOWED_HOSTS": ","}])
def test_production_is_told_its_hosts(tmp_path: Path, hosts: dict[str, str]) -> None:
    own = {name: value for name, value in OFFICE.items() if name != "ALLOWED_HOSTS"} | hosts
    assert "ALLOWED_HOSTS must name the hosts" in refused(WEB, tmp_path, **own)


@pytest.fixture(scope="module")
def data(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("rows")
    done = run([sys.executable, "manage.py", "migrate", "-v0"], folder)
    assert done.returncode == 0, done.stderr
    return folder


class TestWhoseData:
    def holds(self, data: Path, *, is_demo: bool) -> None:
        import sqlite3

        with sqlite3.connect(data / "rows.sqlite3") as rows:
            rows.execute("DELETE FROM trusses_job")
            columns = "(id, name, place, time_zone, bearing_heights, is_demo) VALUES (1, 'House', '', 'UTC', '{}', ?)"
            rows.execute(f"INSERT INTO trusses_job {columns}", [is_demo])

    @pytest.mark.parametrize("command", [WEB, WORKER], ids=["web", "worker"])
    def test_the_demo_keeps_away_from_an_office(self, data: Path, command: list[str]) -> None:
        self.holds(data, is_demo=False)
        assert "MODE=demo: This database holds jobs that are not the demo's." in refused(command, data, MODE="demo")

    @pytest.mark.parametrize("command", [WEB, WORKER], ids=["web", "worker"])
    def test_an_office_keeps_away_from_a_demo(self, data: Path, command: list[str]) -> None:
        self.holds(data, is_demo=True)
        assert "MODE=production: This database holds the demo's job and people." in refused(command, data, **OFFICE)

    def test_each_starts_on_its_own(self, data: Path) -> None:
        self.holds(data, is_demo=True)
        assert run(WEB, data, MODE="demo").stdout == "started\n"
        self.holds(data, is_demo=False)
        (data / "static").mkdir(exist_ok=True)
        call = run(WEB, data, **OFFICE)
        assert call.stdout == "started\n", call.stderr


@pytest.mark.django_db
def test_the_invented_people_are_let_in_by_the_demo_and_never_by_an_office(settings, make_person) -> None:
    people = _people(PASSWORD)
    make_person("somebody")
    token = Token.objects.create(user=people["designer"])
    headers = {"Authorization": f"Token {token.key}"}
    inside = Client()
    typed = {"username": "designer", "password": PASSWORD}

    settings.DEMO = True
    assert inside.post("/sign-in/", typed).status_code == 302
    assert Client().get("/api/v1/jobs/", headers=headers).status_code == 200

    settings.DEMO, settings.PRODUCTION = False, True
    assert inside.get("/").headers["Location"].startswith("/sign-in/")
    assert Client().post("/sign-in/", typed).status_code == 200
    assert Client().post("/api/v1/token/", typed, content_type="application/json").status_code == 400
    assert Client().get("/api/v1/jobs/", headers=headers).status_code == 401
    assert Client().post("/sign-in/", {**typed, "username": "somebody"}).status_code == 302


def test_a_database_of_half_the_steps_that_one_replaces_is_refused(data: Path, tmp_path: Path) -> None:
    """By itself Django would leave its tables as they are, or say something else. One of all the steps goes on."""
    import sqlite3

    def migrated(*lacks: tuple[str, str]) -> str:
        folder = tmp_path / "-".join(lacks[0])
        shutil.copytree(data, folder)
        with sqlite3.connect(folder / "rows.sqlite3") as rows:
            rows.execute("DELETE FROM django_migrations WHERE name LIKE '0001_squashed%'")
            rows.executemany("DELETE FROM django_migrations WHERE app = ? AND name LIKE ?", lacks)
        done = run([sys.executable, "manage.py", "migrate", "-v1"], folder)
        return done.stdout if done.returncode == 0 else done.stderr

    for app, last in (("trusses", "0027_what_tells_of_a_record"), ("changes", "0025_lines_asked_about")):
        says = migrated((app, last), (app, "0028_%"))
        assert f"CommandError: This database was last migrated before {app} {last}, and the steps" in says
        assert says.endswith("Migrate it with commit bcf5d27c first, then with this one.\n")
    assert "Applying trusses.0028_turned_copies... OK" in migrated(("trusses", "0028_%"))
