from __future__ import annotations

from typing import Any

from django.db import migrations, models


def keep_old_sentences(apps: Any, schema_editor: Any) -> None:
    """What was stored as a sentence stays one."""
    Ask, Option = apps.get_model("changes", "Ask"), apps.get_model("changes", "Option")
    for pk, says in Ask.objects.exclude(says="").values_list("pk", "says").iterator():
        Ask.objects.filter(pk=pk).update(told=[says])
    for pk, title, says in Option.objects.values_list("pk", "title", "says").iterator():
        Option.objects.filter(pk=pk).update(titled=title, told=[says] if says else [])


class Migration(migrations.Migration):

    dependencies = [
        ("changes", "0008_events_by_values"),
    ]

    operations = [
        migrations.AddField(
            model_name="ask",
            name="told",
            field=models.JSONField(blank=True, default=list, help_text="The answer for a builder: code, values."),
        ),
        migrations.AddField(
            model_name="option",
            name="told",
            field=models.JSONField(blank=True, default=list, help_text="What decides about it: code, values."),
        ),
        migrations.AddField(
            model_name="option",
            name="titled",
            field=models.JSONField(
                default="", help_text="A person's own words, or what leads to it: code, values."
            ),
            preserve_default=False,
        ),
        migrations.RunPython(keep_old_sentences, elidable=True),
        migrations.RemoveField(model_name="ask", name="says"),
        migrations.RemoveField(model_name="option", name="says"),
        migrations.RemoveField(model_name="option", name="title"),
    ]
