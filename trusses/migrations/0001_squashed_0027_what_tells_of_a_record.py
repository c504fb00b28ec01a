"""All tables at once, as the migrations that it replaces left them one after the other."""

import django.core.validators
import django.db.models.deletion
import django.utils.timezone
import trusses.models.bearings
import trusses.models.jobs
import trusses.models.marks
import trusses.models.shop
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):

    initial = True

    replaces = [
        ('trusses', '0001_initial'),
        ('trusses', '0002_job_rates_and_plate_tables'),
        ('trusses', '0003_wall_lines_and_bearing_links'),
        ('trusses', '0004_who_said_what_a_bearing_stands_on'),
        ('trusses', '0005_sheathing'),
        ('trusses', '0006_a_wall_line_is_a_name_and_a_plate'),
        ('trusses', '0007_kinds_that_are_never_automatic'),
        ('trusses', '0008_what_a_revision_took_up'),
        ('trusses', '0009_releases_and_events_of_a_mark'),
        ('trusses', '0010_new_marks_that_wait'),
        ('trusses', '0011_walls_and_north_in_plan'),
        ('trusses', '0012_submissions'),
        ('trusses', '0013_heights_of_bearing'),
        ('trusses', '0014_variants'),
        ('trusses', '0015_sealed_drawings'),
        ('trusses', '0016_shifted_copies'),
        ('trusses', '0017_what_a_job_builds_with'),
        ('trusses', '0018_paper_codes'),
        ('trusses', '0019_copies_of_earlier_revisions'),
        ('trusses', '0020_how_to_reach_people'),
        ('trusses', '0021_days_to_a_seal'),
        ('trusses', '0022_looks_and_ticks'),
        ('trusses', '0023_photos_of_ticks'),
        ('trusses', '0024_old_trusses_gone'),
        ('trusses', '0025_plain_words'),
        ('trusses', '0026_what_a_seal_covers'),
        ('trusses', '0027_what_tells_of_a_record'),
    ]


    dependencies = [
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name='Copy',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('number', models.PositiveIntegerField(help_text='1, 2, 3 … within the mark and its variants: a copy keeps it when it goes from one to another.')),
                ('stage', models.CharField(choices=[('designing', 'designing'), ('released', 'released'), ('cut', 'cut'), ('built', 'built'), ('delivered', 'delivered'), ('set', 'set')], default='designing', max_length=10)),
                ('earlier', models.CharField(blank=True, choices=[('stays', 'stays by the revision that it is built to'), ('waits', 'waits: it is not set before it is said to stay, or made anew')], help_text='While built to an earlier revision.', max_length=10)),
                ('found_at_delivery', models.CharField(blank=True, max_length=500)),
                ('found_at_setting', models.CharField(blank=True, max_length=500)),
            ],
            options={
                'verbose_name_plural': 'copies',
                'ordering': ('truss', 'number'),
            },
        ),
        migrations.CreateModel(
            name='Job',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('name', models.CharField(max_length=120)),
                ('place', models.CharField(blank=True, help_text="Lot or address, as the job's papers write it.", max_length=200)),
                ('time_zone', models.CharField(default='America/Chicago', help_text='The last day for changes ends at midnight here.', max_length=60, validators=[trusses.models.jobs.validate_time_zone])),
                ('sheathing_km', models.PositiveSmallIntegerField(blank=True, choices=[(2300, 'Panels of 3/8 in. or more, nailed on at 19% moisture or less'), (1200, 'Panels of 3/8 in. or more, nailed on while the lumber was wetter than 19%')], help_text='What the analysis may take for granted of the sheathing, by NDS 4.4.2. Empty: nothing.', null=True, verbose_name='sheathing on the top chords')),
                ('north_deg', models.FloatField(blank=True, help_text="Which way north lies in plan, degrees clockwise from the plan's y. Empty: not said.", null=True, validators=[django.core.validators.MinValueValidator(0), django.core.validators.MaxValueValidator(360)], verbose_name='north')),
                ('bearing_heights', models.JSONField(blank=True, default=dict, help_text="How high the trusses of each level bear, {level: inches} above the lowest level's; others assumed.", validators=[trusses.models.jobs.validate_heights])),
                ('is_demo', models.BooleanField(default=False, editable=False)),
            ],
            options={
                'ordering': ('name', 'id'),
            },
        ),
        migrations.CreateModel(
            name='Placement',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('level', models.CharField(default='Roof', max_length=60)),
                ('origin_x_in', models.FloatField(help_text="Plan position of the first copy's left end, inches.")),
                ('origin_y_in', models.FloatField()),
                ('direction', models.CharField(choices=[('x', 'span runs along x'), ('y', 'span runs along y')], default='x', help_text='Which way the span runs in plan; copies step the other way.', max_length=1)),
                ('spacing_in', models.FloatField(validators=[django.core.validators.MinValueValidator(0)])),
                ('count', models.PositiveIntegerField(validators=[django.core.validators.MinValueValidator(1), django.core.validators.MaxValueValidator(500)])),
                ('turned', models.BooleanField(default=False, help_text='The copies stand turned end for end: their left end, which is marked, is the far one.')),
                ('note', models.CharField(blank=True, max_length=200)),
            ],
            options={
                'ordering': ('truss', 'id'),
            },
        ),
        migrations.CreateModel(
            name='JobBuilding',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('tolerance_in', models.FloatField(default=0.25, validators=[django.core.validators.MinValueValidator(0.0), django.core.validators.MaxValueValidator(2.0)])),
                ('from_joints_in', models.FloatField(default=4.0, validators=[django.core.validators.MinValueValidator(0.0), django.core.validators.MaxValueValidator(24.0)])),
                ('longest_piece_in', models.FloatField(default=240.0, validators=[django.core.validators.MinValueValidator(96.0), django.core.validators.MaxValueValidator(720.0)])),
                ('stock', models.JSONField(blank=True, default=list, help_text='Keys of lumber in stock. Empty: all.', validators=[trusses.models.shop.validate_stock])),
                ('job', models.OneToOneField(on_delete=django.db.models.deletion.CASCADE, related_name='building', to='trusses.job')),
            ],
            options={
                'verbose_name_plural': 'job building',
            },
        ),
        migrations.CreateModel(
            name='JobRates',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('currency', models.CharField(default='$', help_text='The sign before an amount.', max_length=3)),
                ('board_foot', models.DecimalField(blank=True, decimal_places=2, help_text='For each board foot of lumber.', max_digits=8, null=True, validators=[django.core.validators.MinValueValidator(0)])),
                ('piece', models.DecimalField(blank=True, decimal_places=2, help_text='For each piece cut.', max_digits=8, null=True, validators=[django.core.validators.MinValueValidator(0)])),
                ('joint', models.DecimalField(blank=True, decimal_places=2, help_text='For each joint pressed, in each ply.', max_digits=8, null=True, validators=[django.core.validators.MinValueValidator(0)])),
                ('note', models.CharField(blank=True, help_text='What the rates contain, and as of when.', max_length=200)),
                ('seal_days', models.PositiveSmallIntegerField(blank=True, help_text='From a revision to its sealed drawing on site, as the designer reckons. Empty: not said.', null=True, verbose_name='working days to a sealed drawing')),
                ('job', models.OneToOneField(on_delete=django.db.models.deletion.CASCADE, related_name='rates', to='trusses.job')),
            ],
            options={
                'verbose_name_plural': 'job rates',
            },
        ),
        migrations.CreateModel(
            name='Look',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('when', models.CharField(choices=[('delivered', 'delivered'), ('set', 'set')], max_length=10)),
                ('points', models.JSONField(default=dict, help_text="{point: right or not}; those that weren't looked at lack.")),
                ('note', models.CharField(blank=True, max_length=500)),
                ('photos', models.JSONField(default=list, help_text='The SHA-256 of each picture, by which its file is named.')),
                ('at', models.DateTimeField(default=django.utils.timezone.now)),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('copy', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='looks', to='trusses.copy')),
            ],
            options={
                'ordering': ('id',),
            },
        ),
        migrations.CreateModel(
            name='LookClosed',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('says', models.CharField(max_length=500)),
                ('at', models.DateTimeField(default=django.utils.timezone.now)),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('look', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='closed', to='trusses.look')),
            ],
            options={
                'abstract': False,
            },
        ),
        migrations.CreateModel(
            name='Membership',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('role', models.CharField(choices=[('builder', 'builder'), ('designer', 'designer'), ('site lead', 'site lead')], max_length=10)),
                ('phone', models.CharField(blank=True, help_text='Where the others of this job reach you.', max_length=30, validators=[django.core.validators.RegexValidator('^[0-9+(][0-9 ().+-]*[0-9]$', 'A phone number has figures, spaces and ( ) . + - only.')])),
                ('job', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='memberships', to='trusses.job')),
                ('user', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='memberships', to=settings.AUTH_USER_MODEL)),
            ],
        ),
        migrations.AddField(
            model_name='job',
            name='people',
            field=models.ManyToManyField(related_name='jobs', through='trusses.Membership', to=settings.AUTH_USER_MODEL),
        ),
        migrations.AddField(
            model_name='copy',
            name='placement',
            field=models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='copies', to='trusses.placement'),
        ),
        migrations.CreateModel(
            name='PlateTable',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('report', models.CharField(help_text='Name and number of the evaluation report that the values were taken from.', max_length=200)),
                ('rows', models.JSONField(help_text='The plates, one a row, by the columns of `trusses.analysis.demands.plates`.')),
                ('uploaded_at', models.DateTimeField(default=django.utils.timezone.now)),
                ('job', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='plate_tables', to='trusses.job')),
                ('uploaded_by', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'ordering': ('job', 'id'),
            },
        ),
        migrations.CreateModel(
            name='Revision',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('number', models.PositiveIntegerField()),
                ('document', models.JSONField()),
                ('sha256', models.CharField(db_index=True, max_length=64)),
                ('analysis', models.JSONField()),
                ('accepts', models.JSONField(default=list, help_text='Serviceability checks that fail and were accepted: rule, reason.')),
                ('taken_up', models.JSONField(default=dict, help_text='Which of its loads stand there for what it carries, as `carrying.taken_up` writes it.')),
                ('issued_at', models.DateTimeField(default=django.utils.timezone.now)),
                ('comes_from', models.ForeignKey(blank=True, help_text="Of a variant's first revision: the one of the other mark that its copies had.", null=True, on_delete=django.db.models.deletion.PROTECT, related_name='became', to='trusses.revision')),
                ('issued_by', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'ordering': ('truss', 'number'),
            },
        ),
        migrations.CreateModel(
            name='PaperCode',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('token', models.CharField(max_length=16, unique=True)),
                ('made_at', models.DateTimeField(default=django.utils.timezone.now)),
                ('ended_at', models.DateTimeField(blank=True, null=True)),
                ('reason', models.CharField(blank=True, max_length=500)),
                ('ended_by', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('revision', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='paper_codes', to='trusses.revision')),
            ],
            options={
                'ordering': ('revision', 'id'),
            },
        ),
        migrations.AddField(
            model_name='copy',
            name='built_to',
            field=models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='copies', to='trusses.revision'),
        ),
        migrations.AddField(
            model_name='copy',
            name='earlier_for',
            field=models.ForeignKey(blank=True, help_text='The current revision for which that was said; another one asks anew.', null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='trusses.revision'),
        ),
        migrations.AddField(
            model_name='copy',
            name='released_to',
            field=models.ForeignKey(blank=True, help_text='What a designer released it to; the saw cuts to no other.', null=True, on_delete=django.db.models.deletion.PROTECT, related_name='released_copies', to='trusses.revision'),
        ),
        migrations.CreateModel(
            name='SealedDrawing',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('copies', models.JSONField(blank=True, default=list, help_text='Of a repair: numbers of the copies; else empty.')),
                ('sealed_by', models.CharField(max_length=120)),
                ('licence', models.CharField(max_length=40)),
                ('state', models.CharField(max_length=2)),
                ('sealed_on', models.DateField()),
                ('covers', models.JSONField(blank=True, default=list, help_text='Some of COVERS.')),
                ('sha256', models.CharField(max_length=64)),
                ('size_bytes', models.PositiveIntegerField()),
                ('pages', models.PositiveIntegerField()),
                ('attached_at', models.DateTimeField(default=django.utils.timezone.now)),
                ('attached_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('replaces', models.OneToOneField(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='replaced_by', to='trusses.sealeddrawing')),
                ('revision', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='sealed_drawings', to='trusses.revision')),
            ],
            options={
                'ordering': ('id',),
            },
        ),
        migrations.CreateModel(
            name='SealRecord',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('kind', models.CharField(choices=[('reviewed', 'reviewed by the building designer'), ('accepted', 'accepted by the building department'), ('carried out', 'repair carried out as drawn'), ('plates', 'said to cover its plates'), ('restraint', 'said to cover its permanent restraint and bracing'), ('withdrawn', 'withdrawn')], max_length=12)),
                ('name', models.CharField(blank=True, help_text='Who reviewed, accepted or looked at it.', max_length=120)),
                ('told_by', models.CharField(blank=True, help_text="What tells of another's act: a paper, an e-mail, a number to find it by.", max_length=200)),
                ('on', models.DateField()),
                ('reason', models.CharField(blank=True, help_text='Why it was withdrawn.', max_length=500)),
                ('at', models.DateTimeField(default=django.utils.timezone.now)),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('drawing', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='records', to='trusses.sealeddrawing')),
            ],
            options={
                'ordering': ('id',),
            },
        ),
        migrations.CreateModel(
            name='SealRule',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('review', models.BooleanField(default=True)),
                ('acceptance', models.BooleanField(default=True)),
                ('without', models.CharField(choices=[('blocks', 'Nothing is cut or set without one'), ('warns', 'Cutting and setting without one is warned of, and the record says so')], default='blocks', max_length=10)),
                ('said_at', models.DateTimeField(default=django.utils.timezone.now)),
                ('job', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='seal_rules', to='trusses.job')),
                ('said_by', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'ordering': ('job', 'id'),
            },
        ),
        migrations.CreateModel(
            name='Truss',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('mark', models.CharField(max_length=20)),
                ('kinds', models.JSONField(blank=True, default=list, help_text='Which of the kinds it is of that nothing automatic answers for.', validators=[trusses.models.marks.validate_kinds])),
                ('can_change_until', models.DateField(blank=True, help_text="The last day for changes, that day included, in the job's time zone.", null=True)),
                ('withdrawn_at', models.DateTimeField(blank=True, editable=False, help_text='Its designer took it out of the set; the record stays.', null=True)),
                ('current', models.OneToOneField(blank=True, editable=False, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='current_of', to='trusses.revision')),
                ('job', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='trusses', to='trusses.job')),
                ('variant_of', models.ForeignKey(blank=True, editable=False, help_text='The mark that its copies were of at first.', null=True, on_delete=django.db.models.deletion.PROTECT, related_name='variants', to='trusses.truss')),
            ],
            options={
                'verbose_name_plural': 'trusses',
                'ordering': ('job', 'mark'),
            },
        ),
        migrations.CreateModel(
            name='Submission',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('kind', models.CharField(choices=[('new mark', 'new mark'), ('correction', 'corrected first design'), ('loads', 'what stands on a mark, written into its drawing')], default='new mark', max_length=20)),
                ('document', models.JSONField(blank=True, null=True)),
                ('said', models.JSONField(default=dict, help_text='What was said with it, by its kind.')),
                ('sent_at', models.DateTimeField(default=django.utils.timezone.now)),
                ('trouble', models.JSONField(blank=True, help_text='Why it came to nothing: code, values.', null=True)),
                ('job', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='submissions', to='trusses.job')),
                ('revision', models.OneToOneField(blank=True, help_text='What it has become.', null=True, on_delete=django.db.models.deletion.CASCADE, related_name='+', to='trusses.revision')),
                ('sent_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('truss', models.ForeignKey(blank=True, help_text='What it is about; of a new mark, what it has become.', null=True, on_delete=django.db.models.deletion.CASCADE, related_name='submissions', to='trusses.truss')),
            ],
            options={
                'ordering': ('job', 'id'),
            },
        ),
        migrations.AddField(
            model_name='sealeddrawing',
            name='truss',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='sealed_drawings', to='trusses.truss'),
        ),
        migrations.AddField(
            model_name='revision',
            name='truss',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='revisions', to='trusses.truss'),
        ),
        migrations.AddField(
            model_name='placement',
            name='truss',
            field=models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='placements', to='trusses.truss'),
        ),
        migrations.CreateModel(
            name='MarkEvent',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('at', models.DateTimeField(default=django.utils.timezone.now)),
                ('code', models.CharField(choices=[('moved', 'copies moved on'), ('taken back', 'stage move taken back'), ('earlier', 'said of copies of an earlier revision'), ('looked at', 'copies looked at'), ('may be set', 'what was found is closed'), ('made anew', 'copies to be made anew'), ('old one gone', 'old truss destroyed or set apart'), ('corrected', 'first design corrected'), ('withdrawn', 'mark withdrawn'), ('counted', 'number of copies set'), ('placed', 'places in plan set'), ('copies left', "copies became another mark's"), ('copies came', 'copies came from another mark'), ('ended', 'ended without copies'), ('shifted', 'copies shifted in plan'), ('sealed', 'sealed drawing attached'), ('reviewed', 'sealed drawing reviewed'), ('accepted', 'sealed drawing accepted'), ('carried out', 'sealed repair carried out'), ('seal covers', 'said to cover more'), ('seal withdrawn', 'sealed drawing withdrawn')], max_length=20)),
                ('values', models.JSONField(default=dict)),
                ('by', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('truss', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='events', to='trusses.truss')),
            ],
            options={
                'ordering': ('id',),
            },
        ),
        migrations.CreateModel(
            name='Fixed',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('item', models.CharField(max_length=120)),
                ('done', models.BooleanField(default=True)),
                ('anchored', models.CharField(blank=True, help_text='To what it is anchored.', max_length=200)),
                ('photos', models.JSONField(default=list, help_text='The SHA-256 of each picture, by which its file is named.')),
                ('at', models.DateTimeField(default=django.utils.timezone.now)),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('revision', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='trusses.revision')),
                ('truss', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='fixed', to='trusses.truss')),
            ],
            options={
                'ordering': ('id',),
            },
        ),
        migrations.AddField(
            model_name='copy',
            name='truss',
            field=models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='copies', to='trusses.truss'),
        ),
        migrations.CreateModel(
            name='WallLine',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('label', models.CharField(help_text='As the plan names it, such as “north wall” or “grid B”.', max_length=60)),
                ('plate', models.CharField(blank=True, help_text='Lumber of its top plate, a key of the lumber table such as 2x4 SPF No.1/No.2. Empty: not given.', max_length=40, validators=[trusses.models.bearings.validate_lumber])),
                ('level', models.CharField(blank=True, help_text='The level of the plan that it is drawn on.', max_length=60)),
                ('points', models.JSONField(blank=True, default=list, help_text='Its line in plan, [[x, y], …] in inches. Empty: not drawn.', validators=[trusses.models.bearings.validate_line])),
                ('job', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='wall_lines', to='trusses.job')),
            ],
            options={
                'ordering': ('job', 'label'),
            },
        ),
        migrations.CreateModel(
            name='BearingLink',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('joint', models.CharField(max_length=40)),
                ('hung', models.JSONField(blank=True, default=list)),
                ('said_at', models.DateTimeField(default=django.utils.timezone.now)),
                ('said_by', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('carrier', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='carried', to='trusses.truss')),
                ('truss', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='stands_on', to='trusses.truss')),
                ('wall', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='bearings', to='trusses.wallline')),
            ],
            options={
                'ordering': ('truss', 'id'),
            },
        ),
        migrations.CreateModel(
            name='KeyedAct',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('key', models.CharField(max_length=240)),
                ('body_sha256', models.CharField(max_length=64)),
                ('answer', models.JSONField(default=dict)),
                ('at', models.DateTimeField(default=django.utils.timezone.now)),
                ('user', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'constraints': [models.UniqueConstraint(fields=('user', 'key'), name='an_act_once_by_a_key')],
            },
        ),
        migrations.AddConstraint(
            model_name='membership',
            constraint=models.UniqueConstraint(fields=('job', 'user'), name='one_role_in_a_job'),
        ),
        migrations.AddConstraint(
            model_name='papercode',
            constraint=models.UniqueConstraint(condition=models.Q(('ended_at', None)), fields=('revision',), name='one_paper_code_counts_of_a_revision'),
        ),
        migrations.AddConstraint(
            model_name='sealrecord',
            constraint=models.UniqueConstraint(fields=('drawing', 'kind'), name='each_recorded_once_of_a_drawing'),
        ),
        migrations.AddConstraint(
            model_name='truss',
            constraint=models.UniqueConstraint(fields=('job', 'mark'), name='a_mark_once_in_a_job'),
        ),
        migrations.AddConstraint(
            model_name='revision',
            constraint=models.UniqueConstraint(fields=('truss', 'number'), name='a_revision_number_once_in_a_mark'),
        ),
        migrations.AddConstraint(
            model_name='copy',
            constraint=models.UniqueConstraint(fields=('truss', 'number'), name='a_copy_number_once_in_a_mark'),
        ),
        migrations.AddConstraint(
            model_name='wallline',
            constraint=models.UniqueConstraint(fields=('job', 'label'), name='a_wall_line_once_in_a_job'),
        ),
        migrations.AddConstraint(
            model_name='bearinglink',
            constraint=models.UniqueConstraint(fields=('truss', 'joint'), name='a_bearing_stands_on_one_thing'),
        ),
        migrations.AddConstraint(
            model_name='bearinglink',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('carrier__isnull', False), ('wall', None)), models.Q(('carrier', None), ('wall__isnull', False)), _connector='OR'), name='a_bearing_stands_on_a_wall_or_a_mark'),
        ),
    ]
