"""Pictures for tests, drawn here."""

import io
import random
from typing import Any

from PIL import Image

BERLIN = {1: "N", 2: (52.0, 31.0, 12.0), 3: "E", 4: (13.0, 24.0, 18.0)}  # GPS: latitude and longitude
ORIENTATION, GPS = 0x0112, 0x8825


def a_photo(width: int = 40, height: int = 30, *, noise: bool = False, form: str = "JPEG", **more: Any) -> bytes:
    picture = Image.new("RGB", (width, height), "white")
    if noise:
        picture = Image.frombytes("RGB", (width, height), random.Random(3).randbytes(width * height * 3))
    written = io.BytesIO()
    picture.save(written, form, **more)
    return written.getvalue()


def taken_in_berlin(orientation: int = 1) -> bytes:
    """A photo that says where it was taken, lying on its side if told so."""
    exif = Image.Exif()
    exif[ORIENTATION] = orientation
    exif[0x010F] = "A camera"
    exif.get_ifd(GPS).update(BERLIN)
    return a_photo(80, 60, exif=exif)
