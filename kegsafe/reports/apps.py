from django.apps import AppConfig


class ReportsConfig(AppConfig):
    name = "kegsafe.reports"
    default_auto_field = "django.db.models.BigAutoField"
