from django.apps import AppConfig


class VenuesConfig(AppConfig):
    name = "kegsafe.venues"
    default_auto_field = "django.db.models.BigAutoField"
