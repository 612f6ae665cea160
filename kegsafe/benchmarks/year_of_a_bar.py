"""The record of a bar over many days, written straight into the tables, to make packs of.

Ten kegs filled every third day, twelve lines cleaned every night, eight cold places read every
hour. Now and then a clean fails, a fridge is warm, a delivery is turned away.
"""

import uuid
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from decimal import Decimal
from itertools import islice
from typing import Any

from django.contrib.auth.models import User
from django.db import connection, models

from kegsafe.batches import services as batches
from kegsafe.batches.models import Batch, Fill
from kegsafe.cleaning import services as cleaning
from kegsafe.cleaning.models import ChemicalBatch, CorrectiveAction, Cycle, CycleStep
from kegsafe.cold_chain.models import LoggedReading, Reading
from kegsafe.cold_chain.services.log_store import count_hours
from kegsafe.equipment import services as equipment
from kegsafe.equipment.models import Keg, Line, Metal, Place, Use
from kegsafe.ledger.services import Recorder
from kegsafe.pressure.models import Check
from kegsafe.stock import services as stock
from kegsafe.stock.models import Delivery, Lot
from kegsafe.venues.models import Units
from kegsafe.venues.services import open_venue

_AT_ONCE = 2_000
_PH = {"lowest": "7.4", "highest": "7.4", "means": "meter"}
_STEP_POSITIONS = (3, 4, 5)  # of the plan for a line: detergent, rinse, sanitiser
_GOOD, _WARM = 320, 870  # hundredths of a degC
_INSERT = (
    f"INSERT INTO {LoggedReading._meta.db_table} (place_id, at_s, centi_degc, source) "  # noqa: S608
    "VALUES (%s, %s, %s, %s)"
)


@dataclass(frozen=True, slots=True)
class Size:
    """How much happens."""

    days: int
    kegs: int = 10
    lines: int = 12
    places: int = 8
    lots_a_day: int = 10


