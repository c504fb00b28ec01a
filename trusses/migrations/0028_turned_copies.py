from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('trusses', '0001_squashed_0027_what_tells_of_a_record'),
    ]

    operations = [
        migrations.AlterField(
            model_name='markevent',
            name='code',
            field=models.CharField(choices=[('moved', 'copies moved on'), ('taken back', 'stage move taken back'), ('earlier', 'said of copies of an earlier revision'), ('looked at', 'copies looked at'), ('may be set', 'what was found is closed'), ('made anew', 'copies to be made anew'), ('old one gone', 'old truss destroyed or set apart'), ('corrected', 'first design corrected'), ('withdrawn', 'mark withdrawn'), ('counted', 'number of copies set'), ('placed', 'places in plan set'), ('copies left', "copies became another mark's"), ('copies came', 'copies came from another mark'), ('copies turned', 'copies turned end for end'), ('ended', 'ended without copies'), ('shifted', 'copies shifted in plan'), ('sealed', 'sealed drawing attached'), ('reviewed', 'sealed drawing reviewed'), ('accepted', 'sealed drawing accepted'), ('carried out', 'sealed repair carried out'), ('seal covers', 'said to cover more'), ('seal withdrawn', 'sealed drawing withdrawn')], max_length=20),
        ),
    ]
