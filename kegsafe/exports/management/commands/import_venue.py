"""`manage.py import_venue FILE.zip`: take in a venue that was packed by export_venue."""

from pathlib import Path

from django.core.management.base import BaseCommand, CommandError, CommandParser

from kegsafe.exports.moving.archive import Archive
from kegsafe.exports.moving.manifest import CannotMoveIn
from kegsafe.exports.moving.moving_in import Arrival, move_in


class Command(BaseCommand):
    help = (
        "Take in a venue from a file of export_venue, whole or not at all: hashes, types, foreign "
        "keys and the ledger are checked first. Meant for an empty database."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", type=Path)

    def handle(self, *args: object, file: Path, **options: object) -> None:
        try:
            with Archive(file) as archive:
                arrival = move_in(archive)
        except CannotMoveIn as refused:
            raise CommandError(f"{refused} Nothing was stored.") from refused
        self._tell(arrival)

    def _tell(self, arrival: Arrival) -> None:
        self.stdout.write(
            f"{arrival.venue.name} is here: {arrival.rows} rows and {arrival.files} kept files."
            f"\nLedger: {arrival.entries} entries, head {arrival.head}\n"
            "The chain follows, and every record says what its last entry says."
        )
        if arrival.missing:
            self.stdout.write(f"{arrival.missing} file(s) were missing when it was packed.")
        if arrival.newcomers:
            self.stdout.write(
                f"No password came along: {', '.join(arrival.newcomers)} cannot sign in yet. Set "
                "the owner's with manage.py changepassword NAME; the owner sets the others."
            )
        if arrival.joined:
            self.stdout.write(f"Had an account here and keep it: {', '.join(arrival.joined)}.")
        self.stdout.write(
            "Tokens of loggers, calendars and inspectors' links go on working: end those you do "
            "not want at this site. The next inspection pack makes a new signing key."
        )
