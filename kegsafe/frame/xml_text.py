"""Text that XML can hold: a workbook or a drawing with any other character does not open."""

import re

# Char, XML 1.0 section 2.2. [read (part)]
_NOT_IN_XML = re.compile("[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


def as_xml_holds(text: str) -> str:
    """Return a text without the characters that XML has no way to write."""
    return _NOT_IN_XML.sub("", text)
