"""`manage.py inspection_pack`: make a pack and keep a copy of it where the caller says."""

from argparse import ArgumentParser, ArgumentTypeError
from datetime import date, timedelta
from pathlib import Path
from shutil import copyfile
from typing import Any

from django.core.exceptions import ValidationError
from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from kegsafe.inspection import storage
from kegsafe.inspection.keys import KeyUnreadable
from kegsafe.inspection.making import Wanted, make
from kegsafe.inspection.models import PaperSize
from kegsafe.inspection.sections import CHOICES
from kegsafe.inspection.services import check_period
from kegsafe.ledger.services import Recorder
from kegsafe.venues.models import Units, Venue


class Command(BaseCommand):
    help = (
        "Make an inspection pack, record it, and write the PDF to OUT and the ZIP of its rows "
        "beside it. Exit status 2 when it was asked for something that cannot be."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("out", metavar="OUT", type=Path, help="The PDF to write.")
        parser.add_argument("--venue", help="Its name. May be left out when there is one.")
        parser.add_argument("--from", dest="first", type=_day, help="First day, such as 2026-04-01")
        parser.add_argument("--to", dest="last", type=_day, help="Last day; today when left out.")
        parser.add_argument("--paper", choices=PaperSize.values)
        parser.add_argument("--by", default="inspection_pack", help="Whose name it bears.")
        parser.add_argument(
            "--sections",
            nargs="+",
            choices=[key for key, _ in CHOICES],
            metavar="SECTION",
            help=f"All when left out: {', '.join(key for key, _ in CHOICES)}.",
        )

    def handle(self, *_: object, out: Path, **options: Any) -> None:
        venue = _venue(options["venue"])
        today = venue.local(timezone.now()).date()
        last = options["last"] or today
        first = options["first"] or last - timedelta(days=29)
        usual = PaperSize.LETTER if venue.units == Units.US else PaperSize.A4
        wanted = Wanted(
            venue=venue,
            first=first,
            last=last,
            sections=tuple(options["sections"] or [key for key, _ in CHOICES]),
            paper=options["paper"] or usual,
            by=Recorder(chain_key=venue.chain_id, person=options["by"]),
        )
        try:
            check_period(first, last, today)
            pack = make(wanted, self._say)
        except ValidationError as refused:
            raise CommandError(" ".join(refused.messages), returncode=2) from refused
        except KeyUnreadable as locked:
            raise CommandError(str(locked)) from locked
        beside = out.with_suffix(storage.ROWS)
        copyfile(storage.path_of(pack, storage.PDF), out)
        copyfile(storage.path_of(pack, storage.ROWS), beside)
        self.stdout.write(f"{out}: {pack.pages} pages, SHA-256 {pack.sha256}")
        self.stdout.write(f"{beside}: SHA-256 {pack.rows_sha256}")

    def _say(self, part: str, done: int, parts: int) -> None:
        self.stderr.write(f"  {done + 1} of {parts}: {part}")


def _day(typed: str) -> date:
    try:
        return date.fromisoformat(typed)
    except ValueError:
        raise ArgumentTypeError(f'"{typed}" is no date. Write one such as 2026-04-01.') from None


def _venue(name: str | None) -> Venue:
    venues = Venue.objects.filter(name=name) if name else Venue.objects.all()
    found = list(venues[:2])
    if len(found) == 1:
        return found[0]
    known = ", ".join(f'"{each}"' for each in Venue.objects.values_list("name", flat=True))
    if not known:
        raise CommandError("The database holds no venue yet. See: open_venue --help", returncode=2)
    asked = f'There is no venue "{name}".' if name else "There is more than one venue."
    raise CommandError(f"{asked} Say which: --venue, one of {known}.", returncode=2)
