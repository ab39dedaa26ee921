"""A person's judgement of an animal: written, put right, taken out, and looked for in the list."""

import datetime
import re
import uuid

import pytest

from herdbook.book.inputs import JudgementEntry
from herdbook.book.models import Animal, Judgement
from herdbook.book.services.change_set import Submission
from herdbook.book.services.litters import exchange_records
from herdbook.book.services.observations import record_observations
from herdbook.pages.history import changes_of
from tests.factories import AnimalFactory, JudgementFactory

pytestmark = pytest.mark.usefixtures("today")
TODAY = datetime.date(2026, 11, 25)


@pytest.fixture
def rooks(cast):
    return f"/animals/{cast.rook.public_id}/"


def key(**values):
    return {"submission_key": uuid.uuid4().hex, **values}


def words(response):
    return re.sub(r"(<[^>]+>|\s)+", " ", response.content.decode())


def test_it_works(owner_client, cast, rooks):
    page = owner_client.get(rooks + "judgements/new/")
    assert page.context["form"]["by"].value() == "Ansel Quillby"
    sent = key(verdict="showable", on="2026-11-24", by="A club judge", remarks="bit long")
    response = owner_client.post(rooks + "judgements/new/", sent)
    assert (response.status_code, response["Location"]) == (302, rooks)
    judgement = Judgement.objects.get()
    assert (judgement.animal, judgement.verdict) == (cast.rook, "showable")
    assert judgement.history.get().history_user == cast.owner
    assert "Good enough to show 24 Nov 2026, A club judge bit long" in words(
        owner_client.get(rooks)
    )


def test_a_double_tap_writes_once(owner_client, rooks):
    sent = key(verdict="pet", on="2026-11-24")
    for _tap in range(2):
        assert owner_client.post(rooks + "judgements/new/", sent).status_code == 302
    assert Judgement.objects.count() == 1


@pytest.mark.parametrize(
    ("sent", "said"),
    [
        ({"on": "2026-11-24"}, "Choose one."),
        ({"verdict": "champion", "on": "2026-11-24"}, "Choose one from the list."),
        ({"verdict": "pet", "on": "2026-11-26"}, "That date is in the future."),
        ({"verdict": "pet", "on": "2026-03-13"}, "was born on 14 March 2026"),
        ({"verdict": "pet", "on": ""}, "Enter the date."),
    ],
)
def test_it_refuses_what_cannot_be(owner_client, rooks, sent, said):
    answer = owner_client.post(rooks + "judgements/new/", key(remarks="kept", **sent))
    assert said in words(answer)
    assert "kept" in answer.content.decode()
    assert not Judgement.objects.exists()


def test_one_that_died_before_is_asked_about(owner_client, cast, rooks):
    Animal.objects.filter(pk=cast.rook.pk).update(state="died", left_on="2026-11-01")
    sent = {"verdict": "pet", "on": "2026-11-24"}
    assert "Was this after that?" in words(
        owner_client.post(rooks + "judgements/new/", key(**sent))
    )
    taken = owner_client.post(rooks + "judgements/new/", key(**sent, answered="after-left"))
    assert taken.status_code == 302


def test_it_is_corrected_and_the_change_is_told(owner_client, cast, rooks):
    entry = JudgementEntry(cast.rook, TODAY, "pet")
    judgement = record_observations(Submission(cast.owner, TODAY), entries=[entry])[0]
    address = f"/judgements/{judgement.public_id}/correct/"
    sent = key(verdict="showable", on="2026-11-25", version="1")
    assert owner_client.post(address, sent)["Location"] == rooks
    change = next(one for one in changes_of(cast.rook) if one.action == "Judgement edited")
    assert ("Judgement on 25 November 2026: Judgement", "a pet", "good enough to show") in [
        (line.of, line.before, line.after) for line in change.lines
    ]


def test_it_is_taken_out(owner_client, cast, rooks):
    judgement = JudgementFactory(animal=cast.rook, on=TODAY, verdict="pet")
    address = f"/judgements/{judgement.public_id}/remove/"
    assert "Delete this judgement?" in words(owner_client.get(address))
    assert owner_client.post(address, key(version="1"))["Location"] == rooks
    assert not Judgement.objects.exists()


def test_the_list_is_narrowed_by_the_latest_judgement(owner_client, cast):
    JudgementFactory(animal=cast.rook, on="2026-10-01", verdict="showable")
    JudgementFactory(animal=cast.rook, on="2026-11-01", verdict="pet")
    JudgementFactory(animal=cast.sorrel, on="2026-11-01", verdict="showable")

    def names(judged):
        page = owner_client.get("/animals/", {"judged": judged}).content.decode()
        return re.findall(r'<th scope="row"[^>]*><a[^>]*>Thornmoor ([^<]*)</a>', page)

    assert names("pet") == ["Rook"]
    assert names("showable") == ["Sorrel"]
    assert names("unjudged") == ["Bramble", "Tansy", "Wren"]
    assert "not judged yet" in words(owner_client.get("/animals/", {"judged": "unjudged"}))


def test_it_goes_over_where_two_littermates_were_mixed_up(cast):
    brother = AnimalFactory(herd=cast.herd, litter=cast.march_litter, sex="boar")
    JudgementFactory(animal=cast.rook, on="2026-09-01", verdict="showable")
    exchange_records(
        Submission(cast.owner, TODAY),
        first=cast.rook,
        second=brother,
        since=datetime.date(2026, 8, 1),
    )
    assert Judgement.objects.get().animal == brother
