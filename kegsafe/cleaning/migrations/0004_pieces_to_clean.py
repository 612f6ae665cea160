import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('cleaning', '0003_chemicals_and_batches'),
        ('equipment', '0001_initial'),
        ('venues', '0001_initial'),
    ]

    operations = [
        migrations.CreateModel(
            name='CleanItem',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('name', models.CharField(max_length=60)),
                ('kind', models.CharField(choices=[('coupler', 'Coupler'), ('drip_tray', 'Drip tray'), ('jug', 'Jug or small ware'), ('nozzle', 'Nozzle'), ('ice_machine', 'Ice machine'), ('ice_bin', 'Ice bin'), ('water_filter', 'Water filter')], max_length=16)),
                ('drink_kind', models.CharField(choices=[('any', 'Any'), ('fresh', 'Fresh'), ('sweet', 'Sweet'), ('plain', 'Plain'), ('beer', 'Beer'), ('alcohol_free_beer', 'Alcohol free beer'), ('wine', 'Wine'), ('soft_drink', 'Soft drink'), ('syrup', 'Syrup'), ('spirit', 'Spirit'), ('water', 'Water')], default='any', max_length=20, verbose_name='drink it touches')),
                ('is_active', models.BooleanField(default=True, verbose_name='in use')),
                ('place', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='clean_items', to='equipment.place')),
                ('venue', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='clean_items', to='venues.venue')),
            ],
            options={
                'verbose_name': 'piece of equipment to clean',
                'ordering': ('name',),
            },
        ),
        migrations.CreateModel(
            name='DrinkCarried',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('drink_kind', models.CharField(choices=[('any', 'Any'), ('fresh', 'Fresh'), ('sweet', 'Sweet'), ('plain', 'Plain'), ('beer', 'Beer'), ('alcohol_free_beer', 'Alcohol free beer'), ('wine', 'Wine'), ('soft_drink', 'Soft drink'), ('syrup', 'Syrup'), ('spirit', 'Spirit'), ('water', 'Water')], max_length=20, verbose_name='drink it carries')),
                ('recorded_by', models.CharField(max_length=150)),
                ('item', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='%(class)s_set', to='cleaning.cleanitem')),
                ('keg', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='%(class)s_set', to='equipment.keg')),
                ('line', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='%(class)s_set', to='equipment.line')),
                ('tap', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='%(class)s_set', to='equipment.tap')),
                ('venue', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='drinks_carried', to='venues.venue')),
            ],
            options={
                'verbose_name': 'kind of drink carried',
                'ordering': ('pk',),
            },
        ),
        migrations.AddConstraint(
            model_name='cleanitem',
            constraint=models.UniqueConstraint(fields=('venue', 'name'), name='clean_item_name_once_per_venue', violation_error_message='There is already a piece of this name.'),
        ),
        migrations.AddConstraint(
            model_name='drinkcarried',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('item__isnull', True), ('keg__isnull', False), ('line__isnull', True), ('tap__isnull', True)), models.Q(('item__isnull', True), ('keg__isnull', True), ('line__isnull', False), ('tap__isnull', True)), models.Q(('item__isnull', True), ('keg__isnull', True), ('line__isnull', True), ('tap__isnull', False)), models.Q(('item__isnull', False), ('keg__isnull', True), ('line__isnull', True), ('tap__isnull', True)), _connector='OR'), name='drink_carried_is_of_one_piece'),
        ),
    ]
