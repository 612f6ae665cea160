"""`manage.py due`: what is due on pressure equipment, by the same rule as the page."""

import json
from argparse import ArgumentTypeError
from datetime import date
from typing import Any

from django.core.management.base import BaseCommand, CommandParser
from django.utils import timezone

from kegsafe.pressure.queries import RegisterRow, dues_in, register, sorted_by
from kegsafe.venues.commands import one_venue
from kegsafe.venues.models import Venue

NOTHING_DUE, SOMETHING_DUE = 0, 3


def day(text: str) -> date:
    """Read a day such as 2026-04-07."""
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise ArgumentTypeError(f'"{text}" is no date. Write one such as 2026-04-07.') from None


class Command(BaseCommand):
    help = (
        "List what is due on pressure equipment, the most urgent first, each with its rule. "
        "Exit status: 0 nothing is due, 3 something is due or not known and so treated as due."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--venue", help="Name of the venue, where there are several.")
        parser.add_argument("--on", type=day, help="Judge on this day instead of today.")
        parser.add_argument("--json", action="store_true", help="Print JSON, with what is not due.")

    def handle(self, *args: object, **options: Any) -> None:
        venue = one_venue(options["venue"])
        today = options["on"] or timezone.localdate(timezone=venue.zone)
        rows = sorted_by(register(venue, today), "due")
        if options["json"]:
            printed = [row.as_json() for row in rows]
            self.stdout.write(json.dumps(printed, ensure_ascii=False, indent=2))
        else:
            self._print(rows, venue, today)
        raise SystemExit(SOMETHING_DUE if any(row.asking for row in rows) else NOTHING_DUE)

    def _print(self, rows: list[RegisterRow], venue: Venue, today: date) -> None:
        asking = dues_in(rows)
        self.stdout.write(f"{venue}, {today:%Y-%m-%d}: {len(asking)} due, or not known.")
        for each in asking:
            due = each.due
            self.stdout.write(f"  {each.day:<10}  {each.thing}: {due.label}")
            self.stdout.write(f"              {due.because} ({due.source}, {due.verified})")
