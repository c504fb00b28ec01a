from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('changes', '0001_squashed_0025_lines_asked_about'),
    ]

    operations = [
        migrations.AlterField(
            model_name='ask',
            name='verdict',
            field=models.CharField(blank=True, choices=[('fits', 'fits as it is'), ('more', 'the wood passes, but what it stands on or is tied to takes more'), ('tie', 'the wood passes, but it needs a tie against uplift'), ('options', 'takes a redesign'), ('none pass', 'no redesign passes'), ('never', 'not possible here')], max_length=10),
        ),
    ]
