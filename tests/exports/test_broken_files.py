"""A file that is not what was packed is refused whole, with a sentence; nothing of it stays."""

import json
import random
import zipfile
from hashlib import sha256

import pytest
from django.conf import settings
from django.core.management import call_command
from django.core.management.base import CommandError

from kegsafe.exports.moving import archive
from tests.exports.conftest import rows_in_the_house

pytestmark = pytest.mark.django_db


@pytest.fixture
def refuses(tmp_path):
    """What holds the import to refusing a file with these words, and to storing nothing."""

    def check(path, words):
        documents = _documents()
        with pytest.raises(CommandError, match=words) as refused:
            call_command("import_venue", str(path))
        assert str(refused.value).endswith("Nothing was stored.")
        assert rows_in_the_house() == 0
        assert _documents() == documents

    return check


def _documents():
    folder = settings.DATA_DIR / "documents"
    return {path.name for path in folder.iterdir()} if folder.is_dir() else set()


class Tampered:
    """A copy of a file, changed by somebody who also makes its manifest fit."""

    def __init__(self, source, target):
        self.target = target
        with zipfile.ZipFile(source) as packed:
            self.members = {name: packed.read(name) for name in packed.namelist()}
        self.manifest = json.loads(self.members.pop("manifest.json"))

    def change(self, label, column, value, line=0):
        """Set one value of one record."""
        name = f"records/{label}.jsonl"
        rows = self.members[name].splitlines()
        row = json.loads(rows[line])
        assert column in row
        row[column] = value
        rows[line] = json.dumps(row).encode()
        self.put(name, b"\n".join(rows) + b"\n")

    def drop(self, label, line):
        """Leave one record out."""
        name = f"records/{label}.jsonl"
        rows = self.members[name].splitlines()
        del rows[line]
        self.put(name, b"".join(row + b"\n" for row in rows))
        self.of(name)["rows"] -= 1

    def double(self, label):
        """Give the first record twice."""
        name = f"records/{label}.jsonl"
        self.put(name, self.members[name].splitlines()[0] + b"\n" + self.members[name])
        self.of(name)["rows"] += 1

    def put(self, name, content):
        """Set a member, with the size and the hash that go with it."""
        self.members[name] = content
        self.of(name).update(size=len(content), sha256=sha256(content).hexdigest())

    def of(self, name):
        """Return what the manifest says of a member."""
        return next(each for each in self.manifest["members"] if each["name"] == name)

    def write(self):
        """Write the file."""
        with zipfile.ZipFile(self.target, "w", zipfile.ZIP_DEFLATED) as file:
            for name, content in self.members.items():
                file.writestr(name, content)
            file.writestr("manifest.json", json.dumps(self.manifest))
        return self.target


@pytest.fixture
def tampered(packed, tmp_path):
    return Tampered(packed, tmp_path / "tampered.zip")


def test_what_was_not_changed_is_taken_in(tampered):
    """Otherwise the refusals below would show nothing."""
    call_command("import_venue", str(tampered.write()))
    assert rows_in_the_house() > 0


# What the file itself is


def test_a_file_that_is_not_there_is_said_to_be_missing(refuses, tmp_path, db):
    refuses(tmp_path / "none.zip", "There is no file none.zip")


@pytest.mark.parametrize("content", [b"", b"PK\x03\x04", b"{}", b"\0" * 5000])
def test_what_is_no_zip_file_is_refused(content, refuses, tmp_path, db):
    (tmp_path / "bar.zip").write_bytes(content)
    refuses(tmp_path / "bar.zip", "no ZIP file that can be read")


@pytest.mark.parametrize("part", [0.01, 0.5, 0.9, 0.999])
def test_a_file_that_was_cut_off_is_refused(part, packed, refuses):
    whole = packed.read_bytes()
    packed.write_bytes(whole[: int(len(whole) * part)])
    refuses(packed, "cut off")


