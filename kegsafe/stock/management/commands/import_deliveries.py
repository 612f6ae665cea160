"""Import deliveries from a CSV file, as the page does: every bad row is said, good ones go in."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from kegsafe.ledger.services import Recorder
from kegsafe.stock.importing.delivery_file import LARGEST_FILE_BYTES, UnreadableFile, text_of
from kegsafe.stock.importing.plan import Plan, plan_import
from kegsafe.stock.services import import_deliveries
from kegsafe.venues.models import Membership, Venue

FROM_THE_COMMAND = "command line"


class Command(BaseCommand):
    """Exit status 0: every row is in stock. 1: rows were bad, or nothing could be read."""

    help = "Import deliveries from a CSV file. The layout is that of the sample on the import page."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Take the file, the venue, and who answers for it."""
        parser.add_argument("file", type=Path, help="the CSV file, UTF-8")
        parser.add_argument("--venue", required=True, help="name of the venue")
        parser.add_argument("--by", default="", help="sign-in name of a person of the venue")
        parser.add_argument("--dry-run", action="store_true", help="say what would happen, only")

    def handle(self, *args: Any, **options: Any) -> None:
        """Read, check and import the file."""
        venue = _venue(options["venue"])
        by = Recorder(chain_key=venue.chain_id, person=_person(venue, options["by"]))
        timezone.activate(venue.zone)
        try:
            text = text_of(_content(options["file"]))
            if options["dry_run"]:
                plan = plan_import(venue, text)
            else:
                name = options["file"].name
                plan = import_deliveries(venue=venue, text=text, by=by, file_name=name)
        except UnreadableFile as trouble:
            raise CommandError(str(trouble)) from None
        finally:
            timezone.deactivate()
        self._report(plan, dry_run=options["dry_run"])

    def _report(self, plan: Plan, *, dry_run: bool) -> None:
        for row in plan.bad:
            for trouble in row.troubles:
                where = f", {trouble.column}" if trouble.column else ""
                self.stderr.write(f"line {row.line}{where}: {trouble.sentence}")
        verb = "to import" if dry_run else "imported"
        self.stdout.write(
            f"{len(plan.new)} {verb}, {len(plan.known)} in stock already, {len(plan.bad)} to mend"
        )
        if plan.bad:
            raise CommandError("Mend the lines above and import the file again.", returncode=1)


def _venue(name: str) -> Venue:
    found = list(Venue.objects.filter(name__iexact=name)[:2])
    if len(found) == 1:
        return found[0]
    known = ", ".join(Venue.objects.values_list("name", flat=True)[:10]) or "none"
    what = "More than one venue is" if found else "No venue is"
    raise CommandError(f'{what} called "{name}". On file: {known}.')


def _person(venue: Venue, username: str) -> str:
    if not username:
        return FROM_THE_COMMAND
    people = Membership.objects.filter(venue=venue, is_active=True)
    if not people.filter(user__username=username).exists():
        raise CommandError(f'"{username}" does not work at {venue}. Give a sign-in name, or none.')
    return username


def _content(path: Path) -> bytes:
    try:
        with path.open("rb") as file:
            return file.read(LARGEST_FILE_BYTES + 1)
    except OSError as error:
        raise CommandError(f"{path} cannot be read: {error.strerror}.") from None
