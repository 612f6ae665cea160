"""`manage.py benchmark`: measure what must stay quick, and fail when it does not."""

from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from kegsafe.benchmarks import chain, cleaning, cold, pack, pour_page, today, trace
from kegsafe.benchmarks.measuring import NOISE
from kegsafe.benchmarks.throw_away import throw_away_site

SECTIONS = {
    "pour-page": pour_page.measure,
    "ledger": chain.measure,
    "cleaning": cleaning.measure,
    "logger-files": cold.measure_files,
    "excursions": cold.measure_excursions,
    "place-page": cold.measure_page,
    "today": today.measure,
    "trace": trace.measure,
    "pack": pack.measure,
}
FEWEST_ROUNDS = 5


class Command(BaseCommand):
    help = (
        "Time the pour check and the ledger against the least that the same work can cost, on a "
        "throw-away database. Exit status 1 when a bound is broken. The records are not touched."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument(
            "sections",
            nargs="*",
            metavar="SECTION",
            help=f"What to measure: {', '.join(SECTIONS)}. All of them when left out.",
        )
        parser.add_argument(
            "--rounds", type=int, default=9, help="How often each is timed, 5 or more."
        )

    def handle(self, *args: object, **options: Any) -> None:
        sections = options["sections"] or list(SECTIONS)
        _refuse(sections, options["rounds"])
        broken = []
        for section in sections:
            self.stdout.write(self.style.MIGRATE_HEADING(section))
            with throw_away_site() as site:
                for comparison in SECTIONS[section](site, options["rounds"]):
                    self.stdout.write(f"  {comparison}")
                    broken += [comparison] if comparison.is_broken else []
        self.stdout.write(
            "Medians, taken in turn in one process. Two runs on one machine may differ by "
            f"{NOISE:.0%}; only the ratios mean anything on another."
        )
        if broken:
            raise CommandError(f"{len(broken)} bound(s) broken.", returncode=1)


def _refuse(sections: list[str], rounds: int) -> None:
    unknown = [section for section in sections if section not in SECTIONS]
    if unknown:
        raise CommandError(
            f'"{unknown[0]}" is no section. Choose from: {", ".join(SECTIONS)}.', returncode=2
        )
    if rounds < FEWEST_ROUNDS:
        raise CommandError(
            f"{rounds} rounds tell too little. Ask for {FEWEST_ROUNDS} or more.", returncode=2
        )
