"""Bytes to lines, a piece at a time, however long the file or one line of it is."""

import codecs
import io
from collections.abc import Iterator
from typing import BinaryIO

from kegsafe.cold_chain.log_file.shape import UnreadableLog

LONGEST_LINE = 20_000  # characters; a row of a hundred channels has a tenth of that
TOO_LONG = "\x00"  # stands for a line longer than that: no file of text holds one like it

_PIECE = 1 << 18
_HEAD = 1 << 18
_MOST_CONTROLS = 0.01
_NO_TEXT = "This is no text file. Export the log as CSV and send that."


def encoding_of(content: bytes) -> str:
    """Return the codec of a file from its first bytes; UnreadableLog for what is no text."""
    head = content[:_HEAD]
    if not head:
        raise UnreadableLog("The file is empty. Export the log again and send that.")
    if head.startswith((codecs.BOM_UTF32_LE, codecs.BOM_UTF32_BE)):
        raise UnreadableLog('The file is saved as UTF-32. Save it again as "CSV UTF-8".')
    if head.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        return "utf-16"
    if b"\x00" in head:
        return _sixteen_bit(head)
    encoding = "utf-8-sig" if _decodes(head, "utf-8") else "cp1252"
    text = head.decode(encoding, errors="replace")
    if _controls(text) > _MOST_CONTROLS * len(text):
        raise UnreadableLog(_NO_TEXT)
    return encoding


def _sixteen_bit(head: bytes) -> str:
    """Tell UTF-16 without its mark from no text: every other byte of plain letters is zero."""
    for encoding, zeros, letters in (
        ("utf-16-le", head[1::2], head[0::2]),
        ("utf-16-be", head[0::2], head[1::2]),
    ):
        mostly_zero = zeros.count(0) > 0.8 * len(zeros)
        if mostly_zero and 0 not in letters and _decodes(head, encoding):
            return encoding
    raise UnreadableLog(_NO_TEXT)


def _decodes(head: bytes, encoding: str) -> bool:
    try:
        codecs.getincrementaldecoder(encoding)().decode(head)
    except UnicodeDecodeError:
        return False
    return True


def _controls(text: str) -> int:
    return sum(text.count(chr(code)) for code in range(32) if code not in {9, 10, 12, 13})


def pieces_of_lines(stream: BinaryIO, encoding: str) -> Iterator[list[str]]:
    """Yield the lines of a file, some at a time, without their ends.

    Ends may be CR, LF or both. A line over LONGEST_LINE comes as TOO_LONG; what does not
    decode comes as U+FFFD, so that the row it stands in is refused by itself.
    """
    text = io.TextIOWrapper(stream, encoding=encoding, errors="replace", newline=None)
    begun, is_too_long = "", False
    try:
        while piece := text.read(_PIECE):
            lines = (begun + piece).split("\n")
            begun = lines.pop()
            if is_too_long and lines:
                lines[0], is_too_long = TOO_LONG, False
            if len(begun) > LONGEST_LINE:
                begun, is_too_long = "", True
            yield [line if len(line) <= LONGEST_LINE else TOO_LONG for line in lines]
        if begun or is_too_long:
            yield [TOO_LONG if is_too_long else begun]
    finally:
        text.detach()
