"""A photo as its address gives it, and photos that were never saved with a form."""

from datetime import timedelta
from pathlib import Path

import pytest
from django.urls import reverse
from django.utils import timezone

from herdbook.book.models import Photo
from herdbook.book.services.photos import keep_photo
from herdbook.book.services.unused_photos import clear_unused_photos
from tests.book.test_keep_photo import photo_file
from tests.factories import LookFactory


@pytest.fixture
def keep(cast, settings, tmp_path):
    """`keep()` keeps a photo for the cast's herd, two days old."""
    settings.MEDIA_ROOT = tmp_path

    def kept(*, days=2):
        photo = keep_photo(herd=cast.herd, file=photo_file())
        Photo.objects.filter(pk=photo.pk).update(taken_at=timezone.now() - timedelta(days=days))
        return photo

    return kept


def test_it_works(owner_client, keep):
    response = owner_client.get(reverse("photo", args=[keep().public_id]))
    assert (response.status_code, response["Content-Type"]) == (200, "image/jpeg")
    assert "private" in response["Cache-Control"]
    assert response["X-Content-Type-Options"] == "nosniff"


def test_a_file_that_is_gone_is_not_found(owner_client, keep):
    photo = keep()
    Path(photo.image.path).unlink()
    assert owner_client.get(reverse("photo", args=[photo.public_id])).status_code == 404


def test_photos_that_nothing_refers_to_go_after_a_day(cast, keep):
    of_animal, of_look, once_of_animal, unused, fresh = (keep() for _each in "abcde")
    Photo.objects.filter(pk=fresh.pk).update(taken_at=timezone.now())
    LookFactory(animal=cast.rook, on="2026-11-01", stage="full", photo=of_look)
    for photo in (once_of_animal, of_animal):
        cast.rook.photo = photo
        cast.rook.save()
    assert clear_unused_photos(cast.herd) == 1
    assert set(Photo.objects.all()) == {of_animal, of_look, once_of_animal, fresh}
    assert not Path(unused.image.path).exists()
    assert Path(fresh.image.path).exists()


def test_another_herds_photos_stay(cast, other_herd, keep):
    keep()
    assert clear_unused_photos(other_herd[1]) == 0
