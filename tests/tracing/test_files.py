"""The files of a trace: a workbook for the authority, events of an open standard, a drawing."""

import json
from datetime import UTC, datetime
from io import BytesIO
from pathlib import Path
from xml.etree import ElementTree

import jsonschema_rs
import pytest
from openpyxl import load_workbook

from kegsafe.batches import services as batches
from kegsafe.rules.tracing import Node, Sort
from kegsafe.tracing.diagram import MOST_DRAWN, can_be_drawn, diagram_svg
from kegsafe.tracing.epcis import trace_events
from kegsafe.tracing.records import trace_fill, trace_lot
from kegsafe.tracing.spreadsheet import NOT_RECORDED, trace_spreadsheet
from kegsafe.tracing.touched import touched_by
from tests.builders import a_recorder, a_venue
from tests.tracing.bar import a_traced_bar

pytestmark = pytest.mark.django_db

NOW = datetime(2026, 11, 27, 12, tzinfo=UTC)
# GS1's own schema of EPCIS 2.0: tests/published/epcis/README.md says where it comes from.
SCHEMA = Path(__file__).parents[1] / "published" / "epcis" / "EPCIS-JSON-Schema.json"
HOSTILE = [
    '=HYPERLINK("http://x.example")',
    "<img src=x onerror=alert(1)>",
    "שלום 🍋 \u202egnp.exe",
    "a\x0bb]]>&\"'",
]


@pytest.fixture(scope="module")
def published():
    schema = json.loads(SCHEMA.read_text())
    return jsonschema_rs.Draft7Validator(schema, validate_formats=True)


@pytest.fixture
def bar():
    return a_traced_bar(a_venue())


def _events(trace):
    return json.loads(trace_events(trace.records, made_at=NOW))


class TestEvents:
    def test_they_are_as_the_published_schema_asks(self, bar, published):
        for trace in (
            trace_lot(bar.venue, bar.juice.pk),
            trace_fill(bar.venue, bar.on_tap.pk),
        ):
            assert [str(error) for error in published.iter_errors(_events(trace))] == []

    @pytest.mark.parametrize("act", ["hold_fill", "discard_fill", "empty_fill"])
    def test_so_is_what_becomes_of_a_keg(self, bar, published, act):
        getattr(batches, act)(fill=bar.on_tap, reason="Why not.", by=a_recorder(bar.venue))
        found = _events(trace_fill(bar.venue, bar.on_tap.pk))
        assert [str(error) for error in published.iter_errors(found)] == []

    @pytest.mark.parametrize("field", ["eventTime", "eventTimeZoneOffset", "action"])
    def test_the_schema_would_notice_a_field_that_is_missing(self, bar, published, field):
        document = _events(trace_lot(bar.venue, bar.juice.pk))
        received = next(
            event for event in document["epcisBody"]["eventList"] if event["type"] == "ObjectEvent"
        )
        del received[field]
        assert not published.is_valid(document)

    def test_one_for_each_thing_that_happened(self, bar):
        events = _events(trace_lot(bar.venue, bar.juice.pk))["epcisBody"]["eventList"]
        steps = [(event["type"], event["bizStep"]) for event in events]
        assert steps == [
            ("ObjectEvent", "receiving"),
            ("TransformationEvent", "creating_class_instance"),
            ("TransformationEvent", "creating_class_instance"),
            ("TransformationEvent", "creating_class_instance"),
            ("AggregationEvent", "packing"),
            ("AggregationEvent", "packing"),
            ("ObjectEvent", "dispensing"),
            ("AggregationEvent", "unpacking"),
        ]

    def test_what_comes_out_of_one_goes_into_the_next_under_the_same_name(self, bar):
        events = _events(trace_lot(bar.venue, bar.juice.pk))["epcisBody"]["eventList"]
        received, syrup, cordial, *_ = events
        assert syrup["inputQuantityList"][0] == {
            "epcClass": received["quantityList"][0]["epcClass"],
            "quantity": 100.0,
            "uom": "MLT",
        }
        out = syrup["outputQuantityList"][0]["epcClass"]
        assert out == cordial["inputQuantityList"][0]["epcClass"]

    def test_no_company_prefix_is_made_up(self, bar):
        text = trace_events(trace_lot(bar.venue, bar.juice.pk).records, made_at=NOW).decode()
        assert "urn:epc:" not in text

    def test_the_same_records_give_the_same_bytes(self, bar):
        first, second = (trace_lot(bar.venue, bar.juice.pk).records for _ in range(2))
        assert trace_events(first, made_at=NOW) == trace_events(second, made_at=NOW)


