"""`python3 manage.py demo`: kegsafe with two invented bars in it, ready to look at."""

import sys
from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError
from django.db import connection
from django.db.migrations.executor import MigrationExecutor
from django.utils import timezone

from kegsafe.demo.laying import days_since_laid, lay, read_temperatures_anew
from kegsafe.demo.scenario import BadScenario, Scenario, read_scenario
from kegsafe.frame.serving import DEFAULT_HOST, DEFAULT_PORT, refuse_a_taken_port, serve_here
from kegsafe.venues.models import Venue

SCENARIO = settings.BASE_DIR / "fixtures" / "demo"


class Command(BaseCommand):
    help = (
        "Serve a demo with two invented bars until Ctrl+C. It has a database of its own; what is "
        "entered stays there until --reset."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--host", default=DEFAULT_HOST, help="0.0.0.0 lets other devices in.")
        parser.add_argument("--port", type=int, default=DEFAULT_PORT)
        parser.add_argument(
            "--no-serve", action="store_true", help="Make the demo ready, and serve nothing."
        )
        parser.add_argument(
            "--reset", action="store_true", help="Throw the demo's database away and lay it anew."
        )
        parser.add_argument("--yes", action="store_true", help="Do not ask before --reset.")

    def handle(
        self, *args: object, host: str, port: int, no_serve: bool, reset: bool, yes: bool, **_: Any
    ) -> None:
        if not settings.DEMO:
            raise CommandError("The demo keeps to its own database: python3 manage.py demo")
        if not no_serve:
            refuse_a_taken_port(host, port)
        if reset:
            self._reset(ask=not yes)
        self._migrate()
        scenario = read_scenario(SCENARIO)
        self._lay_or_freshen(scenario)
        self._say_who_signs_in(scenario)
        if not no_serve:
            serve_here(host=host, port=port)

    def _reset(self, *, ask: bool) -> None:
        """Delete the database: records are append-only, so none can be taken out one by one."""
        database = Path(connection.settings_dict["NAME"])
        if ask and not _agreed(f"This throws away {database} and all that was entered. Type yes: "):
            raise CommandError("Nothing was thrown away.")
        connection.close()
        for ending in ("", "-wal", "-shm"):
            database.with_name(database.name + ending).unlink(missing_ok=True)

    def _migrate(self) -> None:
        executor = MigrationExecutor(connection)
        if executor.migration_plan(executor.loader.graph.leaf_nodes()):
            self.stdout.write("Making the demo's database.")
            call_command("migrate", verbosity=0)

    def _lay_or_freshen(self, scenario: Scenario) -> None:
        first = Venue.objects.order_by("pk").first()
        now = timezone.now()
        if first is None:
            self.stdout.write("Laying the demo's day: deliveries, batches, kegs, temperatures.")
            self._lay(scenario)
            return
        if days := days_since_laid(first, now):
            ago = "yesterday" if days == 1 else f"{days} days ago"
            self.stdout.write(f"The demo's day was laid {ago}; --reset lays it anew.")
        if places := read_temperatures_anew(scenario, now):
            names = ", ".join(place.name for place in places)
            self.stdout.write(f'Read anew, as "{scenario.recorded_by}": {names}.')

    def _lay(self, scenario: Scenario) -> None:
        try:
            lay(scenario, timezone.now())
        except BadScenario as wrong:
            raise CommandError(f"The demo cannot be laid. {wrong}") from wrong
        except KeyboardInterrupt:
            self.stdout.write("\nInterrupted: nothing was kept. Run it again to lay the demo.")
            sys.exit(130)

    def _say_who_signs_in(self, scenario: Scenario) -> None:
        self.stdout.write("Sign in with one of these names. Everybody can know the passwords.")
        for person in scenario.people:
            self.stdout.write(f"  {person.username:<10} {person.password:<17} {person.shows}")


def _agreed(question: str) -> bool:
    try:
        return input(question).strip().lower() == "yes"
    except EOFError:
        raise CommandError("Nobody answered. Add --yes to throw the demo away unasked.") from None
