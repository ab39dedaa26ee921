import django.db.models.deletion
import uuid
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):

    initial = True

    # A book in which all of these were applied has what this migration makes.
    replaces = [
        ("genetics", "0002_job_public_id"),
        ("genetics", "0003_figures_error"),
        ("genetics", "0004_weighedrecords"),
        ("genetics", "0005_sireshare"),
        ("genetics", "0006_said"),
        ("genetics", "0007_carried"),
        ("genetics", "0008_look_ahead"),
        ("genetics", "0009_season_plan"),
        ("genetics", "0010_fit"),
        ("genetics", "0011_colour_odds"),
        ("genetics", "0012_inbreeding_as_written"),
        ("genetics", "0013_kept_lines"),
        ("genetics", "0014_fit_spreads"),
        ("genetics", "0015_slow_books"),
    ]

    dependencies = [
        ('book', '0001_initial'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name='Carried',
            fields=[
                ('animal', models.OneToOneField(on_delete=django.db.models.deletion.CASCADE, primary_key=True, related_name='carried', serialize=False, to='book.animal')),
                ('revision', models.PositiveBigIntegerField()),
                ('engine', models.CharField(max_length=40)),
                ('found', models.JSONField(default=dict)),
            ],
            options={
                'verbose_name_plural': 'carried',
            },
        ),
        migrations.CreateModel(
            name='KeptLines',
            fields=[
                ('herd', models.OneToOneField(on_delete=django.db.models.deletion.CASCADE, primary_key=True, related_name='kept_lines', serialize=False, to='book.herd')),
                ('revision', models.PositiveBigIntegerField()),
                ('engine', models.CharField(max_length=40)),
                ('found', models.JSONField()),
            ],
            options={
                'verbose_name_plural': 'kept lines',
            },
        ),
        migrations.CreateModel(
            name='WeighedRecords',
            fields=[
                ('herd', models.OneToOneField(on_delete=django.db.models.deletion.CASCADE, primary_key=True, related_name='weighed_records', serialize=False, to='book.herd')),
                ('revision', models.PositiveBigIntegerField()),
                ('engine', models.CharField(max_length=40)),
                ('found', models.JSONField()),
                ('made_at', models.DateTimeField()),
            ],
            options={
                'verbose_name_plural': 'weighed records',
            },
        ),
        migrations.CreateModel(
            name='Figure',
            fields=[
                ('animal', models.OneToOneField(on_delete=django.db.models.deletion.CASCADE, primary_key=True, related_name='figure', serialize=False, to='book.animal')),
                ('dose0', models.FloatField(null=True, verbose_name='self')),
                ('dose1', models.FloatField(null=True, verbose_name='one dose')),
                ('dose2', models.FloatField(null=True, verbose_name='two doses')),
                ('method', models.CharField(choices=[('exact', 'exact'), ('refined', 'refined'), ('approximate', 'approximate'), ('tangled', 'too tangled to be exact'), ('impossible', 'the records cannot all be true')], max_length=11)),
                ('inbreeding', models.FloatField(help_text='each possible sire of any litter by his share', verbose_name='inbreeding')),
                ('full_generations', models.PositiveSmallIntegerField()),
                ('deepest_generation', models.PositiveSmallIntegerField()),
                ('completeness', models.FloatField(help_text='share of the ancestors of five generations known')),
                ('revision', models.PositiveBigIntegerField()),
                ('error', models.FloatField(help_text="estimate of a dose's largest absolute error; 0 where exact", null=True)),
                ('inbreeding_as_written', models.FloatField(help_text='each possible sire as written, where that is another figure', null=True)),
            ],
            options={
                'indexes': [models.Index(fields=['dose1'], name='genetics_fi_dose1_e6a4b7_idx'), models.Index(fields=['dose2'], name='genetics_fi_dose2_5c7894_idx')],
            },
        ),
        migrations.CreateModel(
            name='Fit',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('public_id', models.UUIDField(default=uuid.uuid4, editable=False, unique=True)),
                ('made_at', models.DateTimeField()),
                ('revision', models.PositiveBigIntegerField()),
                ('engine', models.CharField(max_length=40)),
                ('frequency', models.FloatField()),
                ('medians', models.JSONField()),
                ('lines', models.JSONField()),
                ('effect', models.JSONField()),
                ('settled', models.BooleanField()),
                ('animals', models.PositiveIntegerField()),
                ('left_out', models.PositiveIntegerField()),
                ('spreads', models.JSONField(default=list)),
                ('user', models.ForeignKey(null=True, on_delete=django.db.models.deletion.SET_NULL, to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'ordering': ['-pk'],
            },
        ),
        migrations.CreateModel(
            name='FitUse',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('used_at', models.DateTimeField()),
                ('fit', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='uses', to='genetics.fit')),
                ('user', models.ForeignKey(null=True, on_delete=django.db.models.deletion.SET_NULL, to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'ordering': ['-pk'],
            },
        ),
        migrations.CreateModel(
            name='Job',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('kind', models.CharField(max_length=40)),
                ('state', models.CharField(choices=[('waiting', 'waiting'), ('running', 'under way'), ('done', 'done'), ('failed', 'failed')], default='waiting', max_length=8)),
                ('progress', models.FloatField(default=0.0)),
                ('note', models.TextField(blank=True)),
                ('started_at', models.DateTimeField(auto_now_add=True)),
                ('ended_at', models.DateTimeField(null=True)),
                ('public_id', models.UUIDField(default=uuid.uuid4, editable=False, unique=True)),
                ('user', models.ForeignKey(null=True, on_delete=django.db.models.deletion.CASCADE, to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'ordering': ['-started_at'],
            },
        ),
        migrations.CreateModel(
            name='LookAhead',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('public_id', models.UUIDField(default=uuid.uuid4, editable=False, unique=True)),
                ('asked_at', models.DateTimeField(auto_now_add=True)),
                ('revision', models.PositiveBigIntegerField()),
                ('asked', models.JSONField()),
                ('found', models.JSONField(default=dict)),
                ('herd', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='looks_ahead', to='book.herd')),
                ('job', models.ForeignKey(null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='+', to='genetics.job')),
            ],
            options={
                'ordering': ['-pk'],
            },
        ),
        migrations.CreateModel(
            name='Reckoning',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('revision', models.PositiveBigIntegerField(default=0)),
                ('engine', models.CharField(blank=True, max_length=40)),
                ('made_at', models.DateTimeField(null=True)),
                ('troubles', models.JSONField(default=list)),
                ('colour_odds', models.JSONField(default=list)),
                ('slow', models.BooleanField(default=False)),
            ],
            options={
                'constraints': [models.CheckConstraint(condition=models.Q(('pk', 1)), name='only_one_reckoning')],
            },
        ),
        migrations.CreateModel(
            name='Said',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('said_at', models.DateTimeField()),
                ('revision', models.PositiveBigIntegerField()),
                ('dose0', models.FloatField(verbose_name='self')),
                ('dose1', models.FloatField(verbose_name='one dose')),
                ('dose2', models.FloatField(verbose_name='two doses')),
                ('method', models.CharField(choices=[('exact', 'exact'), ('refined', 'refined'), ('approximate', 'approximate'), ('tangled', 'too tangled to be exact'), ('impossible', 'the records cannot all be true')], max_length=11)),
                ('error', models.FloatField(help_text='as in a figure')),
                ('engine', models.CharField(max_length=40)),
                ('animal', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='said', to='book.animal')),
                ('fit', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='genetics.fit')),
            ],
            options={
                'ordering': ['-pk'],
            },
        ),
        migrations.CreateModel(
            name='SeasonPlan',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('public_id', models.UUIDField(default=uuid.uuid4, editable=False, unique=True)),
                ('asked', models.JSONField()),
                ('found', models.JSONField(null=True)),
                ('revision', models.PositiveBigIntegerField(default=0)),
                ('made_at', models.DateTimeField(auto_now_add=True)),
                ('herd', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='season_plans', to='book.herd')),
                ('job', models.ForeignKey(null=True, on_delete=django.db.models.deletion.SET_NULL, to='genetics.job')),
            ],
            options={
                'ordering': ['-made_at', '-pk'],
            },
        ),
        migrations.CreateModel(
            name='SireShare',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('share', models.FloatField()),
                ('boar', models.ForeignKey(null=True, on_delete=django.db.models.deletion.CASCADE, related_name='sire_shares', to='book.animal')),
                ('litter', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='sire_shares', to='book.litter')),
            ],
            options={
                'ordering': ['litter', '-share', 'pk'],
            },
        ),
    ]
