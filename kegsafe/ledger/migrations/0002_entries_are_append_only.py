"""The database refuses to change or remove a ledger entry. Reversed by dropping the triggers."""

from django.db import migrations

from kegsafe.ledger import append_only


def install(apps, schema_editor):
    append_only.install(schema_editor.connection)


def remove(apps, schema_editor):
    append_only.remove(schema_editor.connection)


class Migration(migrations.Migration):
    dependencies = [("ledger", "0001_initial")]

    operations = [migrations.RunPython(install, remove)]
