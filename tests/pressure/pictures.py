"""A picture of a few dots, for tests that send one."""

import io

from PIL import Image


def a_picture(kind: str = "PNG", size: tuple[int, int] = (4, 4)) -> bytes:
    """Return the bytes of a black picture of that kind."""
    kept = io.BytesIO()
    Image.new("RGB", size).save(kept, kind)
    return kept.getvalue()
