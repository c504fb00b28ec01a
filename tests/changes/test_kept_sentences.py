"""What was stored as a sentence before sentences were codes is still told, word for word, after the migration."""

import json
import os
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent.parent

NO = (False, False)
FROM_BEFORE = """
import json
import django
django.setup()
from django.db import connection
from django.db.migrations.executor import MigrationExecutor

executor = MigrationExecutor(connection)
before = [node for node in executor.loader.graph.leaf_nodes() if node[0] not in ("changes", "trusses")]
before += [("changes", "0008_events_by_values"), ("trusses", "0010_new_marks_that_wait")]
executor.migrate(before)
old = executor.loader.project_state(before).apps
user = old.get_model("auth", "User").objects.create(username="builder")
job = old.get_model("trusses", "Job").objects.create(name="House", time_zone="America/Denver")
truss = old.get_model("trusses", "Truss").objects.create(job=job, mark="R1")
stored = {"truss": truss, "document": {}, "analysis": {}, "sha256": "0" * 64, "issued_by": user}
revision = old.get_model("trusses", "Revision").objects.create(number=0, **stored)
request = old.get_model("changes", "Request").objects.create(
    job=job, filed_by=user, reason="A duct.", needed_by="2026-12-01"
)
about = {"request": request, "truss": truss, "revision": revision}
Ask, Option = old.get_model("changes", "Ask"), old.get_model("changes", "Option")
asks = [Ask.objects.create(kind="opening", says=says, **about).pk for says in ("It fits as it is.", "")]
options = [
    Option.objects.create(title="Two webs fewer", says=says, document={}, sha256="0" * 64, rank=rank, **about).pk
    for rank, says in enumerate(("Every lumber check passes.", ""))
]
broke = "the computation broke; what happened is in the worker's log."
Computation, Consequence = old.get_model("changes", "Computation"), old.get_model("changes", "Consequence")
work = [
    Computation.objects.create(request=request, state="failed", doing="", trouble=broke).pk,
    Computation.objects.create(request=request, state="running", doing="R1: computing", trouble="").pk,
]
carried = {"carrier": truss, "revision": revision, "because": [], "place": 0}
chain = [
    Consequence.objects.create(option_id=option, trouble=trouble, **carried).pk
    for option, trouble in zip(options, ("R1 has no bearing at joint Q.", ""))
]
NewMark = old.get_model("trusses", "NewMark")
new = {"job": job, "document": {"mark": "R1"}, "quantity": 3, "sent_by": user}
sent = [
    NewMark.objects.create(**new, can_change_until="2027-03-01").pk,
    NewMark.objects.create(**new, trouble="This job has a mark R1 already.").pk,
    NewMark.objects.create(**new, truss=truss).pk,
]
Computation.objects.create(new_mark_id=sent[0])
executor = MigrationExecutor(connection)
executor.migrate(executor.loader.graph.leaf_nodes())
from changes.models import Ask, Computation, Consequence, Option
from trusses.models import Revision, Submission, Truss
truss_now, revision_now = Truss.objects.get(pk=truss.pk), Revision.objects.get(pk=revision.pk)
told = [[one.told, one.says] for one in Ask.objects.filter(pk__in=asks).order_by("pk")]
told += [[one.titled, one.title, one.told, one.says] for one in Option.objects.filter(pk__in=options).order_by("pk")]
told += [[one.doing_says, one.trouble_says] for one in Computation.objects.filter(pk__in=work).order_by("pk")]
told += [[one.trouble_says, one.passes] for one in Consequence.objects.filter(pk__in=chain).order_by("pk")]
told += [
    [one.kind, str(one), one.said, one.trouble_says, one.waits, one.truss == truss_now, one.revision == revision_now]
    for one in Submission.objects.filter(pk__in=sent).order_by("pk")
]
told.append([Submission.objects.get(pk=sent[0]).computation.state, Computation.objects.last().submission_id == sent[0]])
print(json.dumps(told))
"""


def test_sentences_of_before_are_told_as_they_were(tmp_path):
    settings = {
        "DJANGO_SETTINGS_MODULE": "project.settings",
        "MODE": "development",
        "DATA_DIR": str(tmp_path),
        "DATABASE_URL": f"sqlite:///{tmp_path / 'old.sqlite3'}",
    }
    done = subprocess.run(
        [sys.executable, "-c", FROM_BEFORE],
        cwd=ROOT,
        env={**os.environ, **settings},
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    assert json.loads(done.stdout.splitlines()[-1]) == [
        [["It fits as it is."], "It fits as it is."],
        [[], ""],
        ["Two webs fewer", "Two webs fewer", ["Every lumber check passes."], "Every lumber check passes."],
        ["Two webs fewer", "Two webs fewer", [], ""],
        ["", "the computation broke; what happened is in the worker's log."],
        ["R1: computing", ""],
        ["R1 has no bearing at joint Q.", False],
        ["", None],
        ["new mark", "R1", {"quantity": 3, "can_change_until": "2027-03-01"}, "", True, False, False],
        ["new mark", "R1", {"quantity": 3, "can_change_until": None}, "This job has a mark R1 already.", False, *NO],
        ["new mark", "R1", {"quantity": 3, "can_change_until": None}, "", False, True, True],
        ["queued", True],
    ]
