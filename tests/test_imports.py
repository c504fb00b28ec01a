"""The order in which parts may know each other, read from the source, and the layout at the top."""

from __future__ import annotations

import ast
import subprocess
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
TOP = {
    "README.md",
    "DEVELOPERS.md",
    "manage.py",
    "requirements.txt",
    "project",
    "trusses",
    "changes",
    "templates",
    "tests",
}
NOT_IN_THE_CORE = {"django", "rest_framework", "celery", "kombu", "drf_spectacular", "environ", "csp", "django_htmx"}
PACKAGES = ("trusses", "changes", "project")

# Each part may import those above it in its own list, and itself; the first whose prefix matches is a module's part.
TRUSSES = (
    ("trusses.analysis",),
    ("trusses.drawing",),
    ("trusses.models", "trusses.apps", "trusses.migrations"),
    (
        "trusses.permissions",
        "trusses.sheets.cautions",
        "trusses.sheets.words",
        "trusses.sheets.plain_text",
        "trusses.demo_set",
    ),
    ("trusses.job.surroundings",),
    (
        "trusses.sets",
        "trusses.sheets.tape",
        "trusses.verdicts",
        "trusses.bearings.links",
        "trusses.bearings.standing",
        "trusses.bearings.taking_up",
    ),
    ("trusses.placements.plan", "trusses.placements.beside"),
    (
        "trusses.stages",
        "trusses.sheets.pricing",
        "trusses.sheets.sheet_facts",
        "trusses.placements.rows",
        "trusses.sheets.floor_movement",
        "trusses.forms",
        "trusses.templatetags",
    ),
    ("trusses.sheets.sheet", "trusses.sheets.required", "trusses.sheets.report", "trusses.sheets.report_facts"),
    ("trusses.sheets.paper", "trusses.serializers", "trusses.sheets.facts_serializers"),
    (
        "trusses.views",
        "trusses.new_truss",
        "trusses.job.plate_page",
        "trusses.bearings.page",
        "trusses.job.sheathing_page",
        "trusses.job.kinds_page",
        "trusses.job.kinds_api",
        "trusses.job.sheathing_api",
        "trusses.bearings.api",
        "trusses.api",
        "trusses.admin",
    ),
    ("trusses.urls", "trusses.management"),
)
CHANGES_FIRST = ("changes.models", "changes.migrations", "changes.words")
CHANGES_LAST = ("changes.views", "changes.api", "changes.api_base", "changes.rooms", "changes.admin", "changes.urls")


def modules() -> dict[str, Path]:
    found = {}
    for package in PACKAGES:
        for path in (ROOT / package).rglob("*.py"):
            name = ".".join(path.relative_to(ROOT).with_suffix("").parts)
            found[name.removesuffix(".__init__")] = path
    return found


MODULES = modules()


def imports(name: str) -> set[str]:
    """The modules that a module imports anywhere in it, inside functions too, but not for type checking alone."""
    package = name if MODULES[name].name == "__init__.py" else name.rpartition(".")[0]
    tree = ast.parse(MODULES[name].read_text())
    only_typing = {
        id(inner)
        for node in ast.walk(tree)
        if isinstance(node, ast.If) and ast.unparse(node.test).endswith("TYPE_CHECKING")
        for statement in node.body
        for inner in ast.walk(statement)
    }
    found: set[str] = set()
    for node in ast.walk(tree):
        if id(node) in only_typing:
            continue
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            base = node.module or ""
            if node.level:
                parents = package.split(".")
                base = ".".join([*parents[: len(parents) - node.level + 1], *([base] if base else [])])
            found |= {f"{base}.{alias.name}" if f"{base}.{alias.name}" in MODULES else base for alias in node.names}
    return found


def within(module: str, parts: tuple[str, ...]) -> bool:
    return any(module == part or module.startswith(part + ".") for part in parts)


def level(module: str) -> int:
    return next(i for i, parts in enumerate(TRUSSES) if within(module, parts))


def test_there_is_something_to_read():
    assert {"trusses.analysis.frame", "trusses.models", "changes.models", "project.entry"} <= MODULES.keys()


def test_relative_and_inner_imports_are_seen(tmp_path, monkeypatch):
    """The reader itself: otherwise the tests below could pass by seeing nothing."""
    source = tmp_path / "planted.py"
    source.write_text("def f():\n    from ..models import Job\n    from django.db import models\nimport celery.app\n")
    monkeypatch.setitem(MODULES, "trusses.analysis.planted", source)
    assert imports("trusses.analysis.planted") == {"trusses.models", "django.db", "celery.app"}


@pytest.mark.parametrize("name", [name for name in MODULES if within(name, ("trusses.analysis",))])
def test_the_core_knows_no_web_and_no_queue(name):
    outside = {module.partition(".")[0] for module in imports(name)}
    assert not outside & (NOT_IN_THE_CORE | {"changes", "project"})
    ours = {module for module in imports(name) if within(module, ("trusses",))}
    assert all(within(module, ("trusses.analysis",)) for module in ours)


@pytest.mark.parametrize("name", [name for name in MODULES if within(name, ("trusses.drawing",))])
def test_the_drawing_knows_the_core_alone(name):
    outside = {module.partition(".")[0] for module in imports(name)}
    assert not outside & (NOT_IN_THE_CORE | {"changes", "project"})
    ours = {module for module in imports(name) if within(module, ("trusses",))}
    assert all(within(module, ("trusses.analysis", "trusses.drawing")) for module in ours)


@pytest.mark.parametrize("name", [name for name in MODULES if within(name, ("trusses",)) and name != "trusses"])
def test_trusses_imports_one_way(name):
    for module in imports(name):
        assert not within(module, ("changes", "project")), f"{name} imports {module}"
        if within(module, ("trusses",)) and module != "trusses":
            assert level(module) <= level(name), f"{name} imports {module}"


@pytest.mark.parametrize("name", [name for name in MODULES if within(name, ("changes",)) and name != "changes"])
def test_changes_imports_one_way(name):
    for module in imports(name):
        assert not within(module, ("project",)) or module == "project.celery", f"{name} imports {module}"
        if within(name, CHANGES_FIRST):
            assert not within(module, ("changes",)) or within(module, CHANGES_FIRST), f"{name} imports {module}"
        if not within(name, CHANGES_LAST):
            assert not within(module, CHANGES_LAST), f"{name} imports {module}"
        assert not within(module, ("trusses.views", "trusses.new_truss")), f"{name} imports {module}"


def test_no_module_imports_itself_in_a_circle():
    graph = {name: {module for module in imports(name) if module in MODULES} - {name} for name in MODULES}
    done: set[str] = set()
    for start in graph:
        trail: list[str] = []

        def walk(name: str, trail: list[str] = trail) -> None:
            assert name not in trail, " imports ".join([*trail, name])
            if name not in done:
                trail.append(name)
                for module in sorted(graph[name]):
                    walk(module)
                trail.pop()
                done.add(name)

        walk(start)


def test_layout():
    """What a visitor sees at the top: the nine names and nothing else."""
    tracked = subprocess.run(
        ["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=True, timeout=30
    ).stdout
    visible = {line.partition("/")[0] for line in tracked.splitlines() if not line.startswith(".")}
    assert visible <= TOP
    assert {name.name for name in ROOT.iterdir() if not name.name.startswith((".", "__"))} == TOP
