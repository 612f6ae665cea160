from django.apps import AppConfig


class RecallsConfig(AppConfig):
    name = "kegsafe.recalls"
    default_auto_field = "django.db.models.BigAutoField"
