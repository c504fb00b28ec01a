from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("changes", "0023_what_a_decision_chose"),
    ]

    operations = [
        migrations.AddField(
            model_name="run",
            name="as_cut",
            field=models.JSONField(
                default=list,
                help_text="Copies cut when it was asked for, which it goes through as built or was asked without.",
            ),
        ),
    ]
