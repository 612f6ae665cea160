import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('cleaning', '0007_line_events'),
        ('equipment', '0001_initial'),
        ('venues', '0001_initial'),
    ]

    operations = [
        migrations.CreateModel(
            name='CorrectiveAction',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('found', models.CharField(max_length=400, verbose_name='what was found')),
                ('cause', models.CharField(max_length=300, verbose_name='why it happened')),
                ('done', models.CharField(max_length=400, verbose_name='what was done')),
                ('product_affected', models.CharField(max_length=400, verbose_name='drinks affected, and what became of them')),
                ('acted_at', models.DateTimeField(verbose_name='when')),
                ('recorded_by', models.CharField(max_length=150)),
                ('verified_by', models.CharField(blank=True, max_length=150)),
                ('verified_at', models.DateTimeField(blank=True, null=True)),
                ('cycle', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='corrective_actions', to='cleaning.cycle')),
            ],
            options={
                'ordering': ('-acted_at', '-pk'),
            },
        ),
    ]
