"""The pages of pups seen together and not told apart."""

import datetime
import html
import re
import uuid

import pytest
from django.urls import reverse

from herdbook.book.models import Animal, Litter, LitterCount
from herdbook.book.models.litter_count import CountedPup

pytestmark = pytest.mark.usefixtures("today")


@pytest.fixture
def litter(cast):
    Litter.objects.filter(pk=cast.march_litter.pk).update(born_alive=4)
    return cast.march_litter


@pytest.fixture
def count(cast, litter):
    row = LitterCount.objects.create(
        herd=cast.herd,
        litter=litter,
        on=datetime.date(2026, 5, 2),
        none=2,
        coming=1,
        full=1,
        nameless=2,
    )
    for pup in (cast.rook, cast.sorrel):
        CountedPup.objects.create(herd=cast.herd, count=row, animal=pup)
    return row


def told(cast, **values):
    pups = [str(cast.rook.public_id), str(cast.sorrel.public_id)]
    return {"submission_key": uuid.uuid4().hex, "on": "2026-05-02", "pups": pups, **values}


def words(response):
    plain = re.sub(r"<[^>]+>", " ", response.content.decode())
    return html.unescape(re.sub(r"\s+", " ", plain))


def test_it_works(owner_client, cast, litter):
    address = reverse("count-litter", args=[litter.public_id])
    page = owner_client.get(address).content.decode()
    assert 'value="2026-11-25"' in page
    assert page.count(" checked") == 3  # both pups, and no warmth noted
    response = owner_client.post(address, told(cast, coming="2", none="1", nameless="2"))
    asked = response.context["form"].questions
    assert [one.code for one in asked] == ["left-out:1"]
    again = told(cast, coming="2", none="1", nameless="2", answered="left-out:1")
    response = owner_client.post(address, again)
    assert response["Location"] == litter.get_absolute_url()
    row = LitterCount.objects.get()
    assert (row.counted, row.nameless, len(row.pups)) == ((1, 2, 0, 0), 2, 2)


def test_the_litter_page_tells_of_it(owner_client, cast, count):
    page = words(owner_client.get(count.litter.get_absolute_url()))
    assert "Pups you can't tell apart" in page
    assert "2 with no points, 1 coming, 1 full" in page
    assert "Rook (5), Thornmoor Sorrel (6), 2 unlisted" in page
    assert "7 weeks" in page


def test_a_litter_page_says_that_pups_without_a_line_still_speak(owner_client, litter):
    page = words(owner_client.get(litter.get_absolute_url()))
    assert "2 pups are not listed." in page


def test_too_many_for_all_that_were_there_say_nothing_of_others(owner_client, cast, litter):
    address = reverse("count-litter", args=[litter.public_id])
    said = words(owner_client.post(address, told(cast, coming="5", nameless="2")))
    assert "5 pups are counted, but only 4 were there. One number is wrong." in said
    assert "or say below" not in said


def test_too_many_come_back_with_words_and_what_was_typed(owner_client, cast, litter):
    address = reverse("count-litter", args=[litter.public_id])
    response = owner_client.post(address, told(cast, coming="5", remarks="kept as typed"))
    assert "5 pups are counted, but only 2 were there" in words(response)
    assert "or enter below how many others were there" in words(response)
    assert "kept as typed" in response.content.decode()
    assert not LitterCount.objects.exists()


@pytest.mark.parametrize("pup", ["nonsense", "", "0d2c3f6e-5f0a-4c7e-9d58-3f6b1a2c4e77"])
def test_a_pup_that_is_none_comes_back_with_words(owner_client, cast, litter, pup):
    address = reverse("count-litter", args=[litter.public_id])
    response = owner_client.post(address, told(cast, coming="1") | {"pups": [pup]})
    assert response.context["form"].errors["pups"]
    assert not LitterCount.objects.exists()


def test_a_litter_whose_pups_all_have_a_line_is_not_asked_for_others(owner_client, cast):
    page = owner_client.get(reverse("count-litter", args=[cast.march_litter.public_id]))
    assert "nameless" not in page.context["form"].fields


def test_a_count_is_corrected_and_the_litter_page_tells_before_and_after(owner_client, cast, count):
    address = reverse("correct-count", args=[count.public_id])
    page = owner_client.get(address).content.decode()
    assert page.count(" checked") == 3
    sent = told(cast, coming="2", none="1", nameless="1", version="1")
    sent["pups"] = sent["pups"][:2]
    response = owner_client.post(address, sent)
    assert response["Location"] == count.litter.get_absolute_url()
    assert LitterCount.objects.get().counted == (1, 2, 0, 0)
    page = words(owner_client.get(count.litter.get_absolute_url()))
    assert "Count edited" in page


