from __future__ import annotations

from typing import Any

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


def keep_what_was_sent(apps: Any, schema_editor: Any) -> None:
    """What was said with a new mark, why it came to nothing, a sentence that stays one, and what it has become."""
    Submission, Revision = apps.get_model("trusses", "Submission"), apps.get_model("trusses", "Revision")
    for one in Submission.objects.iterator():
        until = one.can_change_until.isoformat() if one.can_change_until else None
        first = Revision.objects.filter(truss=one.truss_id, number=0).values_list("pk", flat=True).first()
        Submission.objects.filter(pk=one.pk).update(
            said={"quantity": one.quantity, "can_change_until": until},
            trouble_by_code=one.trouble or None,
            revision=first if one.truss_id else None,
        )


class Migration(migrations.Migration):

    dependencies = [
        ("trusses", "0011_walls_and_north_in_plan"),
        # whose rows point to what gets another name here
        ("changes", "0007_computations_of_new_marks"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.RenameModel("NewMark", "Submission"),
        migrations.AlterField(
            "submission",
            "job",
            models.ForeignKey(
                on_delete=django.db.models.deletion.CASCADE, related_name="submissions", to="trusses.job"
            ),
        ),
        migrations.AddField(
            "submission",
            "kind",
            models.CharField(
                choices=[
                    ("new mark", "new mark"),
                    ("correction", "corrected first design"),
                    ("loads", "what stands on a mark, written into its drawing"),
                ],
                default="new mark",
                max_length=20,
            ),
        ),
        migrations.AlterField(
            "submission",
            "truss",
            models.ForeignKey(
                blank=True,
                help_text="What it is about; of a new mark, what it has become.",
                null=True,
                on_delete=django.db.models.deletion.CASCADE,
                related_name="submissions",
                to="trusses.truss",
            ),
        ),
        migrations.AlterField("submission", "document", models.JSONField(blank=True, null=True)),
        migrations.AddField(
            "submission",
            "said",
            models.JSONField(default=dict, help_text="What was said with it, by its kind."),
        ),
        migrations.AddField(
            "submission",
            "revision",
            models.OneToOneField(
                blank=True,
                help_text="What it has become.",
                null=True,
                on_delete=django.db.models.deletion.CASCADE,
                related_name="+",
                to="trusses.revision",
            ),
        ),
        migrations.AddField(
            "submission",
            "trouble_by_code",
            models.JSONField(blank=True, help_text="Why it came to nothing: code, values.", null=True),
        ),
        migrations.RunPython(keep_what_was_sent, elidable=True),
        migrations.RemoveField("submission", "trouble"),
        migrations.RenameField("submission", "trouble_by_code", "trouble"),
        migrations.RemoveField("submission", "quantity"),
        migrations.RemoveField("submission", "can_change_until"),
    ]
