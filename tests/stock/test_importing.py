"""An import shows every row first, brings in what was shown, and brings nothing in twice."""

from datetime import timedelta
from decimal import Decimal
from threading import Barrier, Thread

import pytest
from django.db import connection
from django.utils import timezone

from kegsafe.equipment.models import Place
from kegsafe.ledger.models import Entry
from kegsafe.ledger.queries import history
from kegsafe.stock import services
from kegsafe.stock.importing.delivery_file import COLUMNS, SAMPLE_ROW
from kegsafe.stock.importing.plan import Plan, plan_import
from kegsafe.stock.models import Delivery, DeliveryFile, ImportedRow, Lot
from tests.builders import a_place, a_recorder, a_supplier, a_venue, an_ingredient


@pytest.fixture
def bar(venue):
    """A bar that knows the supplier, the ingredient and the place of the sample."""
    furnish(venue)
    return venue


def furnish(venue) -> None:
    a_supplier(venue, name="Harbour Fruit Company")
    an_ingredient(venue, name="Lime juice", category="acid_citrus_juice")
    a_place(venue, name="Walk-in", kind=Place.Kind.WALK_IN)


def a_text(*rows: dict[str, str]) -> str:
    lines = [[{**SAMPLE_ROW, **row}[column] for column in COLUMNS] for row in rows]
    return "\n".join(";".join(cells) for cells in [list(COLUMNS), *lines])


def bring_in(venue, text: str, **options) -> Plan:
    return services.import_deliveries(
        venue=venue, text=text, by=a_recorder(venue), file_name="april.csv", **options
    )


def troubles(plan: Plan) -> list[tuple[int, str, str]]:
    return [(row.line, each.column, each.sentence) for row in plan.bad for each in row.troubles]


def test_the_sample_becomes_a_delivery_with_one_lot(bar):
    bring_in(bar, a_text({}))
    lot = Lot.objects.select_related("delivery__supplier", "ingredient", "place").get()
    assert str(lot.delivery.supplier) == "Harbour Fruit Company"
    assert (lot.delivery.document, lot.supplier_lot_code) == ("DN-1042", "L26097")
    assert bar.local(lot.came_into_being_at).strftime("%Y-%m-%d %H:%M") == "2026-04-07 09:30"
    assert (lot.amount_received, lot.amount_typed) == (Decimal(5000), "5 L")
    assert (lot.date_kind, lot.date_on.isoformat()) == (Lot.DateKind.USE_BY, "2026-04-12")
    assert (lot.arrival_temperature_degc, lot.place.name) == (Decimal("3.50"), "Walk-in")
    assert lot.status == Lot.Status.ACCEPTED


def test_the_ledger_names_the_line_a_lot_came_from(bar):
    bring_in(bar, a_text({}))
    assert '"file_line":2' in _newest_detail(Lot.objects.get())


def _newest_detail(lot: Lot) -> str:
    return Entry.objects.filter(subject=lot.ledger_subject).latest("sequence").detail


def test_rows_of_one_supplier_time_and_document_are_one_delivery(bar):
    bring_in(
        bar,
        a_text(
            {},
            {"supplier_lot": "L2", "decision": "reject", "reason": "Warm"},
            {"document": "DN-1043"},
        ),
    )
    assert [each.lots.count() for each in Delivery.objects.order_by("document")] == [2, 1]
    assert Lot.objects.get(supplier_lot_code="L2").status_reason == "Warm"


