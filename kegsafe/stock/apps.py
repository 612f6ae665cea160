from django.apps import AppConfig


class StockConfig(AppConfig):
    name = "kegsafe.stock"
    default_auto_field = "django.db.models.BigAutoField"
