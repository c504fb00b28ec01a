import django.db.models.deletion
import django.utils.timezone
from django.conf import settings
from django.db import migrations, models


def answers_to_words(apps, schema_editor):
    """An answer that was given once is the first word on what was asked; no inspector has accepted it yet."""
    Correction = apps.get_model("changes", "Correction")
    Word = apps.get_model("changes", "CorrectionWord")
    for row in Correction.objects.exclude(answered_at=None):
        Word.objects.create(
            correction=row, code="answered", says=row.answer, by_id=row.answered_by_id, at=row.answered_at
        )
        Correction.objects.filter(pk=row.pk).update(state="answered")


class Migration(migrations.Migration):

    dependencies = [
        ('changes', '0028_set_knows_better'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.AddField(
            model_name='correction',
            name='about',
            field=models.CharField(blank=True, max_length=300),
        ),
        migrations.AddField(
            model_name='correction',
            name='copies',
            field=models.JSONField(blank=True, default=list),
        ),
        migrations.AddField(
            model_name='correction',
            name='item',
            field=models.CharField(blank=True, max_length=120),
        ),
        migrations.AddField(
            model_name='correction',
            name='named',
            field=models.BooleanField(default=False),
        ),
        migrations.AddField(
            model_name='correction',
            name='photos',
            field=models.JSONField(blank=True, default=list),
        ),
        migrations.AddField(
            model_name='correction',
            name='state',
            field=models.CharField(choices=[('asked', 'not answered yet'), ('answered', 'answered, not yet accepted by the inspector'), ('not yet', 'not yet as it should be, says the inspector'), ('accepted', 'accepted by the inspector'), ('closed', 'closed without the inspector’s word')], default='asked', max_length=10),
        ),
        migrations.CreateModel(
            name='CorrectionWord',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('code', models.CharField(choices=[('answered', 'answered'), ('not yet', 'not yet'), ('accepted', 'accepted'), ('closed', 'closed without the inspector’s word')], max_length=10)),
                ('says', models.TextField(blank=True, max_length=2000)),
                ('photos', models.JSONField(blank=True, default=list)),
                ('by_name', models.CharField(blank=True, max_length=120)),
                ('key', models.UUIDField(blank=True, help_text="Of an inspector's form: sent twice, it is one.", null=True)),
                ('at', models.DateTimeField(default=django.utils.timezone.now)),
                ('by', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('correction', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='words', to='changes.correction')),
                ('through', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='changes.inspectorlink')),
            ],
            options={
                'ordering': ('correction', 'id'),
                'constraints': [models.UniqueConstraint(fields=('correction', 'key'), name='a_word_once_of_a_form')],
            },
        ),
        migrations.RunPython(answers_to_words, migrations.RunPython.noop),
        migrations.RemoveField(
            model_name='correction',
            name='answer',
        ),
        migrations.RemoveField(
            model_name='correction',
            name='answered_at',
        ),
        migrations.RemoveField(
            model_name='correction',
            name='answered_by',
        ),
    ]
