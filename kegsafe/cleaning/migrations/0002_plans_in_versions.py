import django.db.models.deletion
import kegsafe.rules.cleaning.vocabulary
import uuid
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('cleaning', '0001_initial'),
        ('equipment', '0001_initial'),
        ('venues', '0001_initial'),
    ]

    operations = [
        migrations.CreateModel(
            name='CleaningPlan',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('family', models.UUIDField(default=uuid.uuid4, editable=False)),
                ('version', models.PositiveIntegerField(default=1)),
                ('starter_key', models.CharField(max_length=40)),
                ('name', models.CharField(max_length=120)),
                ('equipment', models.CharField(choices=[(kegsafe.rules.cleaning.vocabulary.Equipment['KEG'], kegsafe.rules.cleaning.vocabulary.Equipment['KEG']), (kegsafe.rules.cleaning.vocabulary.Equipment['LINE'], kegsafe.rules.cleaning.vocabulary.Equipment['LINE']), (kegsafe.rules.cleaning.vocabulary.Equipment['TAP'], kegsafe.rules.cleaning.vocabulary.Equipment['TAP']), (kegsafe.rules.cleaning.vocabulary.Equipment['COUPLER'], kegsafe.rules.cleaning.vocabulary.Equipment['COUPLER']), (kegsafe.rules.cleaning.vocabulary.Equipment['FOAM_DETECTOR'], kegsafe.rules.cleaning.vocabulary.Equipment['FOAM_DETECTOR']), (kegsafe.rules.cleaning.vocabulary.Equipment['DRIP_TRAY'], kegsafe.rules.cleaning.vocabulary.Equipment['DRIP_TRAY']), (kegsafe.rules.cleaning.vocabulary.Equipment['JUG'], kegsafe.rules.cleaning.vocabulary.Equipment['JUG']), (kegsafe.rules.cleaning.vocabulary.Equipment['NOZZLE'], kegsafe.rules.cleaning.vocabulary.Equipment['NOZZLE']), (kegsafe.rules.cleaning.vocabulary.Equipment['ICE_MACHINE'], kegsafe.rules.cleaning.vocabulary.Equipment['ICE_MACHINE']), (kegsafe.rules.cleaning.vocabulary.Equipment['ICE_BIN'], kegsafe.rules.cleaning.vocabulary.Equipment['ICE_BIN']), (kegsafe.rules.cleaning.vocabulary.Equipment['WATER_FILTER'], kegsafe.rules.cleaning.vocabulary.Equipment['WATER_FILTER']), (kegsafe.rules.cleaning.vocabulary.Equipment['GAS_LINE'], kegsafe.rules.cleaning.vocabulary.Equipment['GAS_LINE'])], max_length=16)),
                ('is_allergen_clean', models.BooleanField(default=False)),
                ('document', models.JSONField()),
                ('valid_from', models.DateField()),
                ('replaced_on', models.DateField(blank=True, null=True)),
                ('recorded_by', models.CharField(max_length=150)),
                ('venue', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='cleaning_plans', to='venues.venue')),
            ],
            options={
                'ordering': ('name', '-version'),
            },
        ),
        migrations.AddConstraint(
            model_name='cleaningplan',
            constraint=models.UniqueConstraint(fields=('family', 'version'), name='cleaning_plan_version_once'),
        ),
        migrations.AddConstraint(
            model_name='cleaningplan',
            constraint=models.UniqueConstraint(condition=models.Q(('replaced_on', None)), fields=('family',), name='cleaning_plan_has_one_version_in_force'),
        ),
    ]
