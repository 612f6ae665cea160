"""Remember which forms were recorded. Reversed, the table goes; no record depends on it."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("ledger", "0002_entries_are_append_only")]

    operations = [
        migrations.CreateModel(
            name="SentForm",
            fields=[
                ("key", models.CharField(max_length=64, primary_key=True, serialize=False)),
                ("recorded_at", models.DateTimeField(db_index=True)),
            ],
        ),
    ]
