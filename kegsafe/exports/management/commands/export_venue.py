"""`manage.py export_venue VENUE OUT.zip`: all of a venue in one file, to move house with."""

import os
import tempfile
from hashlib import file_digest
from pathlib import Path

from django.core.management.base import BaseCommand, CommandError, CommandParser

from kegsafe.exports.moving.belongings import LeadsToNoVenue
from kegsafe.exports.moving.packing import pack
from kegsafe.venues.models import Venue


class Command(BaseCommand):
    help = (
        "Write all records, kept files and the ledger of a venue into one file, which import_venue "
        "takes in elsewhere. It holds personal data. No password is in it."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("venue", help="Name of the venue.")
        parser.add_argument("out", type=Path, help="The file to write, such as bar.zip.")

    def handle(self, *args: object, venue: str, out: Path, **options: object) -> None:
        found = self._venue(venue)
        if out.exists():
            raise CommandError(f"{out} is there already. Name another file, or move that one.")
        try:
            # Beside its place, so that it appears whole or not at all; readable by us alone.
            handle, beside = tempfile.mkstemp(dir=out.parent, prefix=f".{out.name}.")
        except OSError as trouble:
            raise CommandError(f"{out} cannot be written: {trouble.strerror}.") from trouble
        try:
            with os.fdopen(handle, "w+b") as file:
                manifest = pack(found, file)
                file.flush()
                os.fsync(file.fileno())
                file.seek(0)
                digest = file_digest(file, "sha256").hexdigest()
            Path(beside).replace(out)
        except LeadsToNoVenue as forgotten:
            raise CommandError(str(forgotten)) from forgotten
        finally:
            Path(beside).unlink(missing_ok=True)
        rows = sum(member.rows for member in manifest.members)
        files = sum(not member.model for member in manifest.members)
        self.stdout.write(
            f"{found.name}: {rows} rows and {files} kept files are in {out}.\n"
            f"Ledger: {manifest.entries} entries, head {manifest.head}\n"
            f"SHA-256 of the file: {digest}"
        )
        if manifest.missing:
            self.stderr.write(
                f"{len(manifest.missing)} file(s) are not in the data folder as they were kept, "
                f"and are left out: {', '.join(manifest.missing)}"
            )

    def _venue(self, name: str) -> Venue:
        found = list(Venue.objects.filter(name=name)[:2])
        if len(found) != 1:
            known = ", ".join(Venue.objects.values_list("name", flat=True)) or "none yet"
            raise CommandError(f'No one venue is called "{name}". On record: {known}.')
        return found[0]
