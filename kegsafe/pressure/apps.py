from django.apps import AppConfig


class PressureConfig(AppConfig):
    name = "kegsafe.pressure"
    default_auto_field = "django.db.models.BigAutoField"
