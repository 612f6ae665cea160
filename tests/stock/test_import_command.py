"""The command imports what the page would, and its exit status says whether all is well."""

from io import StringIO

import pytest
from django.core.management import CommandError, call_command

from kegsafe.stock.importing.delivery_file import sample
from kegsafe.stock.models import Delivery, Lot
from tests.builders import a_person, a_place, a_supplier, an_ingredient


@pytest.fixture
def bar(venue):
    a_supplier(venue, name="Harbour Fruit Company")
    an_ingredient(venue, name="Lime juice", category="acid_citrus_juice")
    a_place(venue, name="Walk-in")
    return venue


@pytest.fixture
def file(tmp_path):
    path = tmp_path / "april.csv"
    path.write_text(sample(), encoding="utf-8")
    return path


def run(file, *options: str, venue: str = "The Copper Finch") -> tuple[str, str]:
    said, complained = StringIO(), StringIO()
    call_command(
        "import_deliveries", str(file), "--venue", venue, *options, stdout=said, stderr=complained
    )
    return said.getvalue().strip(), complained.getvalue()


def test_the_sample_comes_in(bar, file):
    assert run(file) == ("1 imported, 0 in stock already, 0 to mend", "")
    assert Delivery.objects.get().received_by == "command line"


def test_a_second_run_brings_in_nothing_and_ends_well(bar, file):
    run(file)
    assert run(file)[0] == "0 imported, 1 in stock already, 0 to mend"


def test_a_dry_run_changes_nothing(bar, file):
    assert run(file, "--dry-run")[0] == "1 to import, 0 in stock already, 0 to mend"
    assert not Lot.objects.exists()


def test_a_bad_row_is_said_and_the_command_ends_with_one(bar, file):
    bad = sample().splitlines()[1].replace("5 L", "5").replace("L26097", "L2")
    file.write_text(sample() + bad, encoding="utf-8")
    complained = StringIO()
    with pytest.raises(CommandError) as ended:
        call_command(
            "import_deliveries",
            str(file),
            "--venue",
            "The Copper Finch",
            stdout=StringIO(),
            stderr=complained,
        )
    assert ended.value.returncode == 1
    assert 'line 3, quantity: "5" has no unit' in complained.getvalue()
    assert Lot.objects.count() == 1


def test_the_person_named_answers_for_the_import(bar, file):
    person = a_person(bar, "manager", name="jonas")
    run(file, "--by", person.username)
    assert Delivery.objects.get().received_by == "jonas"


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (["--venue", "Nowhere"], 'No venue is called "Nowhere". On file: The Copper Finch.'),
        (["--venue", "The Copper Finch", "--by", "nobody"], '"nobody" does not work at'),
    ],
)
def test_an_unknown_venue_or_person_is_refused(bar, file, options, words):
    with pytest.raises(CommandError, match=words):
        call_command("import_deliveries", str(file), *options)


def test_a_file_that_is_not_there_is_refused(bar, tmp_path):
    with pytest.raises(CommandError, match="cannot be read"):
        run(tmp_path / "missing.csv")


def test_a_file_of_another_kind_is_refused(bar, file):
    file.write_bytes(b"PK\x03\x04\x00")
    with pytest.raises(CommandError, match="no text file"):
        run(file)
