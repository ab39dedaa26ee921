"""The page for an animal that was bought or is known from paper."""

import html
import re
import uuid

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from herdbook.book.models import Animal, Litter, Photo
from herdbook.book.services.photos import keep_photo
from tests.book.test_keep_photo import photo_file
from tests.factories import AnimalFactory

PAGE = "/animals/new/"
pytestmark = pytest.mark.usefixtures("today")


def form(**values):
    """What a browser sends of an animal with a name."""
    return {
        "submission_key": uuid.uuid4().hex,
        "name": "Fern",
        "sex": "sow",
        "state": "in_herd",
        "sureness": "sure",
        **values,
    }


def text(response):
    return html.unescape(re.sub(r"\s+", " ", response.content.decode()))


def test_it_works(owner_client, cast):
    sent = form(
        stud_prefix="Saltmarsh",
        number="77",
        coat="golden",
        born="7/2025",
        dam="wren",
        sire_0="1",
        bought_as="marked",
        came_from="Bought at Northmoor show",
        came_on="14.3.2026",
    )
    response = owner_client.post(PAGE, sent)
    fern = Animal.objects.get(name="Fern")
    assert response["Location"] == reverse("animal", args=[fern.public_id])
    assert fern.full_name == "Saltmarsh Fern"
    assert (fern.coat, fern.bought_as, str(fern.came_on)) == ("golden", "marked", "2026-03-14")
    assert (fern.litter.source, str(fern.born)) == ("paper", "2025-07")
    assert (fern.dam, fern.litter.candidate_boars) == (cast.wren, [cast.bramble])


def test_one_known_from_paper_is_not_in_the_herd(owner_client):
    owner_client.post(PAGE, form(state="paper"))
    assert Animal.objects.get(name="Fern").state == "paper"


def test_one_of_several_boars_may_be_the_sire(owner_client, cast):
    sent = form(sire_0="Bramble", share_0="3", sire_1="Flint", share_1="1")
    owner_client.post(PAGE, sent)
    sires = Animal.objects.get(name="Fern").litter.sires.all()
    assert [(sire.boar, sire.weight) for sire in sires] == [(cast.bramble, 3), (cast.flint, 1)]


def test_without_shares_all_boars_count_alike(owner_client):
    owner_client.post(PAGE, form(sire_0="Bramble", sire_2="Flint"))
    sires = Animal.objects.get(name="Fern").litter.sires.all()
    assert [sire.weight for sire in sires] == [1, 1]


@pytest.mark.parametrize(
    ("values", "said"),
    [
        ({"name": ""}, "Give the animal a name or a number"),
        ({"number": "5"}, "Another animal of this herd has that number."),
        ({"born": "31.2.2025"}, "Could not read the date “31.2.2025”."),
        ({"born": "2027"}, "2027 is in the future."),
        ({"dam": "Bramble"}, "Thornmoor Bramble (1) is a boar: choose a sow as dam."),
        ({"dam": "Heron"}, "No sow matches “Heron”. Add her first"),
        ({"sire_0": "Heron"}, "No boar matches “Heron”. Add him first"),
        ({"sire_0": "Wren"}, "Thornmoor Wren (2) is a sow: choose a boar as sire."),
        ({"sire_0": "thornmoor"}, "“thornmoor” matches several: "),
        ({"sire_0": "Flint", "sire_1": "4"}, "Thornmoor Flint (4) is entered twice."),
        ({"sire_0": "Flint", "share_0": "1", "sire_1": "1"}, "Enter a share for every boar"),
        ({"share_1": "1"}, "Which boar has this share?"),
        ({"sire_0": "Flint", "share_0": "0"}, "A share must be above zero."),
        ({"dam": "Wren", "born": "2025-03-01"}, "this litter was conceived by then"),
        ({"dam": "Wren", "born": "2024"}, "not before this litter"),
        ({"came_on": "2026-12"}, "is in the future"),
        ({"sex": "gelding"}, "Choose one from the list."),
        ({"remarks": "x" * 2001}, "Use at most 2000 characters; this has 2001."),
        ({"name": "nul\x00"}, "a character that cannot be saved"),
    ],
)
def test_it_says_what_to_put_right_and_keeps_what_was_typed(values, said, owner_client, cast):
    sent = form(remarks='kept "as typed" <b>', came_from="Northmoor") | values
    response = owner_client.post(PAGE, sent)
    page = text(response)
    assert response.status_code == 200
    assert said in page
    assert "Not saved. Please fix" in page or "Please check this." in page
    assert 'value="Northmoor"' in page
    if "remarks" not in values:
        assert '> kept "as typed" <b></textarea>' in page
        assert "<b>" not in response.content.decode()
    for name, value in values.items():
        if name in ("born", "dam", "sire_0", "share_0"):
            assert f'name="{name}" value="{value}"' in page
    assert not Animal.objects.filter(came_from="Northmoor").exists()