class TestTheWorkbook:
    def test_it_has_the_fields_of_the_rule_in_its_words_and_says_what_is_not_recorded(self, bar):
        """21 CFR 1.1345(a) [read]: what is kept of each lot received."""
        sheet = _book(trace_fill(bar.venue, bar.on_tap.pk))["Lots received"]
        heads, first, *_ = sheet.iter_rows(values_only=True)
        row = dict(zip(heads, first, strict=True))
        assert heads[:3] == ("Traceability lot code", "Quantity", "Unit of measure")
        assert (row["Traceability lot code"], row["Quantity"]) == ("J-14", 1000)
        assert row["Unit of measure"] == "ml"
        assert row["Reference document number"] == "HW 4711"
        assert row["Traceability lot code source, or its reference"] == NOT_RECORDED
        assert row["Immediate previous source (location description)"] == "Harbour Wholesale"

    def test_another_code_has_another_rule(self):
        bar = a_traced_bar(a_venue("eu", "Europe/Paris"))
        book = _book(trace_lot(bar.venue, bar.juice.pk))
        assert book["Lots received"]["A1"].value == "Supplier: name and address"
        said = [cell.value for cell in book["About"]["B"]]
        assert "Regulation (EC) 178/2002 Article 18" in said

    def test_numbers_and_days_sort_and_every_sheet_can_be_filtered(self, bar):
        book = _book(trace_lot(bar.venue, bar.juice.pk))
        drawn = book["Drawn"]
        assert {cell.data_type for cell in drawn["D"][1:]} == {"n"}
        assert {cell.data_type for cell in drawn["A"][1:]} == {"d"}
        for sheet in book:
            assert sheet.freeze_panes == "A2"
            assert sheet.auto_filter.ref == sheet.dimensions

    def test_a_keg_has_a_row_for_each_time_on_a_tap(self, bar):
        rows = list(_book(trace_lot(bar.venue, bar.juice.pk))["Kegs"].values)[1:]
        on_tap = bar.on_tap.tappings.get().tap.name
        assert {(row[0], row[9], row[11]) for row in rows} == {
            (bar.on_tap.keg.name, on_tap, "still on tap"),
            (bar.emptied.keg.name, "not tapped", None),
        }

    def test_for_a_keg_it_says_what_gas_and_cleaning_are_on_record(self, bar):
        trace = trace_fill(bar.venue, bar.on_tap.pk)
        content = trace_spreadsheet(
            trace.records, of="it", made_at=NOW, touched=touched_by(trace.fill)
        )
        book = load_workbook(BytesIO(content))
        assert book["Gas"]["A2"].value == "connection not recorded"
        cleaned = {row[0]: row[4] for row in list(book["Cleaning"].values)[1:]}
        assert cleaned[f"Keg {bar.on_tap.keg.name}"] == NOT_RECORDED


class TestHostileNames:
    @pytest.mark.parametrize("typed", HOSTILE)
    def test_no_cell_is_a_formula_and_no_file_breaks(self, typed, published):
        bar = a_traced_bar(a_venue(), name=typed, code=typed, document=typed)
        trace = trace_lot(bar.venue, bar.juice.pk)
        for sheet in _book(trace):
            cells = [cell for row in sheet.iter_rows() for cell in row if cell.value is not None]
            assert {cell.data_type for cell in cells} <= {"s", "n", "d", "inlineStr"}
        found = _events(trace)
        assert published.is_valid(found)
        assert found["epcisBody"]["eventList"][0]["bar:supplierLotCode"] == typed
        svg = diagram_svg(trace.records, Node(Sort.LOT, bar.juice.pk), f"About {typed}")
        names = {element.tag.rpartition("}")[2] for element in ElementTree.fromstring(svg).iter()}
        assert names <= {"svg", "title", "clipPath", "rect", "g", "path", "polygon", "text"}


class TestTheDrawing:
    def test_every_lot_batch_and_keg_has_a_box(self, bar):
        trace = trace_lot(bar.venue, bar.juice.pk)
        svg = diagram_svg(trace.records, Node(Sort.LOT, bar.juice.pk), "About it")
        root = ElementTree.fromstring(svg)
        texts = {element.text for element in root.iter() if element.tag.endswith("text")}
        kegs = {f"Keg {fill.keg.name}" for fill in (bar.on_tap, bar.emptied)}
        lots = {f"Lot {lot.code}" for lot in (bar.juice, bar.syrup, bar.cordial)}
        assert texts >= kegs | lots | {f"Batch {bar.batch.code}", "Harbour Wholesale"}

    def test_too_many_boxes_are_not_drawn(self, bar):
        records = trace_lot(bar.venue, bar.juice.pk).records
        assert can_be_drawn(records)
        lots = [records.lots[0]] * (MOST_DRAWN + 1)
        assert not can_be_drawn(type(records)(bar.venue, lots, [], [], []))


def _book(trace):
    content = trace_spreadsheet(trace.records, of="it", made_at=NOW)
    return load_workbook(BytesIO(content))
