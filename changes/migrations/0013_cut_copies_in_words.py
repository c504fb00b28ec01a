from __future__ import annotations

from typing import Any

from django.db import migrations


def keep_as_sentences(apps: Any, schema_editor: Any) -> None:
    """Copies that are cut keep their mark now, so nothing finds this any more; what was found stays as it was told."""
    Consequence = apps.get_model("changes", "Consequence")
    for pk, findings in Consequence.objects.exclude(findings=[]).values_list("pk", "findings").iterator():
        told = [_sentence(one) for one in findings]
        if told != findings:
            Consequence.objects.filter(pk=pk).update(findings=told)


def _sentence(finding: Any) -> Any:
    if not isinstance(finding, dict) or finding["code"] != "cut-copies":
        return finding
    mark, numbers = finding["values"]["mark"], finding["values"]["numbers"]
    one = len(numbers) == 1
    return (
        f"Of {mark}, {len(numbers)} {'copy is' if one else 'copies are'} cut already"
        f" ({', '.join(map(str, numbers))}) and keep{'s' if one else ''} the old loads; the numbers here take every"
        " copy as changed."
    )


class Migration(migrations.Migration):

    dependencies = [
        ("changes", "0012_submissions_and_troubles_by_code"),
    ]

    operations = [migrations.RunPython(keep_as_sentences, migrations.RunPython.noop, elidable=True)]