def test_a_file_with_any_changed_byte_is_refused_or_says_the_same(packed, refuses):
    """300 places by a fixed seed. Some bytes of a ZIP file, such as its dates, say nothing here."""
    whole = packed.read_bytes()
    with zipfile.ZipFile(packed) as file:
        contents = {name: file.read(name) for name in file.namelist()}
    chosen, unheeded = random.Random(20261127), 0
    for _ in range(300):
        place = chosen.randrange(len(whole))
        changed = bytearray(whole)
        changed[place] ^= chosen.randrange(1, 256)
        packed.write_bytes(changed)
        try:
            with archive.Archive(packed) as opened:
                read = {
                    each.name: b"".join(opened.blocks(each)) for each in opened.manifest.members
                }
        except archive.CannotMoveIn:
            continue
        unheeded += 1
        assert all(contents[name] == content for name, content in read.items())
    assert unheeded < 150


def test_a_file_of_another_kind_is_refused(refuses, tmp_path, db):
    path = tmp_path / "other.zip"
    with zipfile.ZipFile(path, "w") as file:
        file.writestr("manifest.json", '{"format": "something else"}')
    refuses(path, 'does not say that this is a "kegsafe venue" file')


@pytest.mark.parametrize("version", [0, 2, "1", None, 1.5, [1]])
def test_an_unknown_version_is_refused(version, tampered, refuses):
    tampered.manifest["version"] = version
    refuses(tampered.write(), "this program reads version 1")


@pytest.mark.parametrize("text", ["", "[]", "{", "null", "[" * 100_000, '{"format": 5}'])
def test_a_manifest_that_is_none_is_refused(text, refuses, tmp_path, db):
    path = tmp_path / "bar.zip"
    with zipfile.ZipFile(path, "w") as file:
        file.writestr("manifest.json", text)
    refuses(path, "manifest.json")


@pytest.mark.parametrize(
    ("name", "value"),
    [("entries", -1), ("entries", True), ("head", "z" * 64), ("members", {}), ("missing", [1])],
)
def test_a_manifest_with_a_value_that_cannot_be_is_refused(name, value, tampered, refuses):
    tampered.manifest[name] = value
    refuses(tampered.write(), name)


@pytest.mark.parametrize(
    "name",
    [
        *("../../etc/cron.d/x", "/etc/passwd", "files/documents/../../x", "files/a/b/c", "C:\\x"),
        *(
            "records/stock.lot.jsonl.exe",
            "files/documents/.ssh",
            "files/documents/" + "a" * 65,
            "x\n",
        ),
    ],
)
def test_a_name_that_leads_elsewhere_is_refused(name, tampered, refuses):
    tampered.members[name] = b"x"
    refuses(tampered.write(), "is no name of a venue's file")


def test_a_member_the_manifest_does_not_name_is_refused(tampered, refuses):
    tampered.members["files/documents/abc"] = b"x"
    refuses(tampered.write(), "the manifest does not name it")


def test_a_member_that_is_gone_is_refused(tampered, refuses):
    del tampered.members["records/stock.lot.jsonl"]
    refuses(tampered.write(), "'records/stock.lot.jsonl' is gone")


def test_a_member_with_another_hash_is_refused(tampered, refuses):
    name = "records/stock.lot.jsonl"
    tampered.members[name] = tampered.members[name].replace(b"accepted", b"on_hold ")
    refuses(tampered.write(), "records/stock.lot.jsonl is not what was packed")


def test_two_members_of_one_name_are_refused(packed, refuses):
    with zipfile.ZipFile(packed, "a") as file, pytest.warns(match="Duplicate name"):
        file.writestr("records/stock.lot.jsonl", "{}")
    refuses(packed, "Two files inside have the same name")


def test_a_file_that_grows_out_of_all_proportion_is_refused_before_it_is_read(tampered, refuses):
    """256 MB of zeros in less than one."""
    with (
        zipfile.ZipFile(tampered.target, "w", zipfile.ZIP_DEFLATED) as file,
        file.open("records/stock.lot.jsonl", "w", force_zip64=True) as member,
    ):
        for _ in range(256):
            member.write(b"\0" * 1024**2)
    assert tampered.target.stat().st_size < 1024**2
    refuses(tampered.target, "out of all proportion")


