"""A pack as it was made is found unaltered; one changed byte anywhere is found.

Signatures: ISO 32000-1:2008, 12.8. The independent checker is pdfsig of poppler, which knows
nothing of this program and asks no network here.
"""

import io
import json
import random
import subprocess
from io import StringIO

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.core.management import call_command
from django.db import connection
from django.test import Client, override_settings
from pypdf import PdfReader, PdfWriter

from kegsafe.batches import services as batches
from kegsafe.batches.models import Fill
from kegsafe.inspection.checking import Finding, check_pack
from kegsafe.inspection.keys import KeyUnreadable, identity_of
from kegsafe.inspection.models import SigningCertificate
from kegsafe.ledger.append_only import install, remove
from kegsafe.ledger.models import Entry
from tests.builders import a_recorder, a_venue
from tests.inspection.made_pack import a_pack, bytes_of

pytestmark = pytest.mark.django_db

POSITIONS = 240


@pytest.fixture
def venue():
    return a_venue()


@pytest.fixture
def pack(venue):
    return a_pack(venue)


@pytest.fixture
def content(pack):
    return bytes_of(pack)


def with_a_changed_byte(content: bytes, at: int) -> bytes:
    return content[:at] + bytes([content[at] ^ 1]) + content[at + 1 :]


def test_a_pack_as_it_was_made_is_unaltered_and_follows(content, venue):
    check = check_pack(content)
    assert check.finding is Finding.UNALTERED
    assert check.is_in_order
    assert check.following.checked > 2
    assert check.evidence.venue == venue.name
    assert check.evidence.head_sequence < Entry.objects.filter(chain=venue.chain_id).count()


def test_every_fill_of_the_pack_is_named_by_its_entry(content):
    named = check_pack(content).evidence.entries
    assert {fill.ledger_subject for fill in Fill.objects.all()} <= named.keys()


@pytest.mark.parametrize("look_inside", [False, True])
def test_a_changed_byte_is_found_wherever_it_is(content, look_inside):
    """Spread over the file, its first and last bytes and the signature's own place among them."""
    chance = random.Random(7)
    signature = content.index(b"/Contents <")
    places = {0, 4, len(content) - 1, signature + 12, signature + 4000}
    places |= set(chance.sample(range(len(content)), POSITIONS))
    found = {
        at: check_pack(with_a_changed_byte(content, at), look_inside=look_inside).finding
        for at in places
    }
    assert len(found) >= 200
    assert [at for at, finding in found.items() if finding is Finding.UNALTERED] == []


def test_a_page_added_by_an_incremental_update_is_found(content):
    writer = PdfWriter(io.BytesIO(content), incremental=True)
    writer.add_blank_page(200, 200)
    longer = io.BytesIO()
    writer.write(longer)
    assert longer.getvalue().startswith(content)
    assert len(PdfReader(longer).pages) == len(PdfReader(io.BytesIO(content)).pages) + 1
    assert check_pack(longer.getvalue()).finding is Finding.NOT_AS_MADE
    assert check_pack(longer.getvalue(), look_inside=True).finding is Finding.ALTERED


def test_bytes_put_behind_the_end_are_found(content):
    assert check_pack(content + b"\n", look_inside=True).finding is Finding.ALTERED


def test_an_independent_checker_finds_the_signature_valid(content, tmp_path):
    file = tmp_path / "pack.pdf"
    file.write_bytes(content)
    said = subprocess.run(
        ["pdfsig", str(file)],
        capture_output=True,
        text=True,
        check=False,
    ).stdout
    assert "Signature Validation: Signature is Valid." in said
    assert "Total document signed" in said
    assert said.count("Signature #") == 1


def test_an_independent_checker_finds_a_changed_page(content, tmp_path):
    at = content.index(b"stream") + 40
    file = tmp_path / "pack.pdf"
    file.write_bytes(with_a_changed_byte(content, at))
    said = subprocess.run(
        ["pdfsig", str(file)],
        capture_output=True,
        text=True,
        check=False,
    ).stdout
    assert "Signature Validation: Signature is Valid." not in said


@pytest.mark.parametrize(
    ("stranger", "finding"),
    [
        (b"", Finding.NOT_A_PDF),
        (b"fill,keg\n1,K1\n", Finding.NOT_A_PDF),
        (b"%PDF-1.7\n", Finding.ALTERED),
        (b"%PDF-1.7\n" + b"\x00" * 5000 + b"%%EOF", Finding.ALTERED),
    ],
)
def test_what_is_no_pack_is_said_to_be_none(stranger, finding):
    assert check_pack(stranger).finding is Finding.NOT_AS_MADE
    assert check_pack(stranger, look_inside=True).finding is finding


def test_a_pdf_without_a_signature_is_said_to_have_none():
    plain = io.BytesIO()
    writer = PdfWriter()
    writer.add_blank_page(200, 200)
    writer.write(plain)
    assert check_pack(plain.getvalue(), look_inside=True).finding is Finding.UNSIGNED


def test_a_pack_of_a_key_that_is_not_known_here_is_no_ones(content):
    with connection.cursor() as cursor:
        cursor.execute("UPDATE inspection_inspectionpack SET sha256 = %s", ["0" * 64])
        cursor.execute("UPDATE inspection_signingcertificate SET fingerprint = %s", ["0" * 64])
    assert check_pack(content, look_inside=True).finding is Finding.UNKNOWN_SIGNER


