"""Photographs at the desk: taken in, re-encoded, stripped of all that is not picture."""

from io import BytesIO

from django.core.files.base import ContentFile
from django.utils.translation import gettext as _
from PIL import Image, ImageOps, UnidentifiedImageError

from ..findings import Refused, refuse
from ..models import Herd, Photo

LONGEST_SIDE = 1600
MOST_PIXELS = 60_000_000


def keep_photo(*, herd: Herd, file) -> Photo:
    """Keep a picture as a fresh JPEG: turned upright, at most 1600 pixels a side, no place data.

    Raises Refused where the file is no picture, or one too large to open.
    """
    photo = Photo(herd=herd)
    photo.image.save(f"{photo.public_id}.jpg", ContentFile(_reencoded(file)))
    return photo


def _reencoded(file) -> bytes:
    try:
        with Image.open(file, formats=["JPEG", "PNG", "WEBP", "GIF", "MPO"]) as picture:
            if picture.width * picture.height > MOST_PIXELS:
                raise Refused(
                    [
                        refuse(
                            "photo-large", _("The photo is too large. Send a smaller one."), "photo"
                        )
                    ]
                )
            upright = ImageOps.exif_transpose(picture).convert("RGB")
    except (UnidentifiedImageError, OSError, SyntaxError, ValueError) as error:
        raise Refused(
            [
                refuse(
                    "photo-unread",
                    _("That file is no photo that can be read (JPEG, PNG or WebP)."),
                    "photo",
                )
            ]
        ) from error
    upright.thumbnail((LONGEST_SIDE, LONGEST_SIDE))
    # A new image carries over the pixels and nothing else.
    plain = Image.new("RGB", upright.size)
    plain.paste(upright)
    out = BytesIO()
    plain.save(out, "JPEG", quality=85)
    return out.getvalue()