def test_a_pup_left_out_of_a_count_later_is_told_in_what_was_written(owner_client, cast, count):
    sent = told(cast, coming="1", none="2", nameless="2", version="1")
    sent["pups"] = sent["pups"][:1]
    owner_client.post(reverse("correct-count", args=[count.public_id]), sent)
    page = words(owner_client.get(count.litter.get_absolute_url()))
    assert "Counted together on 2 May 2026 Thornmoor Sorrel (6) –" in page


def test_a_count_is_taken_out_once(owner_client, count):
    address = reverse("remove-count", args=[count.public_id])
    assert "2 with no points, 1 coming, 1 full" in words(owner_client.get(address))
    sent = {"submission_key": uuid.uuid4().hex, "version": "1"}
    for _ in range(2):
        response = owner_client.post(address, sent)
        assert response["Location"] == count.litter.get_absolute_url()
    assert not LitterCount.objects.exists()
    page = words(owner_client.get(count.litter.get_absolute_url()))
    assert "Deleted" in page


def test_reasons_say_it_in_plain_words(owner_client, cast, count):
    Animal.objects.update(bought_as="")
    page = words(owner_client.get(reverse("animal-reasons", args=[cast.rook.public_id])))
    assert "Its litter, counted together" in page
    page = words(owner_client.get(reverse("animal-reasons", args=[cast.bramble.public_id])))
    assert "(68% likely), pups counted together" in page


def test_the_page_of_a_pup_tells_of_it_among_its_looks(owner_client, cast, count):
    page = words(owner_client.get(cast.rook.get_absolute_url()))
    assert "Counted with littermates 2 May 2026, 7 weeks 2 with no points" in page


def test_the_doubt_page_holds(owner_client, count):
    assert owner_client.get(reverse("doubts")).status_code == 200


# A pup that gets a line of its own


def added(client, litter, pups=1, **values):
    lines = {f"pups-{line}-sex": "sow" for line in range(pups)}
    address = reverse("add-pups", args=[litter.public_id])
    page = client.get(address)
    return client.post(
        address,
        {
            "submission_key": uuid.uuid4().hex,
            "version": page.context["form"]["version"].value(),
            "pups-TOTAL_FORMS": str(pups),
            "pups-INITIAL_FORMS": "0",
            **lines,
            **values,
        },
    )


def test_an_added_pup_may_be_one_of_those_counted(owner_client, litter, count):
    asked = added(owner_client, litter)
    said = (
        "Counted on 2 May 2026: 2 with no points, 1 coming, 1 full; 2 of these were not listed. "
        "Is this one of them?"
    )
    assert said in words(asked)
    name = f"among-{count.public_id}"
    assert added(owner_client, litter, **{name: "yes"}).status_code == 302
    count.refresh_from_db()
    pup = Animal.objects.latest("pk")
    assert (count.nameless, pup in count.pups, len(count.pups)) == (1, True, 3)
    assert Litter.objects.get(pk=litter.pk).born_alive == 4
    page = words(owner_client.get(litter.get_absolute_url()))
    assert f"Counted together on 2 May 2026 – {pup.full_name}" in page


def test_what_holds_for_pups_in_several_counts_is_said_once(owner_client, cast, litter, count):
    LitterCount.objects.create(
        herd=cast.herd, litter=litter, on=datetime.date(2026, 6, 2), none=2, nameless=2
    )
    page = words(owner_client.get(reverse("add-pups", args=[litter.public_id])))
    assert page.count("Is this one of them?") == 2
    assert page.count("save them one at a time") == 1


def test_an_added_pup_that_was_not_counted_was_born_besides(owner_client, litter, count):
    assert added(owner_client, litter, **{f"among-{count.public_id}": "no"}).status_code == 302
    count.refresh_from_db()
    assert (count.nameless, len(count.pups)) == (2, 2)
    assert Litter.objects.get(pk=litter.pk).born_alive == 5


def test_no_more_pups_are_named_than_were_counted(owner_client, litter, count):
    response = added(owner_client, litter, pups=3, **{f"among-{count.public_id}": "yes"})
    assert "Only 2 unlisted pups were counted on 2 May 2026." in words(response)
    assert litter.pups.count() == 2


def test_a_litter_without_nameless_pups_asks_nothing(owner_client, litter, count):
    LitterCount.objects.update(nameless=0)
    page = owner_client.get(reverse("add-pups", args=[litter.public_id]))
    assert page.context["form"].counts == []
