from django.apps import AppConfig


class PourConfig(AppConfig):
    name = "kegsafe.pour"
    default_auto_field = "django.db.models.BigAutoField"
