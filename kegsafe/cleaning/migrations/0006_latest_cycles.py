import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('cleaning', '0005_cycles_and_steps'),
        ('equipment', '0001_initial'),
        ('venues', '0001_initial'),
    ]

    operations = [
        migrations.CreateModel(
            name='LatestCycles',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('piece_key', models.CharField(max_length=28)),
                ('family', models.UUIDField()),
                ('last', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='cleaning.cycle')),
                ('last_good', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='cleaning.cycle')),
                ('venue', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='latest_cycles', to='venues.venue')),
            ],
        ),
        migrations.AddConstraint(
            model_name='latestcycles',
            constraint=models.UniqueConstraint(fields=('venue', 'piece_key', 'family'), name='latest_cycles_once_per_piece_and_plan'),
        ),
    ]
