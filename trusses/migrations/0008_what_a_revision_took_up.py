"""A revision records which of its loads stand there for what it carries.

Until now their notes said it. Here those notes are read once, for the revisions that have them.
"""

import math
import re

from fractions import Fraction

from django.db import migrations, models

_FROM = re.compile(r"from (?P<mark>.+) at (?P<along>-?[0-9][-0-9' /]*\")(?:, its (?P<used>.+) standing in)?")
_LENGTH = re.compile(r"(?P<less>-?)(?:(?P<feet>\d+)'-?)? ?(?P<inches>\d+)?(?: ?(?P<part>\d+/\d+))?\"")
_PART = " (carried)"


def _inches(text):
    """Of a length as those notes write it: 10'-0", 7 1/2", 3/4"."""
    found = _LENGTH.fullmatch(text)
    if found is None:
        return None
    inches = 12 * int(found["feet"] or 0) + int(found["inches"] or 0) + float(Fraction(found["part"] or 0))
    return -inches if found["less"] else inches


def _record(document):
    members = {member["id"]: member for member in document["members"]}
    taken, parts = [], {}
    for held in document.get("loads", {}).values():
        for load in held:
            if str(load.get("pattern", "")).endswith(_PART):
                parts[load["case"], load["pattern"]] = None
    for load in document.get("loads", {}).get("point", ()):
        found = _FROM.fullmatch(str(load.get("note", "")))
        if found is None or load.get("member") not in members:
            continue
        along = _inches(found["along"])
        if along is None:
            continue
        (ax, ay), (bx, by) = (document["joints"][end] for end in members[load["member"]]["joints"])
        share = load["at_in"] / math.hypot(bx - ax, by - ay)
        taken.append(
            {
                "mark": found["mark"],
                "case": load["case"],
                "pattern": load.get("pattern"),
                "alone": "acts" in load,
                "down_lb": load["down_lb"],
                "place_in": [ax + (bx - ax) * share, ay + (by - ay) * share],
                "along_in": along,
                "stands_in": found["used"],
            }
        )
    return {"loads": taken, "parts": [list(part) for part in parts]} if taken else {}


def read_the_notes(apps, schema_editor):
    revisions = apps.get_model("trusses", "Revision").objects
    for pk in list(revisions.values_list("pk", flat=True)):
        record = _record(revisions.values_list("document", flat=True).get(pk=pk))
        if record:
            revisions.filter(pk=pk).update(taken_up=record)


class Migration(migrations.Migration):
    dependencies = [("trusses", "0007_kinds_that_are_never_automatic")]

    operations = [
        migrations.AddField(
            model_name="revision",
            name="taken_up",
            field=models.JSONField(
                default=dict,
                help_text="Which of its loads stand there for what it carries, as `carrying.taken_up` writes it.",
            ),
        ),
        migrations.RunPython(read_the_notes, migrations.RunPython.noop),
    ]
