from django.db import migrations, models

HELP = "The SHA-256 of each picture, by which its file is named."


def as_lists(apps, schema_editor):
    for pk, photo in apps.get_model("trusses", "Look").objects.exclude(photo="").values_list("pk", "photo"):
        apps.get_model("trusses", "Look").objects.filter(pk=pk).update(photos=[photo])


def as_one(apps, schema_editor):
    for pk, photos in apps.get_model("trusses", "Look").objects.exclude(photos=[]).values_list("pk", "photos"):
        apps.get_model("trusses", "Look").objects.filter(pk=pk).update(photo=photos[0])


class Migration(migrations.Migration):
    dependencies = [("trusses", "0022_looks_and_ticks")]

    operations = [
        migrations.AddField("fixed", "photos", models.JSONField(default=list, help_text=HELP)),
        migrations.AddField("look", "photos", models.JSONField(default=list, help_text=HELP)),
        migrations.RunPython(as_lists, as_one),
        migrations.RemoveField("look", "photo"),
    ]
