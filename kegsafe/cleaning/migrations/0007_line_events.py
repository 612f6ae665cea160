import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('cleaning', '0006_latest_cycles'),
        ('equipment', '0001_initial'),
        ('venues', '0001_initial'),
    ]

    operations = [
        migrations.CreateModel(
            name='SettledEvents',
            fields=[
                ('line', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, primary_key=True, related_name='settled_events', serialize=False, to='equipment.line')),
                ('sequence', models.PositiveIntegerField()),
            ],
        ),
        migrations.CreateModel(
            name='LineEvent',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('sequence', models.PositiveIntegerField()),
                ('kind', models.CharField(choices=[('cleaning_began', 'Cleaning began'), ('detergent_in', 'Detergent in'), ('rinse_read', 'Rinse read'), ('sanitiser_in', 'Sanitiser in'), ('drained', 'Drained'), ('cleaning_ended', 'Cleaning ended')], max_length=16)),
                ('at', models.DateTimeField()),
                ('seen', models.PositiveIntegerField(blank=True, null=True)),
                ('is_verified', models.BooleanField(default=False)),
                ('cycle', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='line_events', to='cleaning.cycle')),
                ('line', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='cleaning_events', to='equipment.line')),
            ],
            options={
                'verbose_name': 'cleaning event of a line',
                'ordering': ('line', 'sequence'),
            },
        ),
        migrations.AddConstraint(
            model_name='lineevent',
            constraint=models.UniqueConstraint(fields=('line', 'sequence'), name='line_event_has_one_place_on_its_line'),
        ),
        migrations.AddConstraint(
            model_name='lineevent',
            constraint=models.CheckConstraint(condition=models.Q(('is_verified', False), ('kind', 'rinse_read'), _connector='OR'), name='line_event_only_a_rinse_is_verified'),
        ),
    ]
