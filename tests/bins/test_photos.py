"""Photos are made anew: small, upright, and without the place they were taken at."""

import io
from typing import Any

import pytest
from django.db import IntegrityError, transaction
from PIL import Image

from bins.photos import MOST_COPIED_PX, encode_all, keep_photos, photos_of
from bins.records import Refused
from households.models import Photo
from households.tenancy import inside
from tests.bins.pictures import GPS, ORIENTATION, a_photo, taken_in_berlin
from tests.cast import NOW, Cast

pytestmark = pytest.mark.embedded


def opened(jpeg: bytes) -> Image.Image:
    return Image.open(io.BytesIO(jpeg))


def test_the_place_and_the_camera_are_gone() -> None:
    sent = taken_in_berlin()
    before = opened(sent).getexif()
    assert before.get_ifd(GPS)  # the control: it was there
    kept = opened(encode_all([sent])[0].jpeg)
    assert kept.format == "JPEG"
    assert dict(kept.getexif()) == {}
    assert set(kept.info) <= {"jfif", "jfif_version", "jfif_unit", "jfif_density"}
    assert b"Exif" not in encode_all([sent])[0].jpeg


def test_a_photo_that_lies_on_its_side_is_turned_upright() -> None:
    sent = taken_in_berlin(orientation=6)
    assert (opened(sent).size, opened(sent).getexif()[ORIENTATION]) == ((80, 60), 6)
    assert opened(encode_all([sent])[0].jpeg).size == (60, 80)


def test_the_longest_side_is_1600_pixels_and_a_small_one_is_not_blown_up() -> None:
    large, small = encode_all([a_photo(3200, 1000), a_photo(40, 30)])
    assert (large.width, large.height) == (1600, 500)
    assert (small.width, small.height) == (40, 30)


def test_even_noise_comes_under_200_kilobytes() -> None:
    sent = a_photo(1600, 1600, noise=True)
    assert len(sent) > 1_000_000
    assert len(encode_all([sent])[0].jpeg) <= 200_000


@pytest.mark.parametrize("form", ["PNG", "WEBP"])
def test_other_pictures_become_jpeg(form: str) -> None:
    assert opened(encode_all([a_photo(form=form)])[0].jpeg).format == "JPEG"


def test_what_shines_through_becomes_white() -> None:
    written = io.BytesIO()
    Image.new("RGBA", (8, 8), (255, 0, 0, 0)).save(written, "PNG")
    assert opened(encode_all([written.getvalue()])[0].jpeg).getpixel((4, 4)) == (255, 255, 255)


@pytest.mark.parametrize(
    "sent",
    [b"", b"not a picture", a_photo()[:60], a_photo(form="GIF"), b"\xff" * 15_000_001, a_photo(9000, 7000)],
    ids=["nothing", "words", "half", "gif", "too long", "63 million pixels"],
)
def test_what_is_no_photo_is_refused_by_its_field(sent: bytes) -> None:
    with pytest.raises(Refused) as refused:
        encode_all([sent])
    assert set(refused.value.errors) == {"photos"}


def test_a_fourth_photo_is_refused_and_the_table_has_no_place_for_it(cast: Cast) -> None:
    with pytest.raises(Refused):
        encode_all([a_photo()] * 4)
    with inside(cast.building.uid) as here:
        of = cast.building.uid
        keep_photos(here, of, encode_all([a_photo(), a_photo(20, 20), a_photo(10, 10)]), NOW)
        assert [one.number for one in photos_of(here, [of])[of]] == [1, 2, 3]
        with pytest.raises(IntegrityError), transaction.atomic():
            keep_photos(here, of, encode_all([a_photo()]), NOW)
        more = {"width": 1, "height": 1, "size_bytes": 1, "made_at": NOW, "jpeg": b"x", "sha256": "x"}
        for values in ({"number": 4}, {"number": 0}):
            with pytest.raises(IntegrityError), transaction.atomic():
                Photo.objects.create(building=here, of=here.uid, **more | values)


@pytest.mark.parametrize("mode", ["P", "L", "RGB"])
def test_a_huge_picture_is_made_small_before_it_is_copied(mode: str, monkeypatch: pytest.MonkeyPatch) -> None:
    copied: list[int] = []
    convert = Image.Image.convert

    def spy(picture: Image.Image, *args: Any, **kwargs: Any) -> Image.Image:
        copied.append(picture.width * picture.height)
        return convert(picture, *args, **kwargs)

    written = io.BytesIO()
    Image.new(mode, (5000, 5000)).save(written, "PNG")
    monkeypatch.setattr(Image.Image, "convert", spy)
    assert encode_all([written.getvalue()])[0].width == 1600
    assert 0 < max(copied) <= MOST_COPIED_PX
