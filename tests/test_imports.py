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

# Rooms from the ground up: each may import those before it, and itself.
CORE = (
    "words",
    "lumber",
    "format",
    "piece_names",
    "verdict",
    "departures",
    "alike",
    "clearance",
    "runs",
    "loads",
    "shapes",
    "frame",
    "checks",
    "requirements",
    "findings",
    "analysis_document",
    "analysis",
    "work",
    "compare",
    "redesign",
    "load_path",
    "made_stronger",
    "capacity",
    "bearings",
    "passages",
    "fasteners",
    "damage",
)
SET = (
    "analysis",
    "drawing",
    "words",
    "demo_set",
    "demo_asks",
    "once",
    "refusals",
    "models",
    "designs",
    "permissions",
    "pictures",
    "paper_codes",
    "sealing",
    "job",
    "revisions",
    "bearings",
    "variants",
    "verdicts",
    "plan",
    "kept_drawings",
    "clear",
    "solid",
    "production",
    "copies",
    "marks",
    "correcting",
    "sheets",
    "templatetags",
    "apps",
)
CHANGE = (
    "words",
    "refusals",
    "models",
    "designs",
    "permissions",
    "photos",
    "asks",
    "carriers",
    "computations",
    "workflow",
    "inspection",
    "templatetags",
    "apps",
    "worker",
)
# What meets people and programs stands above all rules of its app, whichever room it is in.
EDGES = ("forms", "page", "serializers", "api", "admin", "urls", "management", "pages")


def modules() -> dict[str, Path]:
    found = {}
    for package in PACKAGES:
        for path in (ROOT / package).rglob("*.py"):
            name = ".".join(path.relative_to(ROOT).with_suffix("").parts)
            found[name.removesuffix(".__init__")] = path
    return found


MODULES = modules()


def imports(name: str, *, typing: bool = False) -> set[str]:
    """The modules that a module imports anywhere in it, inside functions too; with `typing` those for type checking
    alone, too."""
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
        if id(node) in only_typing and not typing:
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


def edge(module: str) -> bool:
    """Whether a module is a form, a page or a call: `new_page` and `sheathing_api` are, as is all of `changes.api`."""
    return any(part.rpartition("_")[2] in EDGES for part in module.split(".")[1:])


def room(module: str, order: tuple[str, ...]) -> str:
    """The part of its package that a module is in: `format` of `trusses.analysis.format.lengths` within the core."""
    return module.split(".")[2 if order is CORE else 1]


def wrong_way(name: str, module: str, order: tuple[str, ...]) -> str:
    """Why a module of `order` may not import another one of it; empty where it may."""
    if order is not CORE and edge(name):
        return ""
    if order is not CORE and edge(module):
        return f"{name} is a rule and imports {module}, which meets people"
    missing = {room(name, order), room(module, order)} - set(order)
    if missing:
        return f"{', '.join(sorted(missing))} stands in no order"
    return f"{name} imports {module}" if order.index(room(module, order)) > order.index(room(name, order)) else ""


def test_there_is_something_to_read():
    assert {"trusses.analysis.frame.solve", "trusses.models", "changes.models", "project.entry"} <= MODULES.keys()
    assert wrong_way("trusses.analysis.frame.solve", "trusses.analysis.checks.nds", CORE)
    assert not wrong_way("trusses.analysis.checks.stack", "trusses.analysis.frame.solve", CORE)
    assert wrong_way("trusses.revisions", "trusses.marks.page", SET)


def test_relative_and_inner_imports_are_seen(tmp_path, monkeypatch):
    """The reader itself: otherwise the tests below could pass by seeing nothing."""
    source = tmp_path / "planted.py"
    source.write_text("def f():\n    from ..models import Job\n    from django.db import models\nimport celery.app\n")
    monkeypatch.setitem(MODULES, "trusses.analysis.planted", source)
    assert imports("trusses.analysis.planted") == {"trusses.models", "django.db", "celery.app"}


def test_the_writer_of_an_analysis_knows_no_analysis():
    """Not for type checking either: it is called with what it writes."""
    assert "trusses.analysis.analysis_document" in imports("trusses.analysis.analysis")
    assert "trusses.analysis.analysis" not in imports("trusses.analysis.analysis_document", typing=True)


def ours(package: str) -> list[str]:
    return [name for name in MODULES if within(name, (package,)) and name != package]


@pytest.mark.parametrize("name", ours("trusses.analysis"))
def test_the_core_knows_no_web_and_imports_one_way(name):
    outside = {module.partition(".")[0] for module in imports(name)}
    assert not outside & (NOT_IN_THE_CORE | {"changes", "project"})
    for module in imports(name):
        if within(module, ("trusses",)):
            assert within(module, ("trusses.analysis",)), f"{name} imports {module}"
            assert not wrong_way(name, module, CORE), wrong_way(name, module, CORE)


@pytest.mark.parametrize("name", ours("trusses.drawing"))
def test_the_drawing_knows_the_core_alone(name):
    outside = {module.partition(".")[0] for module in imports(name)}
    assert not outside & (NOT_IN_THE_CORE | {"changes", "project"})
    known = {module for module in imports(name) if within(module, ("trusses",))}
    assert all(within(module, ("trusses.analysis", "trusses.drawing")) for module in known)


@pytest.mark.parametrize("name", [name for name in ours("trusses") if not within(name, ("trusses.analysis",))])
def test_the_set_imports_one_way(name):
    if within(name, ("trusses.migrations",)):
        return
    for module in imports(name):
        assert not within(module, ("changes", "project")), f"{name} imports {module}"
        if within(module, ("trusses",)) and module != "trusses":
            assert not wrong_way(name, module, SET), wrong_way(name, module, SET)


@pytest.mark.parametrize("name", ours("changes"))
def test_the_change_imports_one_way(name):
    if within(name, ("changes.migrations",)):
        return
    for module in imports(name):
        assert not within(module, ("project",)) or module == "project.celery", f"{name} imports {module}"
        if within(module, ("changes",)) and module != "changes":
            assert not wrong_way(name, module, CHANGE), wrong_way(name, module, CHANGE)
        if not edge(name):
            assert not (within(module, ("trusses",)) and edge(module)), f"{name} imports {module}"


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