class TestWhatItShowsFollows:
    def test_an_amendment_later_is_no_fault_and_is_counted(self, content, venue):
        fill = Fill.objects.filter(batch__venue=venue).first()
        batches.hold_fill(fill=fill, reason="Sour", by=a_recorder(venue))
        check = check_pack(content)
        assert check.is_in_order
        assert check.following.amended_since == 1
        assert "1 of them were amended later" in check.following.in_words

    def test_a_record_rewritten_in_the_ledger_no_longer_follows(self, content, venue):
        fill = Fill.objects.filter(batch__venue=venue).first()
        rewrite("UPDATE ledger_entry SET record = '{}' WHERE subject = %s", fill.ledger_subject)
        check = check_pack(content)
        assert check.finding is Finding.UNALTERED
        assert not check.is_in_order
        assert check.following.missing == (fill.ledger_subject,)
        assert fill.ledger_subject in check.following.in_words

    def test_a_ledger_cut_short_no_longer_follows(self, content, pack):
        rewrite("DELETE FROM ledger_entry WHERE sequence >= %s", pack.head_sequence)
        assert not check_pack(content).following.head_stands


def rewrite(sql: str, *values: object) -> None:
    """Do what the database refuses, as somebody with its file in hand could."""
    remove(connection)
    try:
        with connection.cursor() as cursor:
            cursor.execute(sql, values)
    finally:
        install(connection)


class TestTheKey:
    def test_is_made_once_and_known_by_its_certificate(self, pack, venue):
        a_pack(venue)
        assert SigningCertificate.objects.filter(venue=venue).count() == 1

    def test_each_bar_has_its_own(self, pack):
        other = a_venue()
        a_pack(other)
        assert SigningCertificate.objects.values("fingerprint").distinct().count() == 2

    def test_lies_encrypted_where_only_the_site_may_read_it(self, pack, venue, settings):
        file = settings.DATA_DIR / "keys" / f"{venue.chain_id}.pem"
        assert b"ENCRYPTED PRIVATE KEY" in file.read_bytes()
        assert b"BEGIN PRIVATE KEY" not in file.read_bytes()
        assert file.stat().st_mode & 0o077 == 0

    def test_another_secret_key_does_not_open_it_and_says_what_to_do(self, pack, venue):
        with (
            override_settings(SECRET_KEY="another", SECRET_KEY_FALLBACKS=[]),
            pytest.raises(KeyUnreadable, match="KEGSAFE_SECRET_KEY"),
        ):
            identity_of(venue, at=pack.made_at, by=a_recorder(venue))

    def test_opens_with_the_secret_key_before_the_last(self, pack, venue, settings):
        old = settings.SECRET_KEY
        with override_settings(SECRET_KEY="another", SECRET_KEY_FALLBACKS=[old]):
            identity_of(venue, at=pack.made_at, by=a_recorder(venue))

    def test_packs_of_a_key_that_is_gone_still_check(self, content, venue, settings):
        (settings.DATA_DIR / "keys" / f"{venue.chain_id}.pem").unlink()
        newer = a_pack(venue)
        assert SigningCertificate.objects.filter(venue=venue).count() == 2
        assert check_pack(content).is_in_order
        assert check_pack(bytes_of(newer)).is_in_order


class TestTheCommand:
    def run(self, file, *options) -> tuple[str, int]:
        out = StringIO()
        try:
            call_command("check_pack", str(file), *options, stdout=out)
        except SystemExit as ended:
            return out.getvalue(), ended.code
        return out.getvalue(), 0

    def test_says_that_a_pack_is_in_order(self, content, tmp_path, venue):
        file = tmp_path / "pack.pdf"
        file.write_bytes(content)
        said, status = self.run(file)
        assert status == 0
        assert said.startswith("Unaltered. Byte for byte the file that was made")
        assert venue.name in said

    def test_says_it_to_a_program_too(self, content, tmp_path, pack):
        file = tmp_path / "pack.pdf"
        file.write_bytes(content)
        said, _ = self.run(file, "--json")
        said = json.loads(said)
        assert (said["is_in_order"], said["ledger_hash"]) == (True, pack.head_hash)

    def test_a_changed_file_ends_with_status_four(self, content, tmp_path):
        file = tmp_path / "pack.pdf"
        file.write_bytes(with_a_changed_byte(content, len(content) // 2))
        said, status = self.run(file)
        assert status == 4
        assert "Unaltered" not in said

    def test_a_broken_chain_ends_with_status_three(self, content, tmp_path):
        file = tmp_path / "pack.pdf"
        file.write_bytes(content)
        rewrite("UPDATE ledger_entry SET person = 'nobody' WHERE sequence = 1")
        said, status = self.run(file)
        assert status == 3
        assert "entry 1 of the ledger" in said


class TestThePage:
    def send(self, content: bytes, name="pack.pdf") -> str:
        file = SimpleUploadedFile(name, content, content_type="application/pdf")
        return Client().post("/inspection/check/", {"file": file}).content.decode()

    def test_anybody_may_check_a_file(self, content, venue):
        page = self.send(content)
        assert "Unaltered" in page
        assert venue.name in page

    def test_a_changed_file_says_nothing_of_the_bar(self, content, venue):
        page = self.send(with_a_changed_byte(content, len(content) // 2))
        assert "No pack as it was made here" in page
        assert venue.name not in page

    def test_the_name_of_a_file_is_shown_as_text(self, content):
        assert "<b>x" not in self.send(content, "<b>x.pdf")

    @pytest.mark.parametrize("sent", [{}, {"file": ""}])
    def test_without_a_file_it_asks_for_one(self, sent):
        page = Client().post("/inspection/check/", sent).content.decode()
        assert "Choose a file first." in page