@pytest.mark.parametrize(
    ("column", "typed", "sentence"),
    [
        ("date_received", "04/05/2026", "two ways. Write year-month-day: 2026-04-05 or 2026-05-04"),
        ("date_received", "25.12.2026", "Write year-month-day: 2026-12-25"),
        ("date_received", "2026-02-30", "is no date"),
        ("date_received", "7 April", "is no date"),
        ("date_received", "0026-04-07", "is no date"),
        ("date_received", "", "is no date"),
        ("date_received", "2099-01-01", "has not come yet"),
        ("time_received", "9.30", "Write hours:minutes"),
        ("time_received", "24:00", "Write hours:minutes"),
        ("supplier", "Harbor Fruit Company", "Did you mean Harbour Fruit Company?"),
        ("supplier", "Nobody", "Add it to the list first"),
        ("ingredient", "Lime jiuce", "Did you mean Lime juice?"),
        ("ingredient", "", "There is no ingredient"),
        ("quantity", "5", "has no unit"),
        ("quantity", "5 kg", "a volume belongs here"),
        ("quantity", "0 L", "is nothing"),
        ("quantity", "-5 L", "cannot be negative"),
        ("quantity", "9**9**9", "is not one number"),
        ("date_kind", "", "use_by, best_before or none"),
        ("date_kind", "none", "date_kind says none"),
        ("date", "", "The date is missing"),
        ("date", "12/13/2026", "Write year-month-day: 2026-12-13"),
        ("date", "9999-12-31", "is no date"),
        ("arrival_temperature", "3.5", "has no unit"),
        ("arrival_temperature", "500 C", "no temperature at which anything is delivered"),
        ("place", "Walk-on", "Did you mean Walk-in?"),
        ("decision", "maybe", "accept, hold or reject"),
        ("decision", "reject", "Say why it was rejected"),
        ("reason", "Nice limes", "A reason is for what was held or rejected"),
        ("document", "x" * 81, "more than 80 characters"),
    ],
)
def test_a_bad_cell_is_said_with_its_line_its_column_and_the_mend(bar, column, typed, sentence):
    plan = plan_import(bar, a_text({"supplier_lot": "L0"}, {column: typed}))
    assert [row.line for row in plan.new] == [2]
    found = [(line, said) for line, _, said in troubles(plan)]
    assert any(line == 3 and sentence in said for line, said in found), found


def test_everything_wrong_with_a_row_is_said_at_once(bar):
    wrong = {"supplier": "?", "quantity": "5", "date": "12/13/2026", "decision": ""}
    columns = {column for _, column, _ in troubles(plan_import(bar, a_text(wrong)))}
    assert columns == set(wrong)


def test_an_hour_the_clocks_skip_is_refused(bar):
    # New York went from 02:00 to 03:00 on 2026-03-08: IANA time zone database.
    plan = plan_import(bar, a_text({"date_received": "2026-03-08", "time_received": "02:30"}))
    assert "the clocks change" in troubles(plan)[0][2]


def test_a_line_break_inside_a_lot_code_is_refused(bar):
    text = a_text({"supplier_lot": '"L\n2"'})
    assert "line break" in troubles(plan_import(bar, text))[0][2]


def test_the_other_rows_come_in_without_the_bad_one(bar):
    plan = bring_in(bar, a_text({}, {"ingredient": "Lemons"}, {"supplier_lot": "L3"}))
    assert [len(plan.new), len(plan.bad)] == [2, 1]
    assert Lot.objects.count() == 2


def test_the_same_file_again_brings_in_nothing(bar):
    text = a_text({}, {"supplier_lot": "L2"})
    bring_in(bar, text)
    again = bring_in(bar, text)
    assert (len(again.new), len(again.known), len(again.bad)) == (0, 2, 0)
    assert (Lot.objects.count(), Delivery.objects.count()) == (2, 1)


def test_the_same_row_in_other_words_is_known(bar):
    bring_in(bar, a_text({}))
    other_words = {"ingredient": "LIME  JUICE", "quantity": "5000 ml", "decision": "Accept"}
    again = plan_import(bar, a_text({**other_words, "arrival_temperature": "38.3 degF"}))
    assert len(again.known) == 1


def test_a_mended_row_joins_the_delivery_its_file_brought_first(bar):
    bring_in(bar, a_text({}, {"supplier_lot": "L2", "quantity": "5"}))
    bring_in(bar, a_text({}, {"supplier_lot": "L2", "quantity": "5 L"}))
    assert Delivery.objects.get().lots.count() == 2


def test_a_known_row_that_now_says_otherwise_is_refused_and_changes_nothing(bar):
    bring_in(bar, a_text({}))
    plan = bring_in(bar, a_text({"arrival_temperature": "9 °C"}))
    [(line, column, sentence)] = troubles(plan)
    assert (line, column) == (2, "arrival_temperature")
    assert f"as lot {Lot.objects.get().code}" in sentence
    assert Lot.objects.get().arrival_temperature_degc == Decimal("3.50")