def test_a_file_that_lies_about_its_size_is_refused(packed, refuses):
    """The directory says one size and the member is larger: no more than was said is read."""
    whole = packed.read_bytes()
    with zipfile.ZipFile(packed) as file:
        member = file.getinfo("records/ledger.entry.jsonl")
    said = member.file_size.to_bytes(4, "little")
    packed.write_bytes(whole.replace(said, (10).to_bytes(4, "little")))
    refuses(packed, r"cut off|size")


# What the records say


@pytest.mark.parametrize(
    ("label", "column", "value", "words"),
    [
        ("stock.lot", "amount_left", 5, "no decimal number"),
        ("stock.lot", "amount_left", "NaN", "no decimal number"),
        ("stock.lot", "amount_left", "1e999999999", "digits|decimal"),
        ("stock.lot", "amount_left", None, "must not be"),
        ("stock.lot", "came_into_being_at", "yesterday", "no moment"),
        ("stock.lot", "came_into_being_at", "2026-04-13T08:00:00", "no moment"),
        ("stock.lot", "date_on", "2026-02-30", "no date"),
        ("stock.lot", "code", 7, "no text"),
        ("stock.lot", "code", "x" * 200, "at most 40"),
        ("stock.lot", "code", "a\0b", "no text"),
        ("stock.lot", "code", "\ud800", "no text"),
        ("stock.lot", "status", "sold", "none of its choices"),
        ("stock.lot", "id", True, "no whole number"),
        ("stock.lot", "id", 10**30, "less than or equal"),
        ("stock.lot", "id", "1", "no whole number"),
        ("stock.ingredient", "made_in_house", 1, "no true or false"),
        ("venues.venue", "code_key", "../x", "no code on file"),
        ("venues.venue", "time_zone", "Mars/Olympus", "no IANA time zone"),
        ("auth.user", "username", "a b", "valid username"),
    ],
)
def test_a_value_that_no_field_holds_is_refused(label, column, value, words, tampered, refuses):
    tampered.change(label, column, value)
    refuses(tampered.write(), f"records/{label}.jsonl, line 1, {column}: .*(?:{words})")


@pytest.mark.parametrize("line", [b"", b"[1]", b"7", b"{", b"[" * 100_000, b'{"id": 1}'])
def test_a_line_that_is_no_record_is_refused(line, tampered, refuses):
    tampered.put("records/stock.lot.jsonl", line + b"\n")
    refuses(tampered.write(), r"records/stock\.lot\.jsonl, line 1")


def test_a_line_without_end_is_refused(tampered, refuses, monkeypatch):
    monkeypatch.setattr(archive, "LONGEST_LINE", 1000)
    tampered.put("records/stock.lot.jsonl", b'"' + b"x" * 2000)
    refuses(tampered.write(), "is longer than")


def test_a_key_to_nowhere_is_refused(tampered, refuses):
    tampered.change("batches.fill", "keg_id", 987654)
    refuses(tampered.write(), "names equipment.keg:987654, which is not in the file")


def test_a_row_fewer_than_was_said_is_refused(tampered, refuses):
    tampered.of("records/stock.lot.jsonl")["rows"] += 1
    refuses(tampered.write(), r"holds \d+ rows and not")


def test_a_record_given_twice_is_refused(tampered, refuses):
    tampered.double("stock.lot")
    refuses(tampered.write(), "The database refuses what is in the file")


def test_a_record_that_breaks_a_rule_of_the_database_is_refused(tampered, refuses):
    tampered.change("stock.lot", "amount_left", "-1.000")
    refuses(tampered.write(), "lot_balance_within_what_was_received")


def test_columns_of_another_program_are_refused(tampered, refuses):
    tampered.of("records/stock.lot.jsonl")["columns"].append("colour")
    refuses(tampered.write(), "stock.lot: other columns .colour.. The file was packed by another")


