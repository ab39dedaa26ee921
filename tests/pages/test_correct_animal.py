"""An animal's facts put right on its page."""

import html
import re
import uuid

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from herdbook.book.models import CandidateSire, Litter
from herdbook.book.services.photos import keep_photo
from tests.book.test_keep_photo import photo_file
from tests.factories import AnimalFactory

pytestmark = pytest.mark.usefixtures("today")

VERSIONS = ("version", "litter_version")


def page_of(animal):
    return reverse("correct-animal", args=[animal.public_id])


def form(animal, **values):
    """What a browser sends of an animal's page where nothing was touched but ``values``."""
    columns = ("stud_prefix", "name", "number", "sex", "coat", "sureness", "version", "bought_as")
    return {
        "submission_key": uuid.uuid4().hex,
        **{column: getattr(animal, column) for column in columns},
        "litter_version": animal.litter.version,
        **values,
    }


def text(response):
    return html.unescape(re.sub(r"\s+", " ", response.content.decode()))


def test_it_works(owner_client, cast):
    response = owner_client.post(page_of(cast.rook), form(cast.rook, name="Raven", coat="cream"))
    assert response["Location"] == cast.rook.get_absolute_url()
    cast.rook.refresh_from_db()
    assert (cast.rook.full_name, cast.rook.coat) == ("Thornmoor Raven", "cream")
    assert cast.rook.history.count() == 2


def test_the_form_is_filled_with_what_stands_in_the_book(owner_client, cast):
    page = text(owner_client.get(page_of(cast.rook)))
    assert 'name="name" value="Rook"' in page
    assert re.search(r'name="sex" value="boar"[^>]* checked', page)
    assert '<option value="white" selected>white</option>' in page


def test_one_born_here_has_its_parents_on_its_litters_page(owner_client, cast):
    page = text(owner_client.get(page_of(cast.rook)))
    assert "This animal was born here" in page
    assert cast.march_litter.get_absolute_url() in page
    assert 'name="dam"' not in page
    owner_client.post(page_of(cast.rook), form(cast.rook, dam="Tansy", born="2026"))
    cast.march_litter.refresh_from_db()
    assert (cast.march_litter.dam, str(cast.march_litter.born)) == (cast.wren, "2026-03-14")


def test_one_from_paper_has_its_parents_here(owner_client, cast):
    sent = form(cast.tansy, born="2025-06", sire_0="Flint", share_0="2", sire_1="1", share_1="1")
    owner_client.post(page_of(cast.tansy), sent)
    page = text(owner_client.get(page_of(cast.tansy)))
    assert 'name="born" value="2025-06"' in page
    assert 'name="sire_0" value="Thornmoor Flint (4)"' in page
    assert 'name="share_0" value="2.0"' in page
    assert 'name="sire_1" value="Thornmoor Bramble (1)"' in page


def test_shares_stay_as_they_were_when_nothing_is_said_of_them(owner_client, cast):
    for boar, weight in ((cast.flint, 0.7), (cast.bramble, 0.3)):
        CandidateSire.objects.create(
            herd=cast.herd, litter=cast.tansy.litter, boar=boar, weight=weight
        )
    page = text(owner_client.get(page_of(cast.tansy)))
    typed = dict(re.findall(r'name="((?:sire|share)_\d)" value="([^"]*)"', page))
    owner_client.post(page_of(cast.tansy), form(cast.tansy, born="2025-06", **typed))
    written = cast.tansy.litter.sires.values_list("boar__name", "weight")
    assert list(written) == [("Flint", 0.7), ("Bramble", 0.3)]


def test_an_animal_is_not_its_own_ancestor(owner_client, cast):
    page = text(owner_client.post(page_of(cast.wren), form(cast.wren, born="2025-02-10", dam="6")))
    assert "Thornmoor Sorrel (6) descends from this litter" in page or "not before" in page
    sent = form(cast.wren, born="", dam="Sorrel")
    assert "descends from this litter" in text(owner_client.post(page_of(cast.wren), sent))


def test_a_dam_cannot_be_made_a_boar(owner_client, cast):
    page = text(owner_client.post(page_of(cast.wren), form(cast.wren, sex="boar")))
    assert "is the dam of a litter, so it cannot be a boar" in page


