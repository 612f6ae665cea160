"""`manage.py self_check`: what an inspector would find in the records, by the page's own rules."""

import json
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import timezone

from kegsafe.frame.cautions import DEFERENCE
from kegsafe.ledger.services import Recorder
from kegsafe.readiness import services
from kegsafe.readiness.queries import gaps
from kegsafe.rules.moments import at_moment
from kegsafe.rules.readiness import Gap
from kegsafe.venues.commands import one_venue
from kegsafe.venues.models import Venue

NOTHING_FOUND, SOMETHING_FOUND = 0, 3


class Command(BaseCommand):
    help = (
        "List what an inspector would find in the records, the gravest first, each with its "
        "clause. Exit status: 0 no gap was found, 3 there is one at least. A self-check: the "
        "authority decides."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--venue", help="Name of the venue, where there are several.")
        parser.add_argument("--json", action="store_true", help="Print JSON.")
        parser.add_argument(
            "--record",
            metavar="PERSON",
            help="Verify the ledger and keep the self-check, in this person's name.",
        )

    def handle(self, *args: object, **options: Any) -> None:
        venue = one_venue(options["venue"])
        now = timezone.now()
        if options["record"]:
            by = self._recorder(venue, options["record"])
            services.walk_chain(venue=venue, at=now, by=by)
            services.record_self_check(venue=venue, at=now, by=by)
        found = gaps(venue, now)
        if options["json"]:
            printed = [gap.as_json() for gap in found]
            self.stdout.write(json.dumps(printed, ensure_ascii=False, indent=2))
        else:
            when = at_moment(now, venue.zone)
            self.stdout.write(f"{venue}, {when}: {len(found)} found. {venue.code.name}.")
            for gap in found:
                self._print(gap)
            self.stdout.write(f"A self-check. {DEFERENCE} {venue.code.deference}")
        raise SystemExit(SOMETHING_FOUND if found else NOTHING_FOUND)

    def _recorder(self, venue: Venue, person: str) -> Recorder:
        members = venue.memberships.filter(is_active=True).values_list("user__username", flat=True)
        if person not in members:
            known = ", ".join(sorted(members))
            raise CommandError(
                f'"{person}" has no role at {venue}. Name one of: {known}.', returncode=2
            )
        return Recorder(chain_key=venue.chain_id, person=person)

    def _print(self, gap: Gap) -> None:
        self.stdout.write(f"  {gap.what} {gap.weight.in_words}")
        self.stdout.write(f"      {gap.clause.citation} ({gap.clause.verified})")
        self.stdout.write(f"      {gap.clause.weight_source}")
        for item in gap.items:
            self.stdout.write(f"      - {item.name}: {item.why}")
