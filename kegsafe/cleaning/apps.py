from django.apps import AppConfig


class CleaningConfig(AppConfig):
    name = "kegsafe.cleaning"
    default_auto_field = "django.db.models.BigAutoField"
