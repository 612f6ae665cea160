"""Who may do what in the cleaning room, and a record of each kind its addresses ask for."""

import uuid

from kegsafe.cleaning import services
from kegsafe.cleaning.models import (
    ChemicalBatch,
    CleaningPlan,
    CleaningRecord,
    CorrectiveAction,
    DataSheet,
)
from kegsafe.frame.documents import NewDocument
from kegsafe.venues.access import EVERYBODY, MANAGERS, NOBODY, RECORDERS
from kegsafe.venues.models import Venue
from tests.builders import a_line, a_recorder

# Address, who may open it, who may send its form: part of the table in tests/test_roles.py.
CLEANING = {
    "cleaning": (EVERYBODY, NOBODY),
    "cycle-start": (RECORDERS, RECORDERS),
    "circuit": (EVERYBODY, RECORDERS),
    "circuit-give-up": (RECORDERS, RECORDERS),
    "circuit-sign": (NOBODY, RECORDERS),
    "circuit-finish": (NOBODY, RECORDERS),
    "cycles": (EVERYBODY, NOBODY),
    "line-year": (EVERYBODY, NOBODY),
    "line-left": (EVERYBODY, NOBODY),
    "keg-left": (EVERYBODY, NOBODY),
    "cycle": (EVERYBODY, NOBODY),
    "cycle-corrective": (RECORDERS, RECORDERS),
    "corrective-check": (NOBODY, RECORDERS),
    "cleaning-plans": (EVERYBODY, MANAGERS),
    "cleaning-plan": (EVERYBODY, NOBODY),
    "cleaning-plan-change": (MANAGERS, MANAGERS),
    "cleaning-plan-retire": (MANAGERS, MANAGERS),
    "chemicals": (EVERYBODY, NOBODY),
    "chemical-add": (MANAGERS, MANAGERS),
    "chemical": (EVERYBODY, NOBODY),
    "chemical-amend": (MANAGERS, MANAGERS),
    "chemical-batch-add": (RECORDERS, RECORDERS),
    "chemical-sheet-add": (MANAGERS, MANAGERS),
    "batch-of-chemical-amend": (MANAGERS, MANAGERS),
    "data-sheet": (EVERYBODY, NOBODY),
    "clean-items": (EVERYBODY, NOBODY),
    "clean-item-add": (MANAGERS, MANAGERS),
    "clean-item": (EVERYBODY, NOBODY),
    "clean-item-amend": (MANAGERS, MANAGERS),
    "drinks-carried": (MANAGERS, MANAGERS),
    "feed-addresses": (MANAGERS, MANAGERS),
    "feed-revoke": (NOBODY, MANAGERS),
    "cleaning-records": (EVERYBODY, NOBODY),
    "clean": (EVERYBODY, NOBODY),
    "clean-record": (RECORDERS, RECORDERS),
    "clean-amend": (MANAGERS, MANAGERS),
    "cleaning-labels": (EVERYBODY, NOBODY),
    "cleaning-log-csv": (EVERYBODY, NOBODY),
    "cleaning-log-xlsx": (EVERYBODY, NOBODY),
    "cleaning-log-pdf": (EVERYBODY, NOBODY),
}
CLEANING_KINDS = (
    *("clean", "cycle", "corrective", "cleaning-plan", "chemical", "feed"),
    *("clean-item", "batch-of-chemical", "data-sheet"),
)

A_SHEET = NewDocument("sheet.pdf", b"%PDF-1.4\n%%EOF")


def cleaning_records(venue: Venue) -> dict[str, object]:
    """Return one record of each kind, adding what the demo lacks."""
    _add_what_the_demo_lacks(venue)
    by = a_recorder(venue)
    feed, feed.token = services.make_feed_address(venue=venue, name="Ana", by=by)
    return {
        "clean": CleaningRecord.objects.filter(venue=venue).first(),
        "cycle": venue.cleaning_cycles.filter(result="given_up").first(),
        "circuit": venue.cleaning_cycles.filter(ended_at=None).first(),
        "corrective": CorrectiveAction.objects.filter(cycle__venue=venue).first(),
        "cleaning-plan": venue.cleaning_plans.filter(replaced_on=None).first(),
        "chemical": venue.chemicals.first(),
        "feed": feed,
        "clean-item": venue.clean_items.first(),
        "batch-of-chemical": ChemicalBatch.objects.filter(chemical__venue=venue).first(),
        "data-sheet": DataSheet.objects.filter(chemical__venue=venue).first(),
    }


def _add_what_the_demo_lacks(venue: Venue) -> None:
    """A plan, a chemical, a cycle that was given up with its corrective action, one begun."""
    by = a_recorder(venue)
    plan = CleaningPlan.objects.filter(venue=venue, equipment="line", replaced_on=None).first()
    plan = plan or services.copy_plan(venue=venue, starter_key="line.plain", by=by)
    cleaner = services.add_chemical(venue=venue, name="Test cleaner", chemistry="alkaline", by=by)
    services.add_batch(chemical=cleaner, batch="1", expires_on=None, by=by)
    services.keep_data_sheet(chemical=cleaner, sent=A_SHEET, by=by)
    services.add_item(venue=venue, name="Test tray", kind="drip_tray", by=by)
    given_up, _goes_on = (
        services.start_circuit(
            venue=venue, plan=plan, pieces=[a_line(venue)], circuit=uuid.uuid4(), by=by
        )[0]
        for _ in range(2)
    )
    services.give_up_cycle(cycle=given_up, reason="No water", by=by)
    services.record_corrective_action(
        cycle=given_up,
        found="No water",
        cause="Main off",
        done="Waited",
        product_affected="None",
        by=by,
    )
