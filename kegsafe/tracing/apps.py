from django.apps import AppConfig


class TracingConfig(AppConfig):
    name = "kegsafe.tracing"
    default_auto_field = "django.db.models.BigAutoField"
