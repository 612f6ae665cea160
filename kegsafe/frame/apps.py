"""The frame as a Django app."""

from django.apps import AppConfig


class FrameConfig(AppConfig):
    """The frame every page stands in; it brings the checks of the running system."""

    name = "kegsafe.frame"
    label = "frame"
    verbose_name = "Frame"

    def ready(self) -> None:
        """Register the system checks."""
        from kegsafe.frame import checks  # noqa: F401
