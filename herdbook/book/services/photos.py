"""Photographs at the desk: taken in, re-encoded, stripped of all that is not picture."""

import struct
from io import BytesIO

from django.core.files.base import ContentFile
from django.utils.translation import gettext as _
from PIL import Image, ImageOps

from herdbook.book.exceptions import RecordRefusedError

from ..models import Herd, Photo
from ..rules.findings import refuse

LONGEST_SIDE = 1600
# Beyond this a file of a few bytes could fill the memory when it is opened.
MOST_PIXELS = 60_000_000
KINDS = ("JPEG", "PNG", "WEBP", "GIF", "MPO")

# What Pillow raises on files that are spoilt or no pictures at all.
_UNREADABLE = (OSError, SyntaxError, ValueError, EOFError, KeyError, IndexError, TypeError)


def keep_photo(*, herd: Herd, file) -> Photo:
    """Keep a picture as a fresh JPEG: turned upright, at most 1600 pixels a side, no place data.

    Raises RecordRefusedError where the file is no picture, or one too large to open.
    """
    photo = Photo(herd=herd)
    photo.image = ContentFile(reencoded(file), name=f"{photo.public_id}.jpg")
    photo.save(force_insert=True)
    return photo


def reencoded(file) -> bytes:
    """The picture in ``file`` as a JPEG that carries pixels and nothing else.

    Raises RecordRefusedError, as :func:`keep_photo` does.
    """
    Image.init()
    try:
        with Image.open(file, formats=KINDS) as picture:
            if picture.width * picture.height > MOST_PIXELS:
                raise _too_large()
            upright = _small_and_upright(picture)
    except Image.DecompressionBombError as error:
        raise _too_large() from error
    except (*_UNREADABLE, struct.error) as error:
        raise _unread() from error
    out = BytesIO()
    upright.save(out, "JPEG", quality=85)
    return out.getvalue()


def _small_and_upright(picture: Image.Image) -> Image.Image:
    # Smaller first: a JPEG is then never unpacked at its full size.
    picture.thumbnail((LONGEST_SIDE, LONGEST_SIDE))
    upright = ImageOps.exif_transpose(picture).convert("RGB")
    # A new image carries over the pixels and nothing else.
    plain = Image.new("RGB", upright.size)
    plain.paste(upright)
    return plain


def _too_large() -> RecordRefusedError:
    message = _("The photo is too large. Send one of at most 60 million pixels.")
    return RecordRefusedError([refuse("photo-large", message, "photo")])


def _unread() -> RecordRefusedError:
    message = _("Could not read that photo. Send a JPEG, PNG or WebP.")
    return RecordRefusedError([refuse("photo-unread", message, "photo")])
