"""What is too large is turned away with a sentence, whoever sends it."""

from io import BytesIO

import pytest
from django.test import RequestFactory

from kegsafe.frame import uploads
from tests.builders import a_venue

MB = 1024 * 1024


class _Counted(BytesIO):
    """A body that knows how much of it was read at once."""

    largest = 0

    def read(self, size: int = -1) -> bytes:
        self.largest = max(self.largest, size)
        return super().read(size)


def _middleware(asked: list) -> uploads.UploadLimitMiddleware:
    return uploads.UploadLimitMiddleware(lambda request: asked.append(request) or "the page")


def _post(body: BytesIO, announced: str) -> object:
    request = RequestFactory().post("/", data=b"", content_type="multipart/form-data")
    request.META["CONTENT_LENGTH"] = announced
    request._stream = body
    return request


def test_a_file_of_the_largest_size_reaches_the_page(settings):
    asked = []
    request = _post(BytesIO(), str(settings.UPLOAD_MAX_BYTES))
    assert _middleware(asked)(request) == "the page"


def test_one_byte_more_is_turned_away_with_both_sizes_named(settings):
    settings.UPLOAD_MAX_BYTES = 3 * MB
    asked = []
    answer = _middleware(asked)(_post(BytesIO(b"x" * (3 * MB + 1)), str(3 * MB + 1)))
    assert answer.status_code == 413
    assert "has 3 MB, and at most 3 MB" in answer.content.decode()
    assert asked == []


def test_what_is_turned_away_is_read_in_small_pieces_and_kept_nowhere(settings):
    settings.UPLOAD_MAX_BYTES = MB
    body = _Counted(b"x" * (5 * MB))
    _middleware([])(_post(body, str(5 * MB)))
    assert body.tell() == 5 * MB
    assert body.largest <= 64 * 1024


def test_nobody_keeps_the_server_reading_for_ever(settings):
    settings.UPLOAD_MAX_BYTES = 1024
    body = BytesIO(b"x" * MB)
    _middleware([])(_post(body, str(MB)))
    assert body.tell() == 16 * 1024


@pytest.mark.parametrize("announced", ["", "-1", "many", "٣٣٣٣٣٣٣٣٣٣"])
def test_a_length_that_is_none_counts_as_none(announced):
    assert _middleware([])(_post(BytesIO(), announced)) == "the page"


def test_a_length_of_five_thousand_digits_is_too_large_and_nothing_worse():
    assert _middleware([])(_post(BytesIO(), "9" * 5000)).status_code == 413


@pytest.mark.django_db
def test_the_site_turns_it_away_on_every_page(client, settings):
    settings.UPLOAD_MAX_BYTES = 1024
    client.force_login(a_venue().memberships.get().user)
    answer = client.post("/stock/deliveries/import/", {"file": BytesIO(b"x" * 2048)})
    assert answer.status_code == 413
    assert "Nothing was recorded." in answer.content.decode()
