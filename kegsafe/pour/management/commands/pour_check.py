"""`manage.py pour_check KEG`: the same verdict as the page, for scripts and for the bar's wall."""

import json
from argparse import ArgumentTypeError
from datetime import datetime
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import timezone

from kegsafe.pour.queries import KegView, keg_views_named, open_keg_views
from kegsafe.rules.findings import Outcome
from kegsafe.rules.moments import at_moment
from kegsafe.rules.pour_check import PourVerdict, pour_check
from kegsafe.venues.commands import one_venue
from kegsafe.venues.models import Venue

EXIT_STATUS = {Outcome.POUR: 0, Outcome.ASK: 3, Outcome.STOP: 4}
WORDS = {Outcome.POUR: "POUR", Outcome.ASK: "ASK THE MANAGER", Outcome.STOP: "DO NOT POUR"}


def moment(text: str) -> datetime:
    """Read a moment such as 2026-04-07T18:30 or with its offset; a bare one is venue time."""
    try:
        return datetime.fromisoformat(text)
    except ValueError:
        raise ArgumentTypeError(
            f'"{text}" is no date and time. Write one such as 2026-04-07T18:30.'
        ) from None


class Command(BaseCommand):
    help = (
        "Say whether a keg may be poured, with every reason. "
        "Exit status: 0 pour, 3 ask the manager, 4 do not pour (the gravest of several)."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("keg", nargs="?", help="Name or label code of the keg, such as K7.")
        parser.add_argument("--all", action="store_true", help="Every keg that holds a drink.")
        parser.add_argument("--venue", help="Name of the venue, where there are several.")
        parser.add_argument("--at", type=moment, help="Judge at this moment instead of now.")
        parser.add_argument("--json", action="store_true", help="Print JSON.")

    def handle(self, *args: object, **options: Any) -> None:
        if bool(options["keg"]) == options["all"]:
            raise CommandError("Name one keg, or say --all.", returncode=2)
        venue = one_venue(options["venue"])
        now = self._now(options["at"], venue)
        views = self._views(venue, None if options["all"] else options["keg"], now)
        judged = [(view, pour_check(view.facts, now)) for view in views]
        self._print(judged, venue, as_json=options["json"], many=options["all"])
        raise SystemExit(max((EXIT_STATUS[verdict.outcome] for _, verdict in judged), default=3))

    def _views(self, venue: Venue, name: str | None, now: datetime) -> list[KegView]:
        if name is None:
            return open_keg_views(venue, now)
        views = keg_views_named(venue, name, now)
        if not views:
            raise CommandError(f'No keg is called "{name}" at {venue}.', returncode=2)
        return views

    def _now(self, at: datetime | None, venue: Venue) -> datetime:
        if at is None:
            return timezone.now()
        return at if at.tzinfo else at.replace(tzinfo=venue.zone)

    def _print(
        self,
        judged: list[tuple[KegView, PourVerdict]],
        venue: Venue,
        *,
        as_json: bool,
        many: bool,
    ) -> None:
        if as_json:
            verdicts = [
                {"keg": view.row["name"], "drink": view.row["drink"], **verdict.as_json()}
                for view, verdict in judged
            ]
            printed = verdicts if many else verdicts[0]
            self.stdout.write(json.dumps(printed, ensure_ascii=False, indent=2))
            return
        for view, verdict in judged:
            self._print_one(view, verdict, venue)

    def _print_one(self, view: KegView, verdict: PourVerdict, venue: Venue) -> None:
        self.stdout.write(f"Keg {view.row['name']}: {WORDS[verdict.outcome]}")
        self.stdout.write(f"  drink    {view.row['drink'] or 'none'}")
        if verdict.use_by:
            self.stdout.write(f"  use by   {at_moment(verdict.use_by, venue.zone)}")
        if verdict.declaration:
            self.stdout.write(f"  declares {verdict.declaration.statement}")
        for finding in verdict.findings:
            self.stdout.write(f"  [{finding.severity}] {finding.statement} ({finding.source})")
