from django.apps import AppConfig


class BatchesConfig(AppConfig):
    name = "kegsafe.batches"
    default_auto_field = "django.db.models.BigAutoField"
