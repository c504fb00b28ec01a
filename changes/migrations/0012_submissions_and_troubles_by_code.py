from __future__ import annotations

from typing import Any

import django.db.models.deletion
from django.db import migrations, models


def keep_old_sentences(apps: Any, schema_editor: Any) -> None:
    """What was stored as a sentence stays one."""
    Computation, Consequence = apps.get_model("changes", "Computation"), apps.get_model("changes", "Consequence")
    for pk, doing, trouble in Computation.objects.values_list("pk", "doing", "trouble").iterator():
        if doing or trouble:
            Computation.objects.filter(pk=pk).update(doing_by_code=doing or None, trouble_by_code=trouble or None)
    for pk, trouble in Consequence.objects.exclude(trouble="").values_list("pk", "trouble").iterator():
        Consequence.objects.filter(pk=pk).update(trouble_by_code=trouble)


class Migration(migrations.Migration):

    dependencies = [
        ("changes", "0011_photos"),
        ("trusses", "0012_submissions"),
    ]

    operations = [
        migrations.CreateModel(
            "Together",
            [
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("options", models.JSONField(help_text="The ids of the options, in order.")),
                ("analyses", models.JSONField(default=dict)),
                (
                    "request",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="together", to="changes.request"
                    ),
                ),
            ],
            options={"verbose_name_plural": "together", "ordering": ("id",)},
        ),
        migrations.RemoveConstraint("computation", "a_computation_of_a_request_or_of_a_new_mark"),
        migrations.RemoveConstraint("computation", "one_computation_of_a_request_at_a_time"),
        migrations.RenameField("computation", "new_mark", "submission"),
        migrations.AlterField(
            "computation",
            "submission",
            models.OneToOneField(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.CASCADE,
                related_name="computation",
                to="trusses.submission",
            ),
        ),
        migrations.AddField(
            "computation",
            "together",
            models.OneToOneField(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="computation",
                to="changes.together",
            ),
        ),
        migrations.AddConstraint(
            "computation",
            models.UniqueConstraint(
                condition=models.Q(("option", None), ("state__in", ("queued", "running")), ("together", None)),
                fields=("request",),
                name="one_computation_of_a_request_at_a_time",
            ),
        ),
        migrations.AddConstraint(
            "computation",
            models.CheckConstraint(
                condition=models.Q(
                    models.Q(("option", None), ("request", None), ("submission__isnull", False), ("together", None)),
                    models.Q(("request__isnull", False), ("submission", None)),
                    _connector="OR",
                ),
                name="a_computation_of_a_request_or_of_a_submission",
            ),
        ),
        migrations.AddField(
            "computation",
            "doing_by_code",
            models.JSONField(blank=True, help_text="What the worker last said: code, values.", null=True),
        ),
        migrations.AddField(
            "computation",
            "trouble_by_code",
            models.JSONField(blank=True, help_text="Why it failed: code, values.", null=True),
        ),
        migrations.AddField(
            "consequence",
            "trouble_by_code",
            models.JSONField(blank=True, help_text="A refusal: code, place, values.", null=True),
        ),
        migrations.RunPython(keep_old_sentences, elidable=True),
        migrations.RemoveField("computation", "doing"),
        migrations.RemoveField("computation", "trouble"),
        migrations.RemoveField("consequence", "trouble"),
        migrations.RenameField("computation", "doing_by_code", "doing"),
        migrations.RenameField("computation", "trouble_by_code", "trouble"),
        migrations.RenameField("consequence", "trouble_by_code", "trouble"),
    ]
