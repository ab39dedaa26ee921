"""Photographs: turned upright, made small, stripped of all but the picture."""

import contextlib
import struct
import zlib
from io import BytesIO
from pathlib import Path

import pytest
from django.conf import settings
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image

from herdbook.book.exceptions import RecordRefusedError
from herdbook.book.models import Photo
from herdbook.book.services.photos import keep_photo, reencoded

ORIENTATION, MAKE, GPS = 0x0112, 0x010F, 0x8825
TURNED_RIGHT = 6  # the camera lay on its side: to be shown, the picture turns a quarter clockwise


def photo_file(size=(80, 40), *, kind="JPEG", exif=True, mode="RGB"):
    """A picture that is red on its left half and blue on its right, with the place it was taken."""
    picture = Image.new("RGB", size, (200, 0, 0))
    picture.paste((0, 0, 200), (size[0] // 2, 0, size[0], size[1]))
    out = BytesIO()
    details = Image.Exif()
    if exif:
        details[ORIENTATION] = TURNED_RIGHT
        details[MAKE] = "Quillby Optical"
        details.get_ifd(GPS).update({1: "N", 2: (53.0, 7.0, 30.0), 3: "W", 4: (1.0, 2.0, 3.0)})
    picture.convert(mode).save(out, kind, exif=details)
    out.seek(0)
    return out


def opened(photo):
    return Image.open(photo.image.path)


def test_it_works(cast):
    photo = keep_photo(herd=cast.herd, file=photo_file())
    assert photo.herd == cast.herd
    assert (photo.width, photo.height) == (40, 80)
    assert Path(photo.image.path).is_relative_to(settings.MEDIA_ROOT)
    assert opened(photo).format == "JPEG"


def test_the_source_does_carry_a_place():
    """Else the next test could not fail."""
    exif = Image.open(photo_file()).getexif()
    assert exif.get_ifd(GPS)[2] == (53.0, 7.0, 30.0)


def test_it_keeps_no_place_and_no_camera(cast):
    photo = keep_photo(herd=cast.herd, file=photo_file())
    kept = opened(photo)
    assert not kept.getexif()
    assert "exif" not in kept.info
    raw = Path(photo.image.path).read_bytes()
    assert b"Exif" not in raw
    assert b"Quillby" not in raw


def test_it_turns_the_picture_upright(cast):
    kept = opened(keep_photo(herd=cast.herd, file=photo_file()))
    top, bottom = kept.getpixel((20, 10)), kept.getpixel((20, 70))
    assert top[0] > 150 > top[2], "the left half (red) is on top once turned"
    assert bottom[2] > 150 > bottom[0]


def test_it_makes_a_large_picture_small(cast):
    photo = keep_photo(herd=cast.herd, file=photo_file((4000, 3000), exif=False))
    assert (photo.width, photo.height) == (1600, 1200)


@pytest.mark.parametrize("kind", ["PNG", "WEBP", "GIF"])
def test_it_takes_other_kinds_of_picture(cast, kind):
    photo = keep_photo(herd=cast.herd, file=photo_file(kind=kind, exif=False))
    assert opened(photo).format == "JPEG"


@pytest.mark.parametrize("mode", ["L", "CMYK"])
def test_it_takes_grey_and_print_colours(cast, mode):
    photo = keep_photo(herd=cast.herd, file=photo_file(mode=mode, exif=False))
    assert opened(photo).mode == "RGB"


@pytest.mark.parametrize(
    "raw", [b"", b"not a picture", b"<svg xmlns='http://www.w3.org/2000/svg'/>", b"%PDF-1.7"]
)
def test_it_refuses_what_is_no_picture(cast, raw):
    with pytest.raises(RecordRefusedError) as refused:
        keep_photo(herd=cast.herd, file=BytesIO(raw))
    assert [finding.code for finding in refused.value.findings] == ["photo-unread"]
    assert refused.value.findings[0].field == "photo"
    assert not Photo.objects.exists()


def bomb(width, height):
    """A PNG of a few bytes that says it is immense."""

    def chunk(kind, data):
        whole = kind + data
        return struct.pack(">I", len(data)) + whole + struct.pack(">I", zlib.crc32(whole))

    header = chunk(b"IHDR", struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0))
    body = chunk(b"IDAT", zlib.compress(b"\0" * 1000)) + chunk(b"IEND", b"")
    return BytesIO(b"\x89PNG\r\n\x1a\n" + header + body)


@pytest.mark.filterwarnings("ignore::PIL.Image.DecompressionBombWarning")
@pytest.mark.parametrize(("width", "height"), [(8000, 8000), (11_000, 11_000), (60_000, 60_000)])
def test_it_refuses_a_picture_that_would_swell(cast, width, height):
    with pytest.raises(RecordRefusedError) as refused:
        keep_photo(herd=cast.herd, file=bomb(width, height))
    assert [finding.code for finding in refused.value.findings] == ["photo-large"]


@given(st.data())
def test_a_spoilt_file_is_refused_or_read_and_never_breaks(data):
    kind = data.draw(st.sampled_from(["JPEG", "PNG", "GIF", "WEBP"]))
    raw = bytearray(photo_file((16, 8), kind=kind, exif=False).getvalue())
    for _ in range(data.draw(st.integers(1, 6))):
        raw[data.draw(st.integers(0, len(raw) - 1))] = data.draw(st.integers(0, 255))
    raw = raw[: data.draw(st.integers(0, len(raw)))]
    with contextlib.suppress(RecordRefusedError):
        assert Image.open(BytesIO(reencoded(BytesIO(bytes(raw))))).format == "JPEG"
