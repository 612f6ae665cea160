import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('pressure', '0001_initial'),
    ]

    operations = [
        migrations.CreateModel(
            name='CheckPhotograph',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('name', models.CharField(max_length=120)),
                ('content_type', models.CharField(max_length=20)),
                ('size', models.PositiveIntegerField()),
                ('sha256', models.CharField(max_length=64)),
                ('stored_as', models.CharField(max_length=64, unique=True)),
                ('sent_by', models.CharField(max_length=150)),
                ('sent_at', models.DateTimeField()),
                ('of_check', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='photographs', to='pressure.check')),
            ],
            options={
                'verbose_name': 'photograph of a check',
                'ordering': ('sent_at', 'pk'),
            },
        ),
    ]
