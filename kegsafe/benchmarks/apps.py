from django.apps import AppConfig


class BenchmarksConfig(AppConfig):
    name = "kegsafe.benchmarks"
    default_auto_field = "django.db.models.BigAutoField"
