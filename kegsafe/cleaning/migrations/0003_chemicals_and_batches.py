import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('cleaning', '0002_plans_in_versions'),
        ('equipment', '0001_initial'),
        ('venues', '0001_initial'),
    ]

    operations = [
        migrations.CreateModel(
            name='Chemical',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('name', models.CharField(max_length=80)),
                ('supplier', models.CharField(blank=True, max_length=120)),
                ('chemistry', models.CharField(choices=[('alkaline', 'Alkaline'), ('acid', 'Acid'), ('detergent', 'Detergent'), ('sanitiser', 'Sanitiser')], max_length=12)),
                ('active', models.CharField(blank=True, choices=[('chlorine', 'Chlorine'), ('iodine', 'Iodine'), ('quat', 'Quaternary ammonium'), ('quat_blend', 'Quaternary ammonium blend'), ('peroxyacetic_acid', 'Peroxyacetic acid'), ('hydrogen_peroxide', 'Hydrogen peroxide'), ('other', 'Other')], max_length=20)),
                ('stock_mg_per_l', models.DecimalField(blank=True, decimal_places=1, max_digits=10, null=True, verbose_name='strength of the concentrate')),
                ('label_at_least_mg_per_l', models.DecimalField(blank=True, decimal_places=1, max_digits=10, null=True, verbose_name='label: weakest in use')),
                ('label_at_most_mg_per_l', models.DecimalField(blank=True, decimal_places=1, max_digits=10, null=True, verbose_name='label: strongest in use')),
                ('label_contact_s', models.PositiveIntegerField(blank=True, null=True, verbose_name='label: contact time')),
                ('label_at_least_degc', models.DecimalField(blank=True, decimal_places=1, max_digits=5, null=True, verbose_name='label: coldest')),
                ('label_at_most_degc', models.DecimalField(blank=True, decimal_places=1, max_digits=5, null=True, verbose_name='label: hottest')),
                ('label_ph_at_most', models.DecimalField(blank=True, decimal_places=2, max_digits=4, null=True, verbose_name='label: highest pH')),
                ('label_hardness_at_most_mg_per_l', models.DecimalField(blank=True, decimal_places=1, max_digits=10, null=True, verbose_name='label: hardest water')),
                ('strip_blocks', models.JSONField(blank=True, default=list, verbose_name="blocks of the test strip's chart, mg/l")),
                ('needs_rinse', models.BooleanField(blank=True, null=True, verbose_name='label asks for a rinse after it')),
                ('is_listed', models.BooleanField(default=True, verbose_name='on the list')),
                ('venue', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='chemicals', to='venues.venue')),
            ],
            options={
                'ordering': ('name',),
            },
        ),
        migrations.CreateModel(
            name='ChemicalBatch',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('batch', models.CharField(max_length=60)),
                ('expires_on', models.DateField(blank=True, null=True)),
                ('does_not_expire', models.BooleanField(default=False, verbose_name='the label gives no expiry')),
                ('is_finished', models.BooleanField(default=False, verbose_name='used up')),
                ('chemical', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='batches', to='cleaning.chemical')),
            ],
            options={
                'verbose_name': 'batch of a chemical',
                'ordering': ('chemical__name', '-pk'),
            },
        ),
        migrations.AddConstraint(
            model_name='chemical',
            constraint=models.UniqueConstraint(fields=('venue', 'name'), name='chemical_name_once_per_venue', violation_error_message='There is already a chemical of this name.'),
        ),
        migrations.AddConstraint(
            model_name='chemical',
            constraint=models.CheckConstraint(condition=models.Q(('label_at_least_mg_per_l', None), ('label_at_most_mg_per_l', None), ('label_at_most_mg_per_l__gte', models.F('label_at_least_mg_per_l')), _connector='OR'), name='chemical_label_range_is_in_order', violation_error_message='The strongest in use is not below the weakest.'),
        ),
        migrations.AddConstraint(
            model_name='chemical',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('chemistry', 'sanitiser'), _negated=True), models.Q(('active', ''), _negated=True), _connector='OR'), name='sanitiser_says_what_sanitises', violation_error_message='Choose what sanitises in it, as the label says.'),
        ),
        migrations.AddConstraint(
            model_name='chemicalbatch',
            constraint=models.UniqueConstraint(fields=('chemical', 'batch'), name='chemical_batch_once', violation_error_message='This batch is on the list already.'),
        ),
    ]