class YearOfABar:
    """A bar and what it recorded, from a first day on."""

    def __init__(self, first: date, size: Size, *, name: str = "The Copper Finch") -> None:
        self.first, self.size = first, size
        self.venue = open_venue(
            name=name,
            code_key="us_fda_2022",
            time_zone="America/New_York",
            units=Units.US,
            owner=User.objects.create_user("mara"),
        )
        self.by = Recorder(chain_key=self.venue.chain_id, person="mara")
        self._equip()
        self._fill()
        self._clean()
        self._check()
        self._receive()
        self._read()

    @property
    def last(self) -> date:
        """Return the last day."""
        return self.first + timedelta(days=self.size.days - 1)

    def at(self, day: int, hour: int, minute: int = 0) -> datetime:
        """Return a moment of a day, counted from the first, by the venue's clock."""
        on = self.first + timedelta(days=day)
        return datetime.combine(on, time(hour, minute), self.venue.zone).astimezone(UTC)

    def _equip(self) -> None:
        venue, by = self.venue, self.by
        steel = {"metal": Metal.STAINLESS, "by": by}
        self.kegs = [
            equipment.add_keg(
                venue=venue,
                name=f"K{number}",
                capacity_ml=Decimal(19_000),
                rated_gauge_pa=Decimal(900_000),
                **steel,
            )
            for number in range(1, self.size.kegs + 1)
        ]
        self.lines = [
            equipment.add_line(venue=venue, name=f"L{number}", **steel)
            for number in range(1, self.size.lines + 1)
        ]
        self.places = [
            equipment.add_place(
                venue=venue, name=f"Cooler {number}", kind=Place.Kind.KEG_COOLER, by=by
            )
            for number in range(1, self.size.places + 1)
        ]
        self.plans = {
            Line: cleaning.copy_plan(venue=venue, starter_key="line.sweet", by=by),
            Keg: cleaning.copy_plan(venue=venue, starter_key="keg", by=by),
        }
        cleaner = cleaning.add_chemical(venue=venue, name="Cleaner", chemistry="alkaline", by=by)
        self.chemical = cleaning.add_batch(chemical=cleaner, batch="B1", expires_on=None, by=by)
        self.ingredient = stock.add_ingredient(
            venue=venue,
            name="Juniper spirit",
            category="spirit",
            allergen_list_basis="maker's label",
            by=by,
        )
        self.supplier = stock.add_supplier(venue=venue, name="Harbour Wholesale", by=by)
        self.recipe = batches.add_recipe(
            venue=venue, name="Lemongrass Collins", test_volume_ml=Decimal(1_000), by=by
        )

    def _fill(self) -> None:
        """Every keg is filled every third day and emptied the day after next."""
        made = []
        for day in range(self.size.days):
            for number, keg in enumerate(self.kegs):
                if (day + number) % 3 == 0:
                    made.append(_Filling(self, day, keg, number))
        _write(Batch, (each.batch for each in made))
        _write(Use, (each.use for each in made))
        _write(Fill, (each.fill() for each in made))

    def _clean(self) -> None:
        """Every line each night, every keg on the day it is filled; some cleans fail."""
        cycles = list(self._cycles())
        _write(Cycle, cycles)
        _write(CycleStep, (step for cycle in cycles for step in _steps(cycle, self.chemical)))
        failed = (cycle for cycle in cycles if cycle.result == Cycle.Result.FAILED)
        _write(
            CorrectiveAction,
            (_action(cycle) for number, cycle in enumerate(failed) if number % 5),
        )

    def _cycles(self) -> Iterator[Cycle]:
        number = 0
        for day in range(self.size.days):
            due: list[Line | Keg] = list(self.lines)
            due += [keg for place, keg in enumerate(self.kegs) if (day + place) % 3 == 0]
            for minute, piece in enumerate(due):
                number += 1
                yield self._cycle(piece, self.at(day, 2, minute), fails=number % 41 == 0)

    def _cycle(self, piece: Line | Keg, began: datetime, *, fails: bool) -> Cycle:
        result = Cycle.Result.FAILED if fails else Cycle.Result.COMPLETE
        verdict = {"result": result.value, "findings": [_TOO_WEAK] if fails else []}
        return Cycle(
            venue=self.venue,
            circuit=uuid.uuid4(),
            plan=self.plans[type(piece)],
            code_key=self.venue.code_key,
            day=self.venue.local(began).date(),
            operator="jonas",
            verified_by="mara",
            started_at=began,
            ended_at=began + timedelta(minutes=25),
            result=result,
            verdict=verdict,
            **{piece._meta.model_name: piece},
        )

    def _check(self) -> None:
        """Two checks before each fill; one in a hundred fails."""
        fills = Fill.objects.filter(batch__venue=self.venue).order_by("pk")
        rows = fills.values_list("keg_id", "filled_at").iterator()
        _write(
            Check, (check for number, row in enumerate(rows) for check in self._two(number, row))
        )

    def _two(self, number: int, row: tuple[int, datetime]) -> Iterator[Check]:
        for key, label in (("before_fill", "Before each fill"), ("leak", "Leak test")):
            failed = key == "leak" and number % 100 == 99
            yield Check(
                venue=self.venue,
                keg_id=row[0],
                check_key=key,
                label=label,
                outcome=Check.Outcome.FAIL if failed else Check.Outcome.PASS,
                comment="Gasket hisses." if failed else "",
                checked_at=row[1] - timedelta(minutes=20),
                recorded_by="jonas",
            )

    def _receive(self) -> None:
        """One delivery a day; now and then a lot is turned away."""
        deliveries = [
            Delivery(
                venue=self.venue,
                supplier=self.supplier,
                received_at=self.at(day, 9),
                document=f"HW {day}",
                received_by="jonas",
            )
            for day in range(self.size.days)
        ]
        _write(Delivery, deliveries)
        _write(Lot, self._lots(deliveries))

    def _lots(self, deliveries: list[Delivery]) -> Iterator[Lot]:
        for day, delivery in enumerate(deliveries):
            for number in range(self.size.lots_a_day):
                rejected = (day * self.size.lots_a_day + number) % 97 == 96
                yield Lot(
                    venue=self.venue,
                    ingredient=self.ingredient,
                    delivery=delivery,
                    code=f"{day:03d}-{number:02d}",
                    supplier_lot_code=f"S{day}{number}",
                    measure="ml",
                    amount_received=Decimal(1_000),
                    amount_left=Decimal(0),
                    amount_typed="1 L",
                    date_kind=Lot.DateKind.NONE,
                    came_into_being_at=delivery.received_at,
                    arrival_temperature_degc=Decimal("3.4"),
                    status=Lot.Status.REJECTED if rejected else Lot.Status.ACCEPTED,
                    status_reason="Seal broken" if rejected else "",
                )

    def _read(self) -> None:
        """Every place each hour by a logger and once a day by hand; now and then one is warm."""
        first_s = int(self.at(0, 0).timestamp())
        hours = self.size.days * 24
        with connection.cursor() as cursor:
            for number, place in enumerate(self.places):
                rows = (
                    (place.pk, first_s + 3600 * hour, _centi_degc(hour, number), 1)
                    for hour in range(hours)
                )
                cursor.executemany(_INSERT, rows)
                count_hours(place.pk, first_s // 3600, first_s // 3600 + hours)
        _write(
            Reading,
            (
                Reading(
                    place=place,
                    read_at=self.at(day, 18, number),
                    temperature_degc=Decimal("3.2"),
                    recorded_by="jonas",
                )
                for day in range(self.size.days)
                for number, place in enumerate(self.places)
            ),
        )


class _Filling:
    """One keg filled on one day."""

    def __init__(self, bar: YearOfABar, day: int, keg: Keg, number: int) -> None:
        self._bar, self._keg, self._day = bar, keg, day
        self._filled_at = bar.at(day, 11, number)
        self._emptied_at = self._filled_at + timedelta(days=2)
        self.batch = Batch(
            venue=bar.venue,
            recipe=bar.recipe,
            code=f"B{day:03d}-{number:02d}",
            made_at=self._filled_at - timedelta(hours=1),
            volume_ml=Decimal(18_000),
            filled_ml=Decimal(18_000),
            made_by="jonas",
        )
        self.use = Use(
            keg=keg,
            drink=bar.recipe.name,
            began_at=self._filled_at,
            ended_at=self._emptied_at,
        )

    def fill(self) -> Fill:
        """Return the fill, once its batch and its use are written."""
        return Fill(
            batch=self.batch,
            keg=self._keg,
            use=self.use,
            filled_at=self._filled_at,
            volume_ml=Decimal(18_000),
            liquid_temperature_degc=Decimal(3),
            set_gauge_pa=Decimal(200_000),
            ready_from=self._filled_at,
            filled_by="jonas",
            state=Fill.State.EMPTIED,
            state_reason="Poured to the end",
            state_by="jonas",
            state_at=self._emptied_at,
            use_by_at=self._bar.at(self._day + 6, 23, 59),
            declaration={"statement": "Contains: Milk."},
            findings=[_AS_COUNTED, _SOON] if self._day % 10 == 0 else [_AS_COUNTED],
        )


_AS_COUNTED = {
    "rule": "date_marking.days",
    "severity": "note",
    "statement": "Mixed today: used within 7 days.",
    "source": "FDA Food Code 3-501.17",
    "verified": "read",
    "evidence": {},
}
_SOON = {
    **_AS_COUNTED,
    "rule": "assessment.missing",
    "severity": "warn",
    "statement": "Neither pH nor water activity is on record; treated as needing control.",
}
_TOO_WEAK = {
    **_AS_COUNTED,
    "rule": "cleaning.too_weak",
    "severity": "stop",
    "statement": "The detergent was weaker than the plan asks.",
}


def _centi_degc(hour: int, place: int) -> int:
    """Return a place that is warm for two hours every sixteen days or so."""
    return _WARM if (hour + 53 * place) % 391 in (200, 201) else _GOOD + (hour * 7 + place) % 60


def _steps(cycle: Cycle, chemical: ChemicalBatch) -> Iterator[CycleStep]:
    for position in _STEP_POSITIONS:
        yield CycleStep(
            cycle=cycle,
            position=position,
            client_id=uuid.uuid4(),
            started_at=cycle.started_at,
            ended_at=cycle.ended_at,
            chemical=chemical if position == _STEP_POSITIONS[0] else None,
            tap_water_ph=_PH,
            outlet_ph=[_PH],
            recorded_by="jonas",
        )


def _action(cycle: Cycle) -> CorrectiveAction:
    return CorrectiveAction(
        cycle=cycle,
        found="The detergent was weaker than the plan asks.",
        cause="The drum was nearly empty.",
        done="Cleaned again at full strength.",
        product_affected="None: the line was not in use.",
        acted_at=cycle.ended_at + timedelta(hours=1),
        recorded_by="jonas",
        verified_by="mara",
    )


def _write(model: type[models.Model], rows: Iterator[Any] | list[Any]) -> None:
    waiting = iter(rows)
    while some := list(islice(waiting, _AT_ONCE)):
        model.objects.bulk_create(some)