def test_a_question_is_answered_once(owner_client, cast):
    sent = form(dam="Wren", born="2025-04-20")
    page = text(owner_client.post(PAGE, sent))
    code = re.search(r'name="answered" value="([^"]*)"', page)[1]
    assert code == f"young-parent:{cast.wren.pk}"
    assert owner_client.post(PAGE, sent | {"answered": code}).status_code == 302
    assert Animal.objects.get(name="Fern").dam == cast.wren


def test_a_double_tap_writes_once(owner_client):
    sent = form()
    first, second = owner_client.post(PAGE, sent), owner_client.post(PAGE, sent)
    assert first["Location"] == second["Location"]
    assert Animal.objects.filter(name="Fern").count() == 1


def test_a_refused_form_leaves_no_litter_behind(owner_client):
    before = Litter.objects.count()
    owner_client.post(PAGE, form(number="5"))
    assert Litter.objects.count() == before


def test_namesakes_are_told_apart(owner_client, cast):
    twins = [AnimalFactory(herd=cast.herd, name="Dove", number="", sex="sow") for _each in "ab"]
    page = text(owner_client.post(PAGE, form(dam="Thornmoor Dove")))
    marks = re.findall(r"Thornmoor Dove #([0-9a-f]{8})", page)
    assert set(marks) == {twin.public_id.hex[:8] for twin in twins}
    owner_client.post(PAGE, form(dam=f"Thornmoor Dove #{marks[1]}"))
    chosen = Animal.objects.get(name="Fern").dam
    assert chosen.public_id.hex[:8] == marks[1]


def test_the_wanted_sex_chooses_among_namesakes(owner_client, cast):
    AnimalFactory(herd=cast.herd, name="Ash", number="", sex="sow")
    boar = AnimalFactory(herd=cast.herd, name="Ash", number="", sex="boar")
    owner_client.post(PAGE, form(sire_0="Thornmoor Ash"))
    assert Animal.objects.get(name="Fern").litter.candidate_boars == [boar]


def test_a_whole_name_is_meant_before_a_stud_prefix_that_begins_alike(owner_client, cast):
    thorn = AnimalFactory(herd=cast.herd, name="Thorn", sex="sow")
    owner_client.post(PAGE, form(dam="thorn"))
    assert Animal.objects.get(name="Fern").dam == thorn


def test_a_number_is_meant_before_a_name_that_holds_it(owner_client, cast):
    AnimalFactory(herd=cast.herd, name="Number 2", number="22", sex="sow")
    owner_client.post(PAGE, form(dam="2"))
    assert Animal.objects.get(name="Fern").dam == cast.wren


def test_a_photo_is_kept(owner_client, settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path
    owner_client.post(PAGE, form(photo=SimpleUploadedFile("fern.jpg", photo_file().read())))
    fern = Animal.objects.get(name="Fern")
    answer = owner_client.get(reverse("photo", args=[fern.photo.public_id]))
    assert (answer.status_code, answer["Content-Type"]) == (200, "image/jpeg")
    assert b"".join(answer.streaming_content)[:3] == b"\xff\xd8\xff"


def test_a_photo_outlives_a_refused_form(owner_client, settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path
    photo = SimpleUploadedFile("fern.jpg", photo_file().read())
    page = text(owner_client.post(PAGE, form(name="", photo=photo)))
    assert "Your photo is kept" in page
    kept = re.search(r'name="kept_photo" value="([^"]*)"', page)[1]
    owner_client.post(PAGE, form(kept_photo=kept))
    assert str(Animal.objects.get(name="Fern").photo.public_id) == kept
    assert Photo.objects.count() == 1


def test_another_herds_photo_cannot_be_taken(owner_client, other_herd, settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path
    theirs = keep_photo(herd=other_herd[1], file=photo_file())
    owner_client.post(PAGE, form(kept_photo=str(theirs.public_id)))
    assert Animal.objects.get(name="Fern").photo is None


def test_what_is_no_photo_is_said(owner_client, settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path
    page = text(owner_client.post(PAGE, form(photo=SimpleUploadedFile("a.jpg", b"no picture"))))
    assert "Could not read that photo" in page
    assert not Animal.objects.filter(name="Fern").exists()


def test_a_name_of_nasty_letters_comes_back_as_text(owner_client):
    name = '<script>alert("x")</script> & {{ x }}'
    response = owner_client.post(PAGE, form(name=name), follow=True)
    page = response.content.decode()
    assert "<script>alert" not in page
    assert html.escape(name) in page
