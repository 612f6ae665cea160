"""`manage.py verify_science`: how near every relation comes to the tables of others."""

from typing import Any

from django.core.management.base import BaseCommand, CommandError

from kegsafe.calculators.error_budget import Spent, spent

_COLUMNS = (34, 8, 22, 22, 7)


class Command(BaseCommand):
    help = (
        "Hold every relation of the science against the published tables in shared/ and print "
        "the error budget. Exit status 1 when one is past its tolerance."
    )
    requires_system_checks = ()

    def handle(self, *args: object, **options: Any) -> None:
        budget = spent()
        self._line("quantity", "checks", "worst deviation", "tolerance", "", "source")
        for each in budget:
            self._row(each)
        checks = sum(each.checks for each in budget)
        self.stdout.write(f"\n{checks} checks of {len(budget)} quantities against outside tables.")
        failed = [each.budget.quantity for each in budget if not each.holds]
        if failed:
            raise CommandError(f"Past the tolerance: {', '.join(failed)}.", returncode=1)

    def _row(self, each: Spent) -> None:
        budget = each.budget
        self._line(
            budget.quantity,
            str(each.checks),
            f"{each.worst:.2g} {budget.unit}",
            f"{budget.tolerance:g} {budget.unit}",
            "holds" if each.holds else "FAILS",
            budget.source,
        )

    def _line(self, *cells: str) -> None:
        padded = (f"{cell:<{width}}" for cell, width in zip(cells, _COLUMNS, strict=False))
        self.stdout.write(f"{''.join(padded)}{cells[-1]}")