def test_what_was_changed_meanwhile_is_shown_and_gone_over_knowingly(owner_client, cast):
    old = form(cast.rook, name="Raven", remarks="my words")
    owner_client.post(page_of(cast.rook), form(cast.rook, name="Jackdaw", coat="golden"))
    page = text(owner_client.post(page_of(cast.rook), old))
    assert "This was changed in another window" in page
    assert "<dt>Name</dt><dd>Jackdaw</dd>" in page
    assert "<dt>Body colour</dt><dd>golden</dd>" in page
    assert 'name="name" value="Raven"' in page
    assert "my words" in page
    cast.rook.refresh_from_db()
    assert cast.rook.name == "Jackdaw"
    version = re.search(r'name="version" value="(\d+)"', page)[1]
    assert owner_client.post(page_of(cast.rook), old | {"version": version}).status_code == 302
    cast.rook.refresh_from_db()
    assert cast.rook.name == "Raven"


def test_parents_shared_with_a_littermate_are_not_put_back_by_an_old_page(owner_client, cast):
    mate = AnimalFactory(herd=cast.herd, litter=cast.tansy.litter, name="Teasel", sex="sow")
    old = form(mate, born="2025-06", name="Thistle")
    owner_client.post(
        page_of(cast.tansy), form(cast.tansy, born="2025-07", dam="Wren", sire_0="Flint")
    )
    page = text(owner_client.post(page_of(mate), old))
    litter = Litter.objects.get(pk=mate.litter_id)
    assert (litter.dam, str(litter.born), litter.candidate_boars) == (
        cast.wren,
        "2025-07",
        [cast.flint],
    )
    assert "This was changed in another window" in page
    assert "<dt>Born</dt><dd>July 2025</dd>" in page
    assert f"<dt>Dam</dt><dd>{cast.wren.label}</dd>" in page
    assert f"<dt>Sire</dt><dd>{cast.flint.label}</dd>" in page
    again = {name: re.search(rf'name="{name}" value="(\d+)"', page)[1] for name in VERSIONS}
    assert owner_client.post(page_of(mate), old | again).status_code == 302
    litter.refresh_from_db()
    assert (litter.dam, str(litter.born), litter.candidate_boars) == (None, "2025-06", [])


def test_an_old_page_that_only_drops_a_littermates_new_sire_is_shown_it(owner_client, cast):
    mate = AnimalFactory(herd=cast.herd, litter=cast.tansy.litter, name="Teasel", sex="sow")
    old = form(mate, born="2025-06")
    owner_client.post(page_of(cast.tansy), form(cast.tansy, born="2025-06", sire_0="Flint"))
    page = text(owner_client.post(page_of(mate), old))
    assert f"<dt>Sire</dt><dd>{cast.flint.label}</dd>" in page
    assert Litter.objects.get(pk=mate.litter_id).candidate_boars == [cast.flint]


def test_a_page_with_the_parents_as_they_now_stand_is_not_held_up(owner_client, cast):
    mate = AnimalFactory(herd=cast.herd, litter=cast.tansy.litter, name="Teasel", sex="sow")
    old = form(mate, born="2025-07", name="Thistle")
    owner_client.post(page_of(cast.tansy), form(cast.tansy, born="2025-07"))
    assert owner_client.post(page_of(mate), old).status_code == 302


def test_a_form_without_its_litters_version_changes_no_parents(owner_client, cast):
    sent = form(cast.tansy, born="2025-07")
    del sent["litter_version"]
    assert "This was changed in another window" in text(
        owner_client.post(page_of(cast.tansy), sent)
    )
    assert str(Litter.objects.get(pk=cast.tansy.litter_id).born) == "2025-06"


def test_a_form_without_its_version_overwrites_nothing(owner_client, cast):
    sent = form(cast.rook, name="Raven")
    del sent["version"]
    assert "This was changed in another window" in text(owner_client.post(page_of(cast.rook), sent))
    cast.rook.refresh_from_db()
    assert cast.rook.name == "Rook"


def test_a_photo_stays_changes_and_comes_off(owner_client, cast, settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path
    cast.rook.photo = first = keep_photo(herd=cast.herd, file=photo_file())
    cast.rook.save()

    def save(**values):
        cast.rook.refresh_from_db()
        owner_client.post(page_of(cast.rook), form(cast.rook, **values))
        cast.rook.refresh_from_db()
        return cast.rook.photo

    assert save(name="Raven") == first
    assert save(photo=SimpleUploadedFile("b.jpg", photo_file().read())) not in (first, None)
    assert save(no_photo="on") is None
