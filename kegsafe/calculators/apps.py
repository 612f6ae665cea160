from django.apps import AppConfig


class CalculatorsConfig(AppConfig):
    name = "kegsafe.calculators"
