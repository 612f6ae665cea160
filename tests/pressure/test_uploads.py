"""Files somebody sends: known by their content, kept outside the web root, or not kept at all."""

import struct
import zlib

import pytest
from django.conf import settings
from django.core.exceptions import ValidationError

from kegsafe.frame.document_types import LARGEST_BYTES, MOST_PIXELS
from kegsafe.frame.documents import NewDocument, stored_path
from kegsafe.pressure import services
from kegsafe.pressure.models import Document
from tests.pressure.pictures import a_picture

pytestmark = pytest.mark.django_db

PDF = b"%PDF-1.4\n1 0 obj <<>> endobj\ntrailer <<>>\n%%EOF\n"
SVG = (
    b'<?xml version="1.0"?><svg xmlns="http://www.w3.org/2000/svg"><script>alert(1)</script></svg>'
)


def png_that_claims(width, height):
    """A PNG of a few bytes whose head says that it is a wall of dots."""

    def chunk(kind, data):
        body = kind + data
        return struct.pack(">I", len(data)) + body + struct.pack(">I", zlib.crc32(body))

    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    rows = chunk(b"IDAT", zlib.compress(b"\0" * 100))
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + rows + chunk(b"IEND", b"")


def stored_files():
    folder = settings.DATA_DIR / "documents"
    return set(folder.iterdir()) if folder.is_dir() else set()


@pytest.fixture
def send(venue, by, an_item):
    hose = an_item("hose")

    def keep(content, name="certificate.pdf"):
        return services.keep_document(
            venue=venue,
            item=hose,
            kind="certificate",
            sent=NewDocument(name, content),
            by=by,
        )

    return keep


@pytest.mark.parametrize(
    ("content", "content_type", "ending"),
    [
        (PDF, "application/pdf", ".pdf"),
        (a_picture("PNG"), "image/png", ".png"),
        (a_picture("JPEG"), "image/jpeg", ".jpg"),
    ],
    ids=["PDF", "PNG", "JPEG"],
)
def test_a_file_is_kept_as_it_is_under_a_name_nobody_typed(send, content, content_type, ending):
    document = send(content, name="Plate of K7.exe")
    assert (document.content_type, document.name) == (content_type, f"Plate of K7{ending}")
    assert stored_path(document).read_bytes() == content
    assert stored_path(document).name == document.stored_as
    assert "K7" not in document.stored_as
    assert stored_path(document).stat().st_mode & 0o077 == 0


@pytest.mark.parametrize(
    ("content", "name", "said"),
    [
        (b"", "a.pdf", "is empty"),
        (b"MZ\x90\x00" + b"\0" * 200, "a.pdf", "no PDF, JPEG or PNG"),
        (b"<html><script>alert(1)</script></html>", "a.png", "no PDF, JPEG or PNG"),
        (SVG, "plate.svg", "no PDF, JPEG or PNG"),
        (SVG, "plate.png", "no PDF, JPEG or PNG"),
        (b"GIF89a" + b"\0" * 50, "a.jpg", "no PDF, JPEG or PNG"),
        (a_picture("PNG")[:40], "a.png", "no PDF, JPEG or PNG"),
        (b"\x89PNG\r\n\x1a\n<script>", "a.png", "no PDF, JPEG or PNG"),
        (b"%PDF-1.4\nhalf", "a.pdf", "cut off or damaged"),
        (b"%PDF-" + b"\0" * LARGEST_BYTES, "a.pdf", "larger than 10 MB"),
        (png_that_claims(10_000, 5_001), "a.png", "more than 50 million dots"),
        (png_that_claims(100_000, 100_000), "a.png", "more than 50 million dots"),
    ],
    ids=[
        *("empty", "a program", "a page as a picture", "a drawing with a script"),
        *("the same, renamed", "another kind of picture", "half a picture", "a head alone"),
        *("half a PDF", "too large", "too many dots", "a wall of dots"),
    ],
)
def test_what_may_not_be_kept_is_refused_in_words_and_leaves_nothing(send, content, name, said):
    before = stored_files()
    with pytest.raises(ValidationError) as trouble:
        send(content, name)
    assert said in " ".join(trouble.value.message_dict["file"])
    assert not Document.objects.exists()
    assert stored_files() == before


def test_a_picture_of_as_many_dots_as_are_allowed_is_not_refused_for_its_dots():
    assert MOST_PIXELS == 10_000 * 5_000


@pytest.mark.parametrize(
    ("name", "shown"),
    [
        ("../../etc/passwd", "passwd.pdf"),
        ("..\\..\\windows\\system.ini", "system.pdf"),
        ("C:\\plates\\K7.pdf", "K7.pdf"),
        ("a\nb\x00c.pdf", "abc.pdf"),
        ("\u202egpj.exe", "gpj.pdf"),
        ("...", "document.pdf"),
        ("", "document.pdf"),
        ("n" * 500, "n" * 100 + ".pdf"),
    ],
)
def test_a_name_with_tricks_becomes_a_plain_one(send, name, shown):
    document = send(PDF, name)
    assert document.name == shown
    assert stored_path(document).parent == settings.DATA_DIR / "documents"


def test_files_lie_outside_of_everything_the_web_server_hands_out():
    assert settings.STATIC_ROOT not in (settings.DATA_DIR / "documents").parents
    assert not getattr(settings, "MEDIA_URL", "") or settings.MEDIA_ROOT == ""


def test_a_file_that_could_not_be_recorded_is_not_left_behind(send, monkeypatch):
    before = stored_files()

    def breaks(*args, **kwargs):
        raise OSError("the disk is full")

    monkeypatch.setattr("kegsafe.pressure.services.documents.create", breaks)
    with pytest.raises(OSError, match="the disk is full"):
        send(PDF)
    assert stored_files() == before