def test_somebody_with_rights_over_the_site_cannot_be_smuggled_in(tampered, refuses):
    tampered.change("auth.user", "is_active", True)
    name = "records/auth.user.jsonl"
    row = json.loads(tampered.members[name].splitlines()[0]) | {"is_superuser": True}
    tampered.put(name, json.dumps(row).encode() + b"\n")
    tampered.of(name)["columns"].append("is_superuser")
    refuses(tampered.write(), "other columns .is_superuser.")


def test_a_person_whom_no_record_names_is_refused(tampered, refuses):
    name = "records/auth.user.jsonl"
    row = json.loads(tampered.members[name].splitlines()[0]) | {"id": 99, "username": "eve"}
    tampered.put(name, tampered.members[name] + json.dumps(row).encode() + b"\n")
    tampered.of(name)["rows"] += 1
    refuses(tampered.write(), "auth.user: some of its records belong to no venue")


# What the ledger says


@pytest.mark.parametrize(
    ("label", "column", "value"),
    [
        ("stock.lot", "amount_left", "0.001"),
        ("stock.lot", "code", "ANOTHER"),
        ("batches.fill", "use_by_at", "2030-01-01T00:00:00.000000+00:00"),
        ("batches.fill", "findings", []),
        ("equipment.keg", "rated_gauge_pa", None),
        ("venues.membership", "role", "owner"),
    ],
)
def test_a_changed_record_is_refused_by_the_ledgers_word(label, column, value, tampered, refuses):
    """Whoever changed it made size and hash fit; the entry still says what was recorded."""
    line = 1 if label == "venues.membership" else 0
    tampered.change(label, column, value, line)
    refuses(tampered.write(), f"A record was changed: {label}:")


def test_a_record_left_out_is_refused_by_the_ledgers_word(tampered, refuses):
    tampered.drop("pressure.document", 0)
    name = next(name for name in tampered.members if name.startswith("files/"))
    del tampered.members[name]
    tampered.manifest["members"].remove(tampered.of(name))
    refuses(tampered.write(), r"is about 'pressure\.document:\d+', which is not in the file")


@pytest.mark.parametrize(
    ("column", "value"),
    [
        *(("person", "somebody else"), ("detail", '{"a":1}'), ("hash", "0" * 64)),
        *(("recorded_at_us", 5), ("action", "ate"), ("subject", "stock.lot:99")),
    ],
)
def test_a_changed_entry_is_refused(column, value, tampered, refuses):
    tampered.change("ledger.entry", column, value, line=5)
    refuses(tampered.write(), "The ledger does not verify: entry")


def test_entries_cut_off_the_end_are_refused(tampered, refuses):
    tampered.drop("ledger.entry", -1)
    refuses(tampered.write(), "The ledger does not verify: entry")


def test_another_head_than_the_manifest_names_is_refused(tampered, refuses):
    tampered.manifest["entries"] += 1
    refuses(tampered.write(), "The head of the ledger is not the one")


# What the documents are


def _document(tampered):
    return next(name for name in tampered.members if name.startswith("files/"))


def test_other_bytes_than_the_record_says_are_refused(tampered, refuses):
    tampered.put(_document(tampered), b"%PDF-1.4 another %%EOF")
    refuses(tampered.write(), r"plate\.pdf.* is not what its record says")


def test_a_document_without_its_bytes_is_refused(tampered, refuses):
    name = _document(tampered)
    del tampered.members[name]
    tampered.manifest["members"].remove(tampered.of(name))
    refuses(tampered.write(), r"plate\.pdf.* is not in the file")


def test_bytes_without_a_record_are_refused(tampered, refuses):
    """They were written nowhere, and what had been written is gone again."""
    content = b"x"
    tampered.members["files/documents/abc"] = content
    tampered.manifest["members"].append(
        {
            **{"name": "files/documents/abc", "size": 1, "sha256": sha256(content).hexdigest()},
            **{"model": "", "columns": [], "rows": 0},
        }
    )
    refuses(tampered.write(), "files/documents/abc is inside, and no record is about it")
