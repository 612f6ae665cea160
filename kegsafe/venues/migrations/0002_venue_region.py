import kegsafe.venues.models
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('venues', '0001_initial'),
    ]

    operations = [
        migrations.AddField(
            model_name='venue',
            name='region',
            field=models.CharField(blank=True, max_length=40, validators=[kegsafe.venues.models.known_region], verbose_name='state or region'),
        ),
    ]
