"""The pages of weighings and looks."""

import datetime
import re
import uuid

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from herdbook.book.models import Look, Weighing
from tests.book.test_keep_photo import photo_file
from tests.factories import LookFactory, WeighingFactory

pytestmark = pytest.mark.usefixtures("today")
TODAY = datetime.date(2026, 11, 25)


@pytest.fixture
def rooks(cast):
    return f"/animals/{cast.rook.public_id}/"


def key(**values):
    return {"submission_key": uuid.uuid4().hex, **values}


def words(response):
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", response.content.decode()))


def test_it_works(owner_client, cast, rooks):
    response = owner_client.post(
        rooks + "weighings/new/", key(on="2026-11-24", weight_g="950", remarks="fasted")
    )
    assert (response.status_code, response["Location"]) == (302, rooks)
    weighing = Weighing.objects.get()
    assert (weighing.animal, weighing.weight_g, weighing.on.day) == (cast.rook, 950, 24)


def test_today_is_offered(owner_client, rooks):
    assert 'value="2026-11-25"' in owner_client.get(rooks + "weighings/new/").content.decode()


@pytest.mark.parametrize("weight", ["", "9", "4001", "heavy", "95.5"])
def test_a_weight_that_cannot_be_comes_back_with_words(owner_client, rooks, weight):
    response = owner_client.post(
        rooks + "weighings/new/", key(on="2026-11-24", weight_g=weight, remarks="kept")
    )
    assert response.context["form"].errors["weight_g"]
    assert "kept" in response.content.decode()
    assert not Weighing.objects.exists()


def test_a_weighing_is_corrected(owner_client, cast, rooks):
    weighing = WeighingFactory(animal=cast.rook, on=TODAY, weight_g=95)
    address = f"/weighings/{weighing.public_id}/correct/"
    assert 'value="95"' in owner_client.get(address).content.decode()
    response = owner_client.post(address, key(on="2026-11-25", weight_g="950", version="1"))
    assert response["Location"] == rooks
    assert Weighing.objects.get().weight_g == 950


def test_a_weighing_changed_meanwhile_is_shown(owner_client, cast):
    weighing = WeighingFactory(animal=cast.rook, on=TODAY, weight_g=900)
    address = f"/weighings/{weighing.public_id}/correct/"
    owner_client.post(address, key(on="2026-11-25", weight_g="910", version="1"))
    response = owner_client.post(address, key(on="2026-11-25", weight_g="920", version="1"))
    form = response.context["form"]
    assert form.differences == [("Weight (g)", 910)]
    assert form["weight_g"].value() == "920"


def test_a_weighing_is_taken_out_only_by_post_and_once(owner_client, cast, rooks):
    weighing = WeighingFactory(animal=cast.rook, on=TODAY, weight_g=900)
    address = f"/weighings/{weighing.public_id}/remove/"
    assert "900 g" in words(owner_client.get(address))
    assert Weighing.objects.exists()
    sent = key(version="1")
    for _ in range(2):
        response = owner_client.post(address, sent)
        assert (response.status_code, response["Location"]) == (302, rooks)
    assert not Weighing.objects.exists()
    assert owner_client.post(address, key(version="1")).status_code == 404


def test_a_look_is_written_place_by_place(owner_client, cast, rooks):
    places = {"smut": "dense", "ears": "coming", "fore_feet": "faint", "hind_feet": "hidden"}
    response = owner_client.post(
        rooks + "looks/new/",
        key(
            on="2026-11-25",
            stage="coming",
            warmth="hot",
            stain="light",
            spread="cheeks",
            bare_skin="dark",
            **places,
        ),
    )
    assert response["Location"] == rooks
    look = Look.objects.get()
    assert {name: getattr(look, name) for name in places} == places
    assert (look.warmth, look.stain, look.spread, look.bare_skin) == (
        "hot",
        "light",
        "cheeks",
        "dark",
    )


def test_a_look_needs_its_stage(owner_client, rooks):
    response = owner_client.post(rooks + "looks/new/", key(on="2026-11-25"))
    assert response.context["form"].errors["stage"]


def test_a_look_keeps_its_photo_and_hides_the_place_it_was_taken(owner_client, cast, rooks):
    sent = key(on="2026-11-25", stage="full")
    sent["photo"] = SimpleUploadedFile("rook.jpg", photo_file().read())
    owner_client.post(rooks + "looks/new/", sent)
    photo = Look.objects.get().photo
    response = owner_client.get(f"/photos/{photo.public_id}.jpg")
    assert response["Content-Type"] == "image/jpeg"
    assert response["X-Content-Type-Options"] == "nosniff"
    assert b"Exif" not in b"".join(response)


def test_a_look_is_corrected_and_its_photo_stays_or_goes(owner_client, cast, rooks):
    sent = key(on="2026-11-25", stage="full")
    sent["photo"] = SimpleUploadedFile("rook.jpg", photo_file().read())
    owner_client.post(rooks + "looks/new/", sent)
    look = Look.objects.get()
    address = f"/looks/{look.public_id}/correct/"
    owner_client.post(address, key(on="2026-11-25", stage="coming", version="1"))
    again = Look.objects.get()
    assert (again.stage, again.photo) == ("coming", look.photo)
    owner_client.post(address, key(on="2026-11-25", stage="coming", version="2", no_photo="on"))
    assert Look.objects.get().photo is None


def test_a_look_is_taken_out(owner_client, cast, rooks):
    look = LookFactory(animal=cast.rook, on=TODAY, stage="full")
    address = f"/looks/{look.public_id}/remove/"
    assert "full" in words(owner_client.get(address))
    assert owner_client.post(address, key(version="1"))["Location"] == rooks
    assert not Look.objects.exists()


def test_what_is_no_photo_is_refused_at_its_field(owner_client, rooks):
    sent = key(on="2026-11-25", stage="full")
    sent["photo"] = SimpleUploadedFile("rook.jpg", b"not a picture")
    response = owner_client.post(rooks + "looks/new/", sent)
    assert "Could not read that photo" in response.context["form"].errors["photo"][0]
    assert not Look.objects.exists()


def test_another_herd_sees_and_changes_nothing(client, cast, rooks, other_herd):
    weighing = WeighingFactory(animal=cast.rook, on=TODAY, weight_g=900)
    look = LookFactory(animal=cast.rook, on=TODAY, stage="full")
    client.force_login(other_herd[0])
    for address in (
        rooks + "weighings/new/",
        rooks + "looks/new/",
        f"/weighings/{weighing.public_id}/correct/",
        f"/weighings/{weighing.public_id}/remove/",
        f"/looks/{look.public_id}/correct/",
        f"/looks/{look.public_id}/remove/",
    ):
        assert client.get(address).status_code == 404
        assert client.post(address, key(version="1")).status_code == 404
    assert Weighing.objects.exists()
    assert Look.objects.exists()
