"""How long the list of what is due and the cleaning log take as the cycles of years pile up."""

import uuid
from collections.abc import Callable, Iterator
from datetime import timedelta
from decimal import Decimal
from itertools import islice

from django.contrib.auth.models import User
from django.db import transaction
from django.utils import timezone

from kegsafe.benchmarks.measuring import Comparison, compare, take_turns
from kegsafe.benchmarks.throw_away import Site
from kegsafe.cleaning import services
from kegsafe.cleaning.log_words import entry_row
from kegsafe.cleaning.models import (
    ChemicalBatch,
    CleaningPlan,
    CleaningRecord,
    Cycle,
    CycleStep,
    LatestCycles,
)
from kegsafe.cleaning.queries import due_of, pieces_of
from kegsafe.cleaning.queries.log import log_page
from kegsafe.equipment import services as equipment
from kegsafe.equipment.models import Metal
from kegsafe.ledger.services import Recorder
from kegsafe.venues.models import Units, Venue
from kegsafe.venues.services import open_venue

PIECES = 200
CYCLES = (1_000, 100_000)
MOST_BETWEEN_SIZES = 1.5
ROWS = 50
_AT_ONCE = 5_000
_STEP_POSITIONS = (3, 4, 5)  # of the plan for a line: detergent, rinse, sanitiser
_PH = {"lowest": "7.4", "highest": "7.4", "means": "meter"}


def measure(site: Site, rounds: int) -> Iterator[Comparison]:
    """Measure both pages' work among a thousand and among a hundred thousand cycles."""
    venue = _venue()
    files = {}
    for cycles in CYCLES:
        site.go_on_in(site.files[0])
        files[cycles] = site.copy(f"{cycles}_cycles")
        with transaction.atomic():
            add_cycles(venue, cycles)
    for what, work in (("what is due", _due), ("the log's first page", _log)):
        works = {
            f"{what}, {cycles:,} cycles": _in_file(site, file, work, venue)
            for cycles, file in files.items()
        }
        few, many = works
        seconds = take_turns(works, rounds=rounds, times=3)
        yield compare(many, few, seconds, bound=MOST_BETWEEN_SIZES)


def _due(venue: Venue) -> None:
    if len(due_of(venue, timezone.now())) != PIECES:
        raise RuntimeError("not every piece is on the list: nothing to measure")


def _log(venue: Venue) -> None:
    if len([entry_row(entry) for entry in log_page(venue, ROWS)]) != ROWS:
        raise RuntimeError("the log has no full page: nothing to measure")


def _in_file(
    site: Site, file: object, work: Callable[[Venue], None], venue: Venue
) -> Callable[[], None]:
    def run() -> None:
        site.go_on_in(file)
        work(venue)

    return run


def _venue() -> Venue:
    """Open a bar with a hundred lines and a hundred kegs, a plan for each, and a cupboard."""
    venue = open_venue(
        name="The Copper Finch",
        code_key="us_fda_2022",
        time_zone="America/New_York",
        units=Units.US,
        owner=User.objects.create_user("mara"),
    )
    by = Recorder(chain_key=venue.chain_id, person="mara")
    for key in ("line.sweet", "keg"):
        services.copy_plan(venue=venue, starter_key=key, by=by)
    cleaner = services.add_chemical(venue=venue, name="Cleaner", chemistry="alkaline", by=by)
    services.add_batch(chemical=cleaner, batch="B1", expires_on=None, by=by)
    for number in range(PIECES // 2):
        equipment.add_line(venue=venue, name=f"L{number}", metal=Metal.STAINLESS, by=by)
        equipment.add_keg(
            venue=venue,
            name=f"K{number}",
            capacity_ml=Decimal(19_000),
            rated_gauge_pa=Decimal(900_000),
            metal=Metal.STAINLESS,
            by=by,
        )
    return venue


def add_cycles(venue: Venue, count: int) -> None:
    """Write cycles with three steps and a dated record each, one after the other over all pieces.

    Straight into the tables: the pages read these, and never the ledger.
    """
    newest: dict[str, Cycle] = {}
    cycles = _cycles(venue, count)
    batch = ChemicalBatch.objects.get(chemical__venue=venue)
    while made := list(islice(cycles, _AT_ONCE)):
        CleaningRecord.objects.bulk_create(cycle.record for cycle in made)
        Cycle.objects.bulk_create(made)
        CycleStep.objects.bulk_create(step for cycle in made for step in _steps(cycle, batch))
        newest |= {cycle.piece_key: cycle for cycle in made}
    LatestCycles.objects.bulk_create(
        LatestCycles(
            venue=venue,
            piece_key=key,
            family=cycle.plan.family,
            last=cycle,
            last_good=cycle,
        )
        for key, cycle in newest.items()
    )


def _cycles(venue: Venue, count: int) -> Iterator[Cycle]:
    plans = {plan.equipment: plan for plan in CleaningPlan.objects.filter(venue=venue)}
    pieces = pieces_of(venue)
    now = timezone.now()
    for number in range(count):
        piece = pieces[number % len(pieces)]
        sort = piece._meta.model_name
        began = now - timedelta(minutes=30 * (count - number))
        yield Cycle(
            venue=venue,
            circuit=uuid.uuid4(),
            plan=plans[sort],
            code_key=venue.code_key,
            day=began.date(),
            operator="mara",
            started_at=began,
            ended_at=began + timedelta(minutes=25),
            result=Cycle.Result.COMPLETE,
            record=CleaningRecord(
                venue=venue,
                cleaned_at=began + timedelta(minutes=25),
                method="By its plan",
                recorded_by="mara",
                **{sort: piece},
            ),
            **{sort: piece},
        )


def _steps(cycle: Cycle, batch: ChemicalBatch) -> Iterator[CycleStep]:
    for position in _STEP_POSITIONS:
        yield CycleStep(
            cycle=cycle,
            position=position,
            client_id=uuid.uuid4(),
            started_at=cycle.started_at,
            ended_at=cycle.ended_at,
            chemical=batch if position == _STEP_POSITIONS[0] else None,
            tap_water_ph=_PH,
            outlet_ph=[_PH],
            recorded_by="mara",
        )
