from django.apps import AppConfig


class ExportsConfig(AppConfig):
    name = "kegsafe.exports"
    default_auto_field = "django.db.models.BigAutoField"