def test_a_lot_amended_since_is_still_known_by_the_row_it_came_from(bar, by):
    bring_in(bar, a_text({}))
    lot = Lot.objects.get()
    services.amend_lot(
        lot=lot,
        amount=Decimal(4000),
        amount_typed="4 L",
        supplier_lot_code="L-other",
        date_kind=lot.date_kind,
        date_on=lot.date_on,
        place=None,
        arrival_temperature_degc=None,
        reason="Misread",
        by=by,
    )
    assert len(plan_import(bar, a_text({})).known) == 1


def test_a_row_said_twice_in_one_file_comes_in_once(bar):
    plan = bring_in(bar, a_text({}, {}))
    assert "the same lot as line 2" in troubles(plan)[0][2]
    assert Lot.objects.count() == 1


def test_a_lot_typed_in_by_hand_is_known(bar, by):
    bring_in(bar, a_text({}))
    ImportedRow.objects.all().delete()
    assert len(plan_import(bar, a_text({})).known) == 1


def test_another_bar_imports_its_own(bar, venue):
    other = a_venue(name="The Other Place")
    furnish(other)
    bring_in(bar, a_text({}))
    assert len(bring_in(other, a_text({})).new) == 1


def test_names_of_another_bar_are_unknown(bar):
    plan = plan_import(a_venue(name="The Other Place"), a_text({}))
    assert {column for _, column, _ in troubles(plan)} == {"supplier", "ingredient", "place"}


def test_what_is_out_of_use_is_not_delivered(bar, by):
    services.amend_supplier(
        supplier=bar.suppliers.get(), changes={"is_active": False}, reason="Closed", by=by
    )
    assert "is out of use" in troubles(plan_import(bar, a_text({})))[0][2]


def test_a_plan_that_no_longer_holds_is_not_carried_out(bar):
    looked_at = plan_import(bar, a_text({})).token
    bring_in(bar, a_text({}))
    with pytest.raises(services.StalePlan, match="Look at the rows again"):
        bring_in(bar, a_text({}), expected=looked_at)


def test_a_plan_that_still_holds_is_carried_out_whole(bar):
    text = a_text({}, {"supplier_lot": "L2"}, {"quantity": "many"})
    looked_at = plan_import(bar, text)
    done = bring_in(bar, text, expected=looked_at.token)
    assert [row.line for row in done.new] == [row.line for row in looked_at.new] == [2, 3]


def test_a_failure_half_way_leaves_nothing_behind(bar, monkeypatch):
    def fail(*args, **kwargs):
        raise RuntimeError("the disk is full")

    monkeypatch.setattr(ImportedRow.objects, "bulk_create", fail)
    with pytest.raises(RuntimeError):
        bring_in(bar, a_text({}))
    assert not Lot.objects.exists()
    assert not Delivery.objects.exists()


@pytest.mark.parametrize("rows", [5, 200])
def test_a_plan_costs_six_queries_whatever_the_length(bar, rows, django_assert_num_queries):
    text = a_text(*({"supplier_lot": f"L{number}"} for number in range(rows)))
    with django_assert_num_queries(6):
        assert len(plan_import(bar, text).new) == rows


def test_a_file_of_yesterday_is_let_go_when_another_comes(bar, by):
    content = a_text({}).encode()
    services.keep_file(venue=bar, name="old.csv", content=content, by=by)
    DeliveryFile.objects.update(sent_at=timezone.now() - timedelta(days=2))
    services.keep_file(venue=bar, name="new.csv", content=content, by=by)
    assert [file.name for file in DeliveryFile.objects.all()] == ["new.csv"]


def test_an_imported_lot_has_its_history(bar):
    bring_in(bar, a_text({}))
    assert [event.action for event in history(Lot.objects.get())] == ["accepted"]


@pytest.mark.records
@pytest.mark.django_db(transaction=True)
def test_the_same_file_sent_twice_at_once_comes_in_once():
    venue = a_venue()
    furnish(venue)
    start, brought = Barrier(3), []

    def send() -> None:
        start.wait()
        try:
            brought.append(len(bring_in(venue, a_text({})).new))
        finally:
            connection.close()

    threads = [Thread(target=send) for _ in range(3)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sorted(brought) == [0, 0, 1]
    assert Lot.objects.count() == 1
