import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('cleaning', '0009_feed_addresses'),
    ]

    operations = [
        migrations.CreateModel(
            name='DataSheet',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('name', models.CharField(max_length=120)),
                ('content_type', models.CharField(max_length=20)),
                ('size', models.PositiveIntegerField()),
                ('sha256', models.CharField(max_length=64)),
                ('stored_as', models.CharField(max_length=64, unique=True)),
                ('sent_by', models.CharField(max_length=150)),
                ('sent_at', models.DateTimeField()),
                ('revised_on', models.DateField(blank=True, null=True, verbose_name='date on the sheet')),
                ('chemical', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='data_sheets', to='cleaning.chemical')),
            ],
            options={
                'verbose_name': 'safety data sheet',
                'ordering': ('-sent_at', '-pk'),
            },
        ),
    ]
