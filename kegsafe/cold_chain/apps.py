from django.apps import AppConfig


class ColdChainConfig(AppConfig):
    name = "kegsafe.cold_chain"
    default_auto_field = "django.db.models.BigAutoField"
