"""`python3 manage.py serve`: run kegsafe for real."""

from argparse import ArgumentParser

from django.core.management.base import BaseCommand

from kegsafe.frame.serving import DEFAULT_HOST, DEFAULT_PORT, serve_here


class Command(BaseCommand):
    """Start the production web server with the settings of the environment."""

    help = "Run kegsafe for real, with a production web server. Settings: see kegsafe/settings.py."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Say where to listen."""
        parser.add_argument(
            "--host", default=DEFAULT_HOST, help="address to listen on (%(default)s)"
        )
        parser.add_argument(
            "--port", type=int, default=DEFAULT_PORT, help="port to listen on (%(default)s)"
        )

    def handle(self, *_args: object, host: str, port: int, **_options: object) -> None:
        """Become the web server."""
        serve_here(host, port)
