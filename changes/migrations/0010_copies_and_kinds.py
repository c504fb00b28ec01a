from __future__ import annotations

from typing import Any

import django.db.models.deletion
from django.db import migrations, models

KINDS = [
    (kind, kind) for kind in ("opening", "run", "load", "bearing", "passage", "damage", "question", "revision")
]


def name_the_copies(apps: Any, schema_editor: Any) -> None:
    """What was asked of a mark was asked of all its copies that could change; which these were then is not known, so
    of an open request they are today's, and of a closed one all."""
    Ask, Option, Copy = (
        apps.get_model("changes", "Ask"),
        apps.get_model("changes", "Option"),
        apps.get_model("trusses", "Copy"),
    )
    every: dict[int, list[tuple[int, str]]] = {}
    for truss, number, stage in Copy.objects.order_by("number").values_list("truss", "number", "stage"):
        every.setdefault(truss, []).append((number, stage))
    closed = ("approved", "declined", "withdrawn")
    for model in (Ask, Option):
        for pk, truss, state in model.objects.values_list("pk", "truss", "request__state").iterator():
            copies = [
                number
                for number, stage in every.get(truss, ())
                if state in closed or stage in ("designing", "released")
            ]
            model.objects.filter(pk=pk).update(copies=copies)
    Ask.objects.filter(kind="repair").update(kind="damage")


class Migration(migrations.Migration):

    dependencies = [
        ("changes", "0009_what_is_said_by_code"),
        ("trusses", "0010_new_marks_that_wait"),
    ]

    operations = [
        migrations.CreateModel(
            name="Run",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("name", models.CharField(blank=True, max_length=120)),
                ("wish", models.JSONField()),
                (
                    "request",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="runs", to="changes.request"
                    ),
                ),
            ],
            options={"ordering": ("request", "id")},
        ),
        migrations.RemoveConstraint(model_name="option", name="one_option_of_a_rank_in_a_computation"),
        migrations.AddField(
            model_name="ask",
            name="copies",
            field=models.JSONField(
                blank=True, default=list, help_text="Numbers of the mark's copies that it is about."
            ),
        ),
        migrations.AddField(
            model_name="ask",
            name="figures",
            field=models.JSONField(blank=True, default=dict, help_text="What its kind wants shown besides."),
        ),
        migrations.AddField(
            model_name="ask",
            name="wish",
            field=models.JSONField(blank=True, help_text="What else is wanted, as it was read.", null=True),
        ),
        migrations.AddField(
            model_name="ask",
            name="run",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="asks",
                to="changes.run",
            ),
        ),
        migrations.AddField(
            model_name="option",
            name="copies",
            field=models.JSONField(
                blank=True, default=list, help_text="Numbers of the copies that it is for: its asks'."
            ),
        ),
        migrations.AlterField(
            model_name="ask", name="kind", field=models.CharField(choices=KINDS, max_length=10)
        ),
        migrations.AlterField(
            model_name="ask",
            name="truss",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="asks",
                to="trusses.truss",
            ),
        ),
        migrations.AlterField(
            model_name="ask",
            name="revision",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="+",
                to="trusses.revision",
            ),
        ),
        migrations.RunPython(name_the_copies, migrations.RunPython.noop, elidable=True),
        migrations.AddConstraint(
            model_name="option",
            constraint=models.UniqueConstraint(
                condition=models.Q(("drawn_by", None), ("stale", False)),
                fields=("request", "truss", "copies", "rank"),
                name="one_option_of_a_rank_in_a_computation",
            ),
        ),
    ]
