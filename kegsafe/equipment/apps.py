from django.apps import AppConfig


class EquipmentConfig(AppConfig):
    name = "kegsafe.equipment"
    default_auto_field = "django.db.models.BigAutoField"
