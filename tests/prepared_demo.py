"""The demo prepared once for all processes of a run of the tests, each of which takes a copy."""

from __future__ import annotations

import fcntl
import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]
PREPARE = """
import django
django.setup()
from project.management.commands.demo import Command
Command().prepare("whoever starts it sets another", reset=False)
"""
"""What `manage.py demo` does before its server and its worker start."""


def prepared(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder of a demo on SQLite with which nobody has done anything yet; to be copied, not used."""
    base = tmp_path_factory.getbasetemp()
    shared = (base.parent if "PYTEST_XDIST_WORKER" in os.environ else base) / "prepared-demo"
    with shared.with_suffix(".lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        if not shared.exists():
            making = shared.with_suffix(".making")
            making.mkdir()
            left_out = ("DATABASE_URL", "REDIS_URL")
            own = {key: value for key, value in os.environ.items() if key not in left_out}
            own |= {"DATA_DIR": str(making), "MODE": "demo", "DJANGO_SETTINGS_MODULE": "project.settings"}
            subprocess.run([sys.executable, "-c", PREPARE], cwd=ROOT, env=own, check=True, timeout=300)
            making.rename(shared)
    return shared


def copied(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder of its own with the same in it."""
    folder = tmp_path_factory.mktemp("demo")
    shutil.copytree(prepared(tmp_path_factory), folder, dirs_exist_ok=True)
    return folder
