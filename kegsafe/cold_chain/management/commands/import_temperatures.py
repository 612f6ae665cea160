"""Import the file of a temperature logger: every bad row is said, good ones go in, none twice."""

import sys
from argparse import ArgumentParser
from pathlib import Path
from typing import Any, BinaryIO

from django.core.exceptions import ValidationError
from django.core.management.base import BaseCommand, CommandError
from tqdm import tqdm

from kegsafe.cold_chain.log_file import (
    SNIFFED_BYTES,
    DateOrder,
    LogShape,
    Question,
    Unit,
    UnreadableLog,
    sniff,
)
from kegsafe.cold_chain.models import ImportedLog, Logger
from kegsafe.cold_chain.services import DoubtfulLog, import_log, remembered
from kegsafe.equipment.models import Place
from kegsafe.ledger.services import Recorder

FROM_THE_COMMAND = "command line"
# The option that answers a question about a file.
_OPTIONS = {
    "time_columns": "--time-column",
    "temperature_column": "--column",
    "unit": "--unit",
    "decimal": "--decimal",
    "date_order": "--date-order",
    "zone": "--zone",
}


class Command(BaseCommand):
    """Exit status 0: the file is in, bad rows named. 1: nothing of it was kept."""

    help = (
        "Import a logger's file into a place. What the file does not show has to be said with an "
        "option; nothing is guessed. The same file again adds nothing."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Take the file, the place, and answers to what a file may leave open."""
        parser.add_argument("file", type=Path)
        parser.add_argument("--place", required=True, help="name of the place")
        parser.add_argument("--venue", default="", help="name of the venue, where there are more")
        parser.add_argument("--logger", default="", help="name of the logger in that place")
        parser.add_argument("--zone", help="Europe/London, UTC or +01:00")
        parser.add_argument("--unit", choices=[unit.value for unit in Unit])
        parser.add_argument("--date-order", choices=[order.value for order in DateOrder])
        parser.add_argument("--decimal", choices=[".", ","])
        parser.add_argument("--column", type=int, help="number of the temperature's column")
        parser.add_argument(
            "--time-column", type=int, nargs="+", help="number of the time's column, or of two"
        )
        parser.add_argument(
            "--accept-doubts", action="store_true", help="import although it may be misread"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        """Read, check and import the file."""
        place = _place(options["place"], options["venue"])
        logger = _logger(place, options["logger"])
        try:
            with options["file"].open("rb") as stream:
                self._import(place, logger, stream, options)
        except OSError as error:
            raise CommandError(f"{options['file']} cannot be read: {error.strerror}.") from None
        except UnreadableLog as trouble:
            raise CommandError(str(trouble)) from None
        except ValidationError as trouble:
            raise CommandError(" ".join(trouble.messages)) from None
        except DoubtfulLog as doubtful:
            raise CommandError(_doubts(doubtful)) from None

    def _import(
        self, place: Place, logger: Logger | None, stream: BinaryIO, options: dict[str, Any]
    ) -> None:
        shape = _shape(stream, logger, options)
        size = options["file"].stat().st_size
        with tqdm(
            total=size, unit="B", unit_scale=True, file=sys.stderr, disable=None, leave=False
        ) as bar:

            def show(read_bytes: int) -> None:
                bar.update(read_bytes - bar.n)

            done = import_log(
                place=place,
                stream=stream,
                name=options["file"].name,
                shape=shape,
                logger=logger,
                by=Recorder(chain_key=place.venue.chain_id, person=FROM_THE_COMMAND),
                accept_doubts=options["accept_doubts"],
                progress=show,
            )
        self._report(done.log, is_new=done.is_new)

    def _report(self, log: ImportedLog, *, is_new: bool) -> None:
        if not is_new:
            self.stdout.write(f"Imported already, as {log.name}: nothing was added.")
            return
        for row in log.bad_rows.all():
            self.stderr.write(f"line {row.line}: {row.reason}")
        unsaid = log.bad - log.bad_rows.count()
        if unsaid:
            self.stderr.write(f"and {unsaid} more lines")
        for notice in log.notices:
            self.stdout.write(notice)
        self.stdout.write(
            f"{log.added} readings added, {log.repeated} on record already, {log.clashed} with "
            f"another value (the warmer one stays), {log.bad} rows could not be read"
        )


def _shape(stream: BinaryIO, logger: Logger | None, options: dict[str, Any]) -> LogShape:
    sniffed = sniff(stream.read(SNIFFED_BYTES))
    shape = remembered(sniffed, logger.shape if logger else None)
    columns, column = options["time_column"], options["column"]
    answers = {
        "zone": options["zone"],
        "unit": options["unit"],
        "date_order": options["date_order"],
        "decimal": options["decimal"],
        "temperature_column": None if column is None else column - 1,
        "time_columns": None if columns is None else tuple(each - 1 for each in columns),
    }
    shape = shape.chosen(**{name: said for name, said in answers.items() if said is not None})
    left = [asked for asked in sniffed.questions if getattr(shape, asked.field) is None]
    if left:
        raise CommandError("\n".join(["The file does not say:", *map(_asked, left)]))
    return shape


def _asked(question: Question) -> str:
    choices = "; ".join(words for _, words in question.choices)
    return f"{question.text} {choices}. Answer with {_OPTIONS[question.field]}.".replace(" . ", " ")


def _doubts(doubtful: DoubtfulLog) -> str:
    return "\n".join(
        [
            "Nothing was kept, because the file may be misread:",
            *doubtful.doubts,
            "Choose otherwise, or import it all the same with --accept-doubts.",
        ]
    )


def _place(name: str, venue: str) -> Place:
    places = Place.objects.select_related("venue").filter(name__iexact=name)
    if venue:
        places = places.filter(venue__name__iexact=venue)
    found = list(places[:2])
    if len(found) == 1:
        return found[0]
    if found:
        raise CommandError(f'More than one place is called "{name}". Say which with --venue.')
    known = ", ".join(Place.objects.values_list("name", flat=True)[:10]) or "none"
    raise CommandError(f'No place is called "{name}". On file: {known}.')


def _logger(place: Place, name: str) -> Logger | None:
    if not name:
        return None
    found = Logger.objects.filter(place=place, name__iexact=name).first()
    if found is None:
        known = ", ".join(place.loggers.values_list("name", flat=True)[:10]) or "none"
        raise CommandError(f'No logger in {place} is called "{name}". On file: {known}.')
    return found
