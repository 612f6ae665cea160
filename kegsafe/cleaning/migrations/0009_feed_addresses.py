import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('cleaning', '0008_corrective_actions'),
        ('equipment', '0001_initial'),
        ('venues', '0001_initial'),
    ]

    operations = [
        migrations.CreateModel(
            name='FeedAddress',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('name', models.CharField(max_length=80, verbose_name='whose calendar')),
                ('token_hash', models.CharField(editable=False, max_length=64, unique=True)),
                ('made_by', models.CharField(max_length=150)),
                ('made_at', models.DateTimeField()),
                ('revoked_at', models.DateTimeField(blank=True, null=True)),
                ('venue', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='feed_addresses', to='venues.venue')),
            ],
            options={
                'verbose_name': 'calendar address',
                'ordering': ('-pk',),
            },
        ),
    ]
