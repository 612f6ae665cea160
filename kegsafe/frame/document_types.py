"""What a file is, by its content: never by the name or the type somebody sent with it."""

import io
import unicodedata
import warnings
from pathlib import PurePosixPath, PureWindowsPath

from django.core.exceptions import ValidationError
from PIL import Image

PDF, PNG, JPEG = "application/pdf", "image/png", "image/jpeg"
ENDINGS = {PDF: ".pdf", PNG: ".png", JPEG: ".jpg"}
LARGEST_BYTES = 10 * 1024 * 1024
MOST_PIXELS = 50_000_000  # a phone's camera takes 12 to 50 million

_PDF_HEAD, _PDF_TAIL = b"%PDF-", b"%%EOF"
_TAIL_BYTES = 2048
_LONGEST_NAME = 100
_WRITE_ONE = "Send a PDF, or a photograph as JPEG or PNG."


def content_type_of(content: bytes) -> str:
    """Return the type of a file that may be kept.

    Raises ValidationError at the field `file`, saying what is wrong and what would be right.
    """
    if not content:
        raise _refused("The file is empty.")
    if len(content) > LARGEST_BYTES:
        most = LARGEST_BYTES // 1024 // 1024
        raise _refused(f"The file is larger than {most} MB. Send a smaller one.")
    if content.startswith(_PDF_HEAD):
        return _pdf(content)
    return _image(content)


def shown_name(sent: str, content_type: str) -> str:
    """Return the name to show: its last part, printable, with the ending its content has."""
    last = PureWindowsPath(PurePosixPath(sent).name).name
    text = "".join(each for each in unicodedata.normalize("NFC", last) if each.isprintable())
    stem = text.rpartition(".")[0] or text
    stem = stem.strip(" .")[:_LONGEST_NAME] or "document"
    return f"{stem}{ENDINGS[content_type]}"


def _pdf(content: bytes) -> str:
    if _PDF_TAIL not in content[-_TAIL_BYTES:]:
        raise _refused("The PDF is cut off or damaged. Send it again.")
    return PDF


def _image(content: bytes) -> str:
    """Read the head before the dots: a small file can claim to be a wall of them."""
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", Image.DecompressionBombWarning)
            image = Image.open(io.BytesIO(content), formats=("PNG", "JPEG"))
            _check_dots(*image.size)
            image.load()
    except ValidationError:
        raise
    except Image.DecompressionBombError as trouble:
        raise _too_many_dots("The picture") from trouble
    except Exception as trouble:
        raise _refused(f"This is no PDF, JPEG or PNG that can be read. {_WRITE_ONE}") from trouble
    return PNG if image.format == "PNG" else JPEG


def _check_dots(width: int, height: int) -> None:
    if width * height > MOST_PIXELS:
        raise _too_many_dots(f"The picture, {width} by {height},")


def _too_many_dots(picture: str) -> ValidationError:
    most = MOST_PIXELS // 1_000_000
    return _refused(f"{picture} has more than {most} million dots. Send a smaller one.")


def _refused(sentence: str) -> ValidationError:
    return ValidationError({"file": sentence})
