"""All tables at once, as the migrations that it replaces left them one after the other."""

import django.db.models.deletion
import django.utils.timezone
import uuid
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):

    initial = True

    replaces = [
        ('changes', '0001_initial'),
        ('changes', '0002_consequences'),
        ('changes', '0003_fingerprint_of_all'),
        ('changes', '0004_what_the_state_is_called'),
        ('changes', '0005_findings_by_code'),
        ('changes', '0006_options_drawn_anew'),
        ('changes', '0007_computations_of_new_marks'),
        ('changes', '0008_events_by_values'),
        ('changes', '0009_what_is_said_by_code'),
        ('changes', '0010_copies_and_kinds'),
        ('changes', '0011_photos'),
        ('changes', '0012_submissions_and_troubles_by_code'),
        ('changes', '0013_cut_copies_in_words'),
        ('changes', '0014_what_ends_damage'),
        ('changes', '0015_options_elsewhere'),
        ('changes', '0016_sealed_repairs'),
        ('changes', '0017_atlases'),
        ('changes', '0018_what_bars_an_option'),
        ('changes', '0019_inspectors'),
        ('changes', '0020_damage_that_goes_on'),
        ('changes', '0021_what_people_saw'),
        ('changes', '0022_what_a_decision_leaves'),
        ('changes', '0023_what_a_decision_chose'),
        ('changes', '0024_cut_copies_of_runs'),
        ('changes', '0025_lines_asked_about'),
    ]


    dependencies = [
        ('trusses', '0001_squashed_0027_what_tells_of_a_record'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name='Ask',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('copies', models.JSONField(blank=True, default=list, help_text="Numbers of the mark's copies that it is about.")),
                ('kind', models.CharField(choices=[('opening', 'opening'), ('run', 'run'), ('load', 'load'), ('bearing', 'bearing'), ('passage', 'passage'), ('damage', 'damage'), ('question', 'question'), ('revision', 'revision')], max_length=10)),
                ('opening', models.JSONField(blank=True, help_text="As in the truss document's `openings`.", null=True)),
                ('wish', models.JSONField(blank=True, help_text='What else is wanted, as it was read.', null=True)),
                ('verdict', models.CharField(blank=True, choices=[('fits', 'fits as it is'), ('options', 'takes a redesign'), ('none pass', 'no redesign passes'), ('never', 'not possible here')], max_length=10)),
                ('told', models.JSONField(blank=True, default=list, help_text='The answer for a builder: code, values.')),
                ('nearest', models.JSONField(blank=True, help_text='{"centre_in": [x, y], "moved_in": d} or null.', null=True)),
                ('figures', models.JSONField(blank=True, default=dict, help_text='What its kind wants shown besides.')),
                ('replaced', models.BooleanField(default=False, help_text='The builder asked anew when answering; kept for the record.')),
                ('revision', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='trusses.revision')),
                ('truss', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='asks', to='trusses.truss')),
            ],
            options={
                'ordering': ('request', 'id'),
            },
        ),
        migrations.CreateModel(
            name='Decision',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('verdict', models.CharField(choices=[('approve', 'approve'), ('send back', 'send back'), ('decline', 'decline')], max_length=10)),
                ('reason', models.TextField(blank=True, max_length=2000)),
                ('accepts', models.JSONField(default=list, help_text='Failed serviceability checks that were accepted.')),
                ('ends_by', models.CharField(blank=True, choices=[('repair', 'a sealed repair, its drawing attached'), ('new truss', 'a new truss in its place'), ('keep off', 'nothing yet: keep off')], help_text='Of damage: what the truss may be set on.', max_length=10)),
                ('options', models.JSONField(default=dict, help_text='{ask: the option that was chosen for it}, by id.')),
                ('leaves', models.JSONField(default=list, help_text='Ids of the asks for which nothing is issued, by its reason.')),
                ('lines', models.JSONField(default=dict, help_text='{run: another line that the builder is asked about}, by id, as runs are written.')),
                ('shows', models.JSONField(default=list, help_text='Numbers of photos of a repair drawing, from before drawings were attached.')),
                ('at', models.DateTimeField(default=django.utils.timezone.now)),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'ordering': ('request', 'id'),
            },
        ),
        migrations.CreateModel(
            name='InspectorLink',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('for_whom', models.CharField(max_length=120)),
                ('token_sha256', models.CharField(max_length=64, unique=True)),
                ('made_at', models.DateTimeField(default=django.utils.timezone.now)),
                ('expires_at', models.DateTimeField()),
                ('ended_at', models.DateTimeField(blank=True, null=True)),
                ('opened_at', models.DateTimeField(blank=True, help_text='When it was opened last, to the hour.', null=True)),
                ('ended_by', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('job', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='inspector_links', to='trusses.job')),
                ('made_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'ordering': ('job', '-id'),
            },
        ),
        migrations.CreateModel(
            name='Option',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('copies', models.JSONField(blank=True, default=list, help_text="Numbers of the copies that it is for: its asks'.")),
                ('titled', models.JSONField(help_text="A person's own words, or what leads to it: code, values.")),
                ('rank', models.PositiveIntegerField(default=0)),
                ('document', models.JSONField()),
                ('sha256', models.CharField(max_length=64)),
                ('analysis', models.JSONField(blank=True, null=True)),
                ('comparison', models.JSONField(blank=True, null=True)),
                ('passes', models.BooleanField(blank=True, help_text='Its lumber checks pass and its openings are clear.', null=True)),
                ('worst_ratio', models.FloatField(blank=True, null=True)),
                ('told', models.JSONField(blank=True, default=list, help_text='What decides about it: code, values.')),
                ('elsewhere', models.JSONField(blank=True, default=list, help_text='Its openings elsewhere than asked: [{"opening", "asked_in": [x, y], "centre_in": [x, y]}].')),
                ('stale', models.BooleanField(default=False, help_text='From a computation that was done again since.')),
                ('bars', models.JSONField(blank=True, default=list, help_text='Why nobody approves it, whatever else is accepted: code, values.')),
                ('joins', models.JSONField(blank=True, default=list, help_text='The marks, by id, that its copies would join: its basis covers these too.')),
                ('basis', models.CharField(blank=True, help_text='What its consequences rest on; empty where nothing carries the mark.', max_length=64)),
                ('created_at', models.DateTimeField(default=django.utils.timezone.now)),
                ('asks', models.ManyToManyField(related_name='options', to='changes.ask')),
                ('drawn_by', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('redrawn_of', models.OneToOneField(blank=True, help_text='The drawn option that this is, computed anew.', null=True, on_delete=django.db.models.deletion.PROTECT, related_name='redrawn', to='changes.option')),
                ('revision', models.ForeignKey(help_text='What it departs from.', on_delete=django.db.models.deletion.PROTECT, related_name='+', to='trusses.revision')),
                ('truss', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='trusses.truss')),
            ],
            options={
                'ordering': ('request', 'truss', 'rank', 'id'),
            },
        ),
        migrations.CreateModel(
            name='Issue',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('because', models.JSONField(blank=True, default=list)),
                ('decision', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='issues', to='changes.decision')),
                ('revision', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='issue', to='trusses.revision')),
                ('option', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='changes.option')),
            ],
            options={
                'abstract': False,
            },
        ),
        migrations.CreateModel(
            name='Photo',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('at', models.DateTimeField(default=django.utils.timezone.now)),
                ('sha256', models.CharField(max_length=64)),
                ('width_px', models.PositiveIntegerField()),
                ('height_px', models.PositiveIntegerField()),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('job', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='photos', to='trusses.job')),
            ],
            options={
                'ordering': ('id',),
            },
        ),
        migrations.CreateModel(
            name='Repair',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('ask', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='repairs', to='changes.ask')),
                ('drawing', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='repair', to='trusses.sealeddrawing')),
            ],
            options={
                'ordering': ('id',),
            },
        ),
        migrations.CreateModel(
            name='Request',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('filed_at', models.DateTimeField(default=django.utils.timezone.now)),
                ('reason', models.TextField(max_length=2000)),
                ('needed_by', models.DateField()),
                ('state', models.CharField(choices=[('filed', 'filed'), ('computing', 'computing'), ('awaiting decision', 'awaiting decision'), ('approved', 'revision issued, not sealed'), ('sent back', 'sent back'), ('declined', 'declined'), ('withdrawn', 'withdrawn'), ('failed', 'failed')], db_index=True, default='filed', max_length=20)),
                ('fingerprint', models.CharField(editable=False, help_text='SHA-256 of what is asked.', max_length=64, null=True)),
                ('filed_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='requests', to=settings.AUTH_USER_MODEL)),
                ('job', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='requests', to='trusses.job')),
            ],
            options={
                'ordering': ('-filed_at', '-id'),
            },
        ),
        migrations.AddField(
            model_name='option',
            name='request',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='options', to='changes.request'),
        ),
        migrations.CreateModel(
            name='IdempotencyKey',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('key', models.CharField(max_length=200)),
                ('body_sha256', models.CharField(max_length=64)),
                ('created_at', models.DateTimeField(default=django.utils.timezone.now)),
                ('user', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('request', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='+', to='changes.request')),
            ],
        ),
        migrations.CreateModel(
            name='Hold',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('standing', models.CharField(choices=[('asked', 'asked'), ('acknowledged', 'acknowledged'), ('refused', 'refused'), ('released', 'released')], default='asked', max_length=12)),
                ('asked_at', models.DateTimeField(default=django.utils.timezone.now)),
                ('answered_at', models.DateTimeField(blank=True, null=True)),
                ('released_at', models.DateTimeField(blank=True, null=True)),
                ('answered_by', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('asked_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('copies', models.ManyToManyField(related_name='holds', to='trusses.copy')),
                ('truss', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='holds', to='trusses.truss')),
                ('request', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='holds', to='changes.request')),
            ],
        ),
        migrations.CreateModel(
            name='Event',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('at', models.DateTimeField(default=django.utils.timezone.now)),
                ('verb', models.CharField(max_length=30)),
                ('from_state', models.CharField(blank=True, max_length=20)),
                ('to_state', models.CharField(blank=True, max_length=20)),
                ('values', models.JSONField(default=dict, help_text='What the sentence of its verb is made with.')),
                ('says', models.TextField(blank=True, help_text="The person's own words; of old events the sentence too.")),
                ('by', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('request', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='events', to='changes.request')),
            ],
            options={
                'ordering': ('id',),
            },
        ),
        migrations.AddField(
            model_name='decision',
            name='request',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='decisions', to='changes.request'),
        ),
        migrations.AddField(
            model_name='ask',
            name='request',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='asks', to='changes.request'),
        ),
        migrations.CreateModel(
            name='Run',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('name', models.CharField(blank=True, max_length=120)),
                ('wish', models.JSONField()),
                ('together', models.BooleanField(default=False, help_text='One opening for all copies of a mark was asked for.')),
                ('as_cut', models.JSONField(default=list, help_text='Copies cut when it was asked for, which it goes through as built or was asked without.')),
                ('request', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='runs', to='changes.request')),
            ],
            options={
                'ordering': ('request', 'id'),
            },
        ),
        migrations.AddField(
            model_name='ask',
            name='run',
            field=models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='asks', to='changes.run'),
        ),
        migrations.CreateModel(
            name='Seen',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('event', models.PositiveBigIntegerField(help_text='The id of the last event that was there.')),
                ('request', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='+', to='changes.request')),
                ('user', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
        ),
        migrations.CreateModel(
            name='Together',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('options', models.JSONField(help_text='The ids of the options, in order.')),
                ('analyses', models.JSONField(default=dict)),
                ('request', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='together', to='changes.request')),
            ],
            options={
                'verbose_name_plural': 'together',
                'ordering': ('id',),
            },
        ),
        migrations.CreateModel(
            name='Computation',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('state', models.CharField(choices=[('queued', 'queued'), ('running', 'running'), ('done', 'done'), ('failed', 'failed'), ('dropped', 'dropped')], db_index=True, default='queued', max_length=10)),
                ('token', models.UUIDField(default=uuid.uuid4, editable=False)),
                ('attempts', models.PositiveIntegerField(default=0)),
                ('queued_at', models.DateTimeField(default=django.utils.timezone.now)),
                ('claimed_at', models.DateTimeField(blank=True, null=True)),
                ('finished_at', models.DateTimeField(blank=True, null=True)),
                ('next_ring_at', models.DateTimeField(default=django.utils.timezone.now, help_text='The sweep rings again from then on.')),
                ('rings', models.PositiveIntegerField(default=0)),
                ('fraction', models.FloatField(default=0, help_text='0 to 1, what the worker last said.')),
                ('doing', models.JSONField(blank=True, help_text='What the worker last said: code, values.', null=True)),
                ('trouble', models.JSONField(blank=True, help_text='Why it failed: code, values.', null=True)),
                ('submission', models.OneToOneField(blank=True, null=True, on_delete=django.db.models.deletion.CASCADE, related_name='computation', to='trusses.submission')),
                ('option', models.OneToOneField(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='computation', to='changes.option')),
                ('request', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='computations', to='changes.request')),
                ('together', models.OneToOneField(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='computation', to='changes.together')),
            ],
            options={
                'ordering': ('id',),
            },
        ),
        migrations.CreateModel(
            name='Atlas',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('sha256', models.CharField(help_text='Of the truss document.', max_length=64)),
                ('said', models.CharField(help_text='SHA-256 of what the job says of its surroundings.', max_length=64)),
                ('version', models.PositiveIntegerField(help_text='Of what is written and of the search.')),
                ('found', models.JSONField(default=dict)),
                ('searches', models.PositiveIntegerField(default=0, help_text='How many went into what is found.')),
                ('done', models.BooleanField(db_index=True, default=False)),
                ('token', models.UUIDField(default=uuid.uuid4, editable=False)),
                ('claimed_at', models.DateTimeField(blank=True, null=True)),
                ('attempts', models.PositiveIntegerField(default=0)),
                ('next_ring_at', models.DateTimeField(default=django.utils.timezone.now, help_text='The sweep rings again from then on.')),
                ('revision', models.ForeignKey(help_text='One that has this document.', on_delete=django.db.models.deletion.CASCADE, related_name='+', to='trusses.revision')),
            ],
            options={
                'verbose_name_plural': 'atlases',
                'ordering': ('id',),
                'constraints': [models.UniqueConstraint(fields=('sha256', 'said', 'version'), name='one_atlas_for_a_document')],
            },
        ),
        migrations.CreateModel(
            name='Correction',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('key', models.UUIDField(help_text='Of the form that it came by: sent twice, it is one.')),
                ('by_name', models.CharField(max_length=120)),
                ('says', models.TextField(max_length=2000)),
                ('at', models.DateTimeField(default=django.utils.timezone.now)),
                ('answer', models.TextField(blank=True, max_length=2000)),
                ('answered_at', models.DateTimeField(blank=True, null=True)),
                ('answered_by', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('truss', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='corrections', to='trusses.truss')),
                ('link', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='corrections', to='changes.inspectorlink')),
            ],
            options={
                'ordering': ('link', 'id'),
                'constraints': [models.UniqueConstraint(fields=('link', 'key'), name='a_correction_once_of_a_form')],
            },
        ),
        migrations.CreateModel(
            name='Consequence',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('place', models.PositiveIntegerField(help_text='In the chain, after all that it carries.')),
                ('because', models.JSONField(help_text='The marks on it whose loads change.')),
                ('document', models.JSONField(null=True)),
                ('sha256', models.CharField(blank=True, max_length=64)),
                ('analysis', models.JSONField(null=True)),
                ('comparison', models.JSONField(null=True)),
                ('fails', models.JSONField(default=list, help_text='Its failing checks, the worst first.')),
                ('findings', models.JSONField(default=list, help_text='What a person has to look at: code, values.')),
                ('trouble', models.JSONField(blank=True, help_text='A refusal: code, place, values.', null=True)),
                ('carrier', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='trusses.truss')),
                ('revision', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='trusses.revision')),
                ('option', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='consequences', to='changes.option')),
            ],
            options={
                'ordering': ('option', 'place'),
                'constraints': [models.UniqueConstraint(fields=('option', 'carrier'), name='one_consequence_for_a_carrier')],
            },
        ),
        migrations.AddConstraint(
            model_name='request',
            constraint=models.UniqueConstraint(condition=models.Q(('state__in', ('filed', 'computing', 'awaiting decision', 'sent back', 'failed'))), fields=('filed_by', 'fingerprint'), name='the_same_request_open_once'),
        ),
        migrations.AddConstraint(
            model_name='option',
            constraint=models.UniqueConstraint(condition=models.Q(('drawn_by', None), ('stale', False)), fields=('request', 'truss', 'copies', 'rank'), name='one_option_of_a_rank_in_a_computation'),
        ),
        migrations.AddConstraint(
            model_name='idempotencykey',
            constraint=models.UniqueConstraint(fields=('user', 'key'), name='a_key_once_for_a_person'),
        ),
        migrations.AddConstraint(
            model_name='hold',
            constraint=models.UniqueConstraint(fields=('request', 'truss'), name='one_hold_for_a_request_and_mark'),
        ),
        migrations.AddConstraint(
            model_name='seen',
            constraint=models.UniqueConstraint(fields=('user', 'request'), name='a_request_seen_by_a_person_once'),
        ),
        migrations.AddConstraint(
            model_name='computation',
            constraint=models.UniqueConstraint(condition=models.Q(('option', None), ('state__in', ('queued', 'running')), ('together', None)), fields=('request',), name='one_computation_of_a_request_at_a_time'),
        ),
        migrations.AddConstraint(
            model_name='computation',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('option', None), ('request', None), ('submission__isnull', False), ('together', None)), models.Q(('request__isnull', False), ('submission', None)), _connector='OR'), name='a_computation_of_a_request_or_of_a_submission'),
        ),
    ]
