"""Photos: made anew from what was sent, so that neither the place, the camera nor anything hidden comes along."""

import datetime as dt
import hashlib
import io
import warnings
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from typing import Final
from uuid import UUID, uuid5

from django.utils.translation import gettext as _
from PIL import Image, ImageOps, UnidentifiedImageError

from bins.records import Refused
from households.models import Building, Photo
from households.models.photo import MOST_BYTES, MOST_OF_ONE

LONGEST_PX: Final = 1600
MOST_SENT_BYTES: Final = 15_000_000  # chosen: three times what a phone's camera makes
MOST_SENT_PX: Final = 60_000_000  # chosen: a small file can unfold to gigabytes
MOST_COPIED_PX: Final = 16_000_000  # chosen: 64 MB
QUALITIES: Final = (85, 75, 65, 55, 45, 35)  # chosen: a receipt reads well down to the last


@dataclass(frozen=True)
class Encoded:
    """A JPEG of our own making, ready to be kept."""

    jpeg: bytes
    width: int
    height: int

    @property
    def sha256(self) -> str:
        return hashlib.sha256(self.jpeg).hexdigest()


def encode_all(sent: Sequence[bytes], field: str = "photos") -> tuple[Encoded, ...]:
    """Make anew what was sent. Raises Refused for `field`: over three, too big, or no JPEG, PNG or WebP picture."""
    if len(sent) > MOST_OF_ONE:
        raise Refused({field: _("At most three photos go with one record.")})
    try:
        return tuple(_encode(one) for one in sent)
    except (
        UnidentifiedImageError, OSError, ValueError, SyntaxError, Image.DecompressionBombError,
        Image.DecompressionBombWarning,
    ):  # fmt: skip
        raise Refused({field: _("That is no photo we can read. Send a JPEG, PNG or WebP of at most 15 MB.")}) from None


def _encode(sent: bytes) -> Encoded:
    if len(sent) > MOST_SENT_BYTES:
        raise ValueError("too long")
    with warnings.catch_warnings():
        warnings.simplefilter("error", Image.DecompressionBombWarning)
        with Image.open(io.BytesIO(sent), formats=("JPEG", "PNG", "WEBP")) as opened:
            if opened.width * opened.height > MOST_SENT_PX:
                raise ValueError("too many pixels")
            # Made small first: each of the steps after it would copy all points, four bytes each. Of a picture with a
            # palette points can only be dropped, which spoils print, so that one is copied before unless it is huge.
            is_copied = opened.mode == "P" and opened.width * opened.height <= MOST_COPIED_PX
            picture = opened.convert("RGBA") if is_copied else opened
            picture.thumbnail((LONGEST_PX, LONGEST_PX))
            picture = _on_white(ImageOps.exif_transpose(picture))
    while True:
        for quality in QUALITIES:
            written = io.BytesIO()
            picture.save(written, "JPEG", quality=quality, optimize=True)
            if written.tell() <= MOST_BYTES:
                return Encoded(written.getvalue(), *picture.size)
        picture = picture.resize((max(1, picture.width * 4 // 5), max(1, picture.height * 4 // 5)))


def _on_white(picture: Image.Image) -> Image.Image:
    """Without what shines through, and without anything that hangs on the picture: only its points are copied."""
    points = picture.convert("RGBA")
    white = Image.new("RGB", points.size, "white")
    white.paste(points, mask=points.getchannel("A"))
    return white


def keep_photos(building: Building, of: UUID, photos: Sequence[Encoded], now: dt.datetime) -> None:
    """Keep photos of a record that is new in this transaction."""
    for number, one in enumerate(photos, start=1):
        Photo.objects.create(
            building=building, uid=uuid5(of, f"photo {number}"), of=of, number=number, jpeg=one.jpeg,
            size_bytes=len(one.jpeg), sha256=one.sha256, width=one.width, height=one.height, made_at=now,
        )  # fmt: skip


def photos_of(building: Building, records: Collection[UUID]) -> dict[UUID, list[Photo]]:
    """Photos by record, in their order, without the pictures themselves. One query."""
    found: dict[UUID, list[Photo]] = {}
    for photo in Photo.objects.within(building).filter(of__in=records).defer("jpeg").order_by("of", "number"):
        found.setdefault(photo.of, []).append(photo)
    return found
