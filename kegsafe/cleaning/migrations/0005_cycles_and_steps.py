import django.db.models.deletion
import uuid
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('cleaning', '0004_pieces_to_clean'),
        ('equipment', '0001_initial'),
        ('venues', '0001_initial'),
    ]

    operations = [
        migrations.CreateModel(
            name='Cycle',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('circuit', models.UUIDField(default=uuid.uuid4, editable=False)),
                ('code_key', models.CharField(max_length=40, verbose_name='food code')),
                ('day', models.DateField(verbose_name="day in the venue's zone")),
                ('operator', models.CharField(max_length=150)),
                ('verified_by', models.CharField(blank=True, max_length=150)),
                ('outlets', models.PositiveSmallIntegerField(default=1)),
                ('bore_mm', models.DecimalField(blank=True, decimal_places=2, max_digits=6, null=True)),
                ('started_at', models.DateTimeField()),
                ('ended_at', models.DateTimeField(blank=True, null=True)),
                ('result', models.CharField(blank=True, choices=[('complete', 'Complete'), ('incomplete', 'Incomplete'), ('failed', 'Failed'), ('given_up', 'Given up')], max_length=10)),
                ('verdict', models.JSONField(blank=True, default=dict)),
                ('given_up_because', models.CharField(blank=True, max_length=200)),
                ('item', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='%(class)s_set', to='cleaning.cleanitem')),
                ('keg', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='%(class)s_set', to='equipment.keg')),
                ('line', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='%(class)s_set', to='equipment.line')),
                ('plan', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='cycles', to='cleaning.cleaningplan')),
                ('record', models.OneToOneField(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='cycle', to='cleaning.cleaningrecord')),
                ('tap', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='%(class)s_set', to='equipment.tap')),
                ('venue', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='cleaning_cycles', to='venues.venue')),
            ],
            options={
                'verbose_name': 'cleaning cycle',
                'ordering': ('-started_at', '-pk'),
            },
        ),
        migrations.CreateModel(
            name='CycleStep',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('position', models.PositiveSmallIntegerField()),
                ('client_id', models.UUIDField(unique=True)),
                ('end_id', models.UUIDField(blank=True, null=True, unique=True)),
                ('started_at', models.DateTimeField(blank=True, null=True)),
                ('ended_at', models.DateTimeField(blank=True, null=True)),
                ('application', models.CharField(blank=True, max_length=24)),
                ('is_hot_water', models.BooleanField(default=False)),
                ('strength', models.JSONField(blank=True, null=True)),
                ('temperature_degc', models.DecimalField(blank=True, decimal_places=1, max_digits=5, null=True)),
                ('ph', models.JSONField(blank=True, null=True, verbose_name='pH of the solution')),
                ('hardness_mg_per_l', models.DecimalField(blank=True, decimal_places=1, max_digits=7, null=True)),
                ('flow_l_min', models.DecimalField(blank=True, decimal_places=2, max_digits=6, null=True)),
                ('tap_water_ph', models.JSONField(blank=True, null=True, verbose_name='pH of the tap water')),
                ('outlet_ph', models.JSONField(blank=True, default=list, verbose_name='pH at the outlets')),
                ('passed', models.BooleanField(blank=True, null=True)),
                ('typed', models.JSONField(blank=True, default=dict, verbose_name='as it was typed')),
                ('recorded_by', models.CharField(max_length=150)),
                ('ended_by', models.CharField(blank=True, max_length=150)),
                ('chemical', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='steps', to='cleaning.chemicalbatch')),
                ('cycle', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='steps', to='cleaning.cycle')),
            ],
            options={
                'verbose_name': 'step of a cleaning cycle',
                'ordering': ('pk',),
            },
        ),
        migrations.AddIndex(
            model_name='cycle',
            index=models.Index(fields=['venue', '-started_at', '-id'], name='cycle_newest_first'),
        ),
        migrations.AddIndex(
            model_name='cycle',
            index=models.Index(fields=['circuit'], name='cycle_by_circuit'),
        ),
        migrations.AddIndex(
            model_name='cycle',
            index=models.Index(fields=['line', '-started_at'], name='cycle_of_line_newest_first'),
        ),
        migrations.AddIndex(
            model_name='cycle',
            index=models.Index(fields=['keg', '-started_at'], name='cycle_of_keg_newest_first'),
        ),
        migrations.AddIndex(
            model_name='cycle',
            index=models.Index(condition=models.Q(('ended_at', None)), fields=['venue'], name='cycle_still_under_way'),
        ),
        migrations.AddIndex(
            model_name='cycle',
            index=models.Index(fields=['venue', 'result', '-started_at', '-id'], name='cycle_by_result'),
        ),
        migrations.AddConstraint(
            model_name='cycle',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('item__isnull', True), ('keg__isnull', False), ('line__isnull', True), ('tap__isnull', True)), models.Q(('item__isnull', True), ('keg__isnull', True), ('line__isnull', False), ('tap__isnull', True)), models.Q(('item__isnull', True), ('keg__isnull', True), ('line__isnull', True), ('tap__isnull', False)), models.Q(('item__isnull', False), ('keg__isnull', True), ('line__isnull', True), ('tap__isnull', True)), _connector='OR'), name='cleaning_cycle_is_of_one_piece'),
        ),
        migrations.AddConstraint(
            model_name='cycle',
            constraint=models.CheckConstraint(condition=models.Q(('ended_at', None), ('ended_at__gte', models.F('started_at')), _connector='OR'), name='cleaning_cycle_ends_after_it_began'),
        ),
        migrations.AddConstraint(
            model_name='cycle',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('ended_at', None), ('result', '')), models.Q(('ended_at__isnull', False), models.Q(('result', ''), _negated=True)), _connector='OR'), name='cleaning_cycle_has_a_result_once_ended'),
        ),
        migrations.AddConstraint(
            model_name='cycle',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('result', 'given_up'), models.Q(('given_up_because', ''), _negated=True)), models.Q(models.Q(('result', 'given_up'), _negated=True), ('given_up_because', '')), _connector='OR'), name='cleaning_cycle_given_up_with_a_reason'),
        ),
        migrations.AddIndex(
            model_name='cyclestep',
            index=models.Index(fields=['cycle', 'id'], name='cycle_step_in_order'),
        ),
        migrations.AddIndex(
            model_name='cyclestep',
            index=models.Index(fields=['ended_at'], name='cycle_step_by_its_end'),
        ),
        migrations.AddConstraint(
            model_name='cyclestep',
            constraint=models.CheckConstraint(condition=models.Q(('started_at__isnull', False), ('ended_at__isnull', False), _connector='OR'), name='cycle_step_has_a_time'),
        ),
        migrations.AddConstraint(
            model_name='cyclestep',
            constraint=models.CheckConstraint(condition=models.Q(('is_hot_water', False), ('chemical', None), _connector='OR'), name='cycle_step_uses_one_chemical'),
        ),
    ]
