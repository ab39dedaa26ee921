"""A litter's own page, and what is put right on it."""

import datetime
import re
import uuid

import pytest

from genetics.models import Figure
from herdbook.book.models import Animal, Litter, Look, Weighing
from herdbook.book.partial_date import PartialDate
from herdbook.book.services.change_set import Submission
from herdbook.book.services.litters import correct_litter, entry_of
from tests.factories import AnimalFactory, LitterFactory, LookFactory, WeighingFactory

pytestmark = pytest.mark.usefixtures("today")
TODAY = datetime.date(2026, 11, 25)


@pytest.fixture
def address(cast):
    return f"/litters/{cast.march_litter.public_id}/"


def words(response):
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", response.content.decode()))


def sent(page, **values):
    """The form of a page as it stands, with these values over it."""
    form = page.context["form"]
    whole = {
        name: form[name].value() for name in form.fields if form[name].value() not in (None, "")
    }
    return {**whole, "submission_key": uuid.uuid4().hex, **values}


def test_it_works(owner_client, cast, address):
    LookFactory(animal=cast.rook, on=datetime.date(2026, 6, 1), stage="full")
    WeighingFactory(animal=cast.rook, on=datetime.date(2026, 6, 2), weight_g=612)
    shown = words(owner_client.get(address))
    for said in (
        "Litter of Thornmoor Wren",
        "Born 14 March 2026",
        "Thornmoor Bramble (1)",
        "Thornmoor Rook (5)",
        "full",
        "612 g",
    ):
        assert said in shown


def test_shares_of_several_sires_are_shown(owner_client, cast, address):
    cast.march_litter.sires.update(weight=3.0)
    cast.march_litter.sires.create(herd=cast.herd, boar=cast.flint, weight=1.0)
    shown = words(owner_client.get(address))
    assert "Possible sires" in shown
    assert "75% as entered" in shown
    assert "25% as entered" in shown


def test_a_sire_whose_pups_speak_for_him_has_the_greater_share(owner_client, cast, address):
    """Wren is a self; both pups, full at eight months, want a sire with a dose."""
    cast.march_litter.sires.create(herd=cast.herd, boar=cast.flint)
    seen = [(cast.wren, "none"), (cast.flint, "none"), (cast.rook, "full"), (cast.sorrel, "full")]
    for animal, stage in seen:
        LookFactory(animal=animal, on=datetime.date(2026, 11, 20), stage=stage, warmth="mild")
    owner_client.get(address)
    bramble, *rest = cast.march_litter.sire_shares.all()
    assert (bramble.boar, bramble.share > 0.9) == (cast.bramble, True)
    assert {row.boar for row in rest} == {cast.flint, None}
    assert sum(row.share for row in (bramble, *rest)) == pytest.approx(1)
    assert f"{round(100 * bramble.share)}% from all records, 50% as entered" in words(
        owner_client.get(address)
    )


def test_boars_that_were_there_are_named_where_no_sire_is_written(owner_client, cast, address):
    cast.march_litter.sires.all().delete()
    shown = words(owner_client.get(address))
    assert "Sire not recorded; boars with her then" in shown
    assert "Thornmoor Bramble (1)" in shown


def test_each_pup_shows_its_expected_dose(owner_client, cast, address):
    """The dam a self, the sire with two doses: the calculation says so of each pup."""
    for animal, doses in ((cast.wren, "self"), (cast.bramble, "overmarked")):
        assert animal.bought_as == doses
    assert words(owner_client.get(address)).count("clean marked") >= 2


def test_history_says_who_when_and_what(owner_client, cast, address):
    correct_litter(
        Submission(cast.owner, TODAY, version=1),
        litter=cast.march_litter,
        entry=entry_of(cast.march_litter).__class__(
            **{**entry_of(cast.march_litter).__dict__, "boars": (cast.flint,), "weights": ()}
        ),
    )
    shown = words(owner_client.get(address))
    assert "Litter edited 25 November 2026" in shown
    assert "ansel" in shown
    assert "Sire or possible sire Thornmoor Bramble (1) –" in shown
    assert "Sire or possible sire – Thornmoor Flint (4)" in shown


def test_a_litter_from_paper_is_corrected_on_its_animals_page(owner_client, cast):
    paper = cast.wren.litter
    page = owner_client.get(f"/litters/{paper.public_id}/")
    assert page.status_code == 200
    assert 'id="birth"' not in page.content.decode(), "nothing is written of it"
    assert owner_client.get(f"/litters/{paper.public_id}/correct/").status_code == 404


@pytest.mark.parametrize("below", ["", "correct/", "pups/new/", "weigh/", "look/", "mix-up/"])
def test_another_herd_sees_nothing(client, address, other_herd, below):
    client.force_login(other_herd[0])
    assert client.get(address + below).status_code == 404
    assert client.post(address + below).status_code in (404, 405)


def test_the_page_takes_few_queries_however_many_pups(
    owner_client, cast, address, django_assert_max_num_queries
):
    owner_client.get(address)
    for place in range(8):
        pup = AnimalFactory(herd=cast.herd, litter=cast.march_litter, number=str(100 + place))
        LookFactory(animal=pup, on=TODAY, stage="none")
    with django_assert_max_num_queries(24):
        owner_client.get(address)


# Correct


def test_a_litter_is_corrected(owner_client, cast, address):
    page = owner_client.get(address + "correct/")
    values = sent(page, born="15.3.2026", boars=[str(cast.flint.public_id)], born_dead="1")
    values["other_boar"] = "Bramble"
    response = owner_client.post(address + "correct/", values)
    assert response.status_code == 302
    litter = Litter.objects.get(pk=cast.march_litter.pk)
    assert (str(litter.born), litter.born_dead, litter.version) == ("2026-03-15", 1, 2)
    assert set(litter.candidate_boars) == {cast.flint, cast.bramble}


def test_shares_are_corrected_and_stay(owner_client, cast, address):
    cast.march_litter.sires.create(herd=cast.herd, boar=cast.flint)
    page = owner_client.get(address + "correct/")
    values = sent(page, **{f"share-{cast.flint.public_id}": "3"})
    owner_client.post(address + "correct/", values)
    shares = {sire.boar: sire.weight for sire in cast.march_litter.sires.all()}
    assert shares == {cast.bramble: 1.0, cast.flint: 3.0}


def test_a_litter_changed_meanwhile_shows_what_stands_now(owner_client, cast, address):
    old = owner_client.get(address + "correct/")
    first = sent(old, born_dead="2", boars=[str(cast.flint.public_id)])
    assert owner_client.post(address + "correct/", first).status_code == 302
    second = sent(old, remarks="mine")
    response = owner_client.post(address + "correct/", second)
    form = response.context["form"]
    assert dict(form.differences) == {"Born dead": 2, "Sire": "Thornmoor Flint (4)"}
    assert "mine" in response.content.decode()
    # Saved again, knowing it: the page's own values stand.
    response = owner_client.post(
        address + "correct/", {**second, "version": form["version"].value()}
    )
    assert response.status_code == 302
    litter = Litter.objects.get(pk=cast.march_litter.pk)
    assert (litter.remarks, litter.born_dead) == ("mine", 0)
    assert litter.candidate_boars == [cast.bramble]


# A litter that was taken in from paper


@pytest.fixture
def taken_in(cast):
    litter = LitterFactory(
        herd=cast.herd,
        dam=cast.wren,
        boars=[cast.bramble],
        born=PartialDate(2026, 6, 20),
        source="paper",
    )
    AnimalFactory(herd=cast.herd, litter=litter, sex="sow", name="Teasel")
    return litter


def test_a_litter_taken_in_is_completed(owner_client, cast, taken_in):
    address = taken_in.get_absolute_url()
    assert "Add birth details" in words(owner_client.get(address))
    page = owner_client.get(address + "correct/")
    assert "Pedigree only until now." in words(page)
    values = sent(page, born_alive="3", born_dead="1", answered="pups-not-written")
    assert owner_client.post(address + "correct/", values).status_code == 302
    litter = Litter.objects.get(pk=taken_in.pk)
    assert (litter.source, litter.born_alive, litter.born_dead) == ("home", 3, 1)
    assert litter.candidate_boars == [cast.bramble]
    shown = words(owner_client.get(address))
    assert "Count by what they show" in shown
    assert "2 pups are not listed." in shown
    assert "Born alive – 3" in shown
    assert owner_client.get(address + "together/").status_code == 200


def test_a_litter_of_a_dam_known_from_paper_alone_was_not_born_here(owner_client, cast, taken_in):
    Animal.objects.filter(pk=cast.wren.pk).update(state="paper")
    address = taken_in.get_absolute_url()
    assert "Add birth details" not in words(owner_client.get(address))
    assert owner_client.get(address + "correct/").status_code == 404


def test_a_litter_of_a_dam_in_another_herd_was_not_born_here(owner_client, other_herd, taken_in):
    dam = AnimalFactory(herd=other_herd[1], sex="sow")
    Litter.objects.filter(pk=taken_in.pk).update(dam=dam)
    assert "Add birth details" not in words(owner_client.get(taken_in.get_absolute_url()))


# Add a pup


def test_a_pup_is_added(owner_client, cast, address):
    page = owner_client.get(address + "pups/new/")
    values = sent(
        page,
        **{"pups-TOTAL_FORMS": "1", "pups-INITIAL_FORMS": "1", "pups-0-sex": "sow"},
    )
    response = owner_client.post(address + "pups/new/", values, follow=True)
    assert "Saved: a litter of 3 pups" in words(response)
    pup = Animal.objects.get(number="7")
    assert (pup.sex, pup.litter) == ("sow", cast.march_litter)
    assert Litter.objects.get(pk=cast.march_litter.pk).born_alive == 3


def test_no_pup_is_added_without_a_line(owner_client, address):
    page = owner_client.get(address + "pups/new/")
    values = sent(page, **{"pups-TOTAL_FORMS": "0", "pups-INITIAL_FORMS": "1"})
    response = owner_client.post(address + "pups/new/", values)
    assert "Add a pup, or cancel." in words(response)


# Together


def test_a_litter_is_weighed_in_one_save(owner_client, cast, address):
    page = owner_client.get(address + "weigh/")
    values = sent(
        page,
        **{f"weight_g-{cast.rook.public_id}": "812", f"weight_g-{cast.sorrel.public_id}": "790"},
    )
    assert owner_client.post(address + "weigh/", values).status_code == 302
    weights = {w.animal: (w.weight_g, w.on) for w in Weighing.objects.all()}
    assert weights == {cast.rook: (812, TODAY), cast.sorrel: (790, TODAY)}


def test_a_pup_not_weighed_is_left_out_and_one_sold_is_not_offered(owner_client, cast, address):
    AnimalFactory(herd=cast.herd, litter=cast.march_litter, state="sold")
    page = owner_client.get(address + "weigh/")
    assert [pup for pup, _field in page.context["form"].lines] == [cast.rook, cast.sorrel]
    values = sent(page, **{f"weight_g-{cast.rook.public_id}": "812"})
    owner_client.post(address + "weigh/", values)
    assert [w.animal for w in Weighing.objects.all()] == [cast.rook]


def test_nothing_weighed_is_said(owner_client, address):
    page = owner_client.get(address + "weigh/")
    response = owner_client.post(address + "weigh/", sent(page))
    assert "Nothing is entered yet." in words(response)


def test_what_is_strange_is_asked_for_each_pup(owner_client, cast, address):
    page = owner_client.get(address + "weigh/")
    values = sent(
        page,
        **{f"weight_g-{cast.rook.public_id}": "1900", f"weight_g-{cast.sorrel.public_id}": "1950"},
    )
    response = owner_client.post(address + "weigh/", values)
    codes = [question.code for question in response.context["form"].questions]
    assert codes == [f"heavy:{cast.rook.pk}", f"heavy:{cast.sorrel.pk}"]
    assert not Weighing.objects.exists()
    response = owner_client.post(address + "weigh/", {**values, "answered": codes})
    assert response.status_code == 302


def test_a_day_before_birth_is_refused_once_at_the_day(owner_client, cast, address):
    page = owner_client.get(address + "weigh/")
    values = sent(
        page,
        on="2027-01-01",
        **{f"weight_g-{cast.rook.public_id}": "100", f"weight_g-{cast.sorrel.public_id}": "100"},
    )
    response = owner_client.post(address + "weigh/", values)
    assert len(response.context["form"].errors["on"]) == 1


def test_a_litter_is_looked_at_in_one_save(owner_client, cast, address):
    page = owner_client.get(address + "look/")
    values = sent(
        page, warmth="cold", **{f"stage-{cast.rook.public_id}": "overmarked"}, on="2026-11-01"
    )
    assert owner_client.post(address + "look/", values).status_code == 302
    (look,) = Look.objects.all()
    assert (look.animal, look.stage, look.warmth) == (cast.rook, "overmarked", "cold")


# A mix-up


def test_a_mix_up_is_put_right(owner_client, cast, address):
    weighing = WeighingFactory(animal=cast.rook, on=datetime.date(2026, 6, 1), weight_g=500)
    values = {
        "submission_key": uuid.uuid4().hex,
        "first": cast.rook.public_id,
        "second": cast.sorrel.public_id,
        "since": "2026-05-01",
    }
    response = owner_client.post(address + "mix-up/", values)
    codes = [question.code for question in response.context["form"].questions]
    assert codes == ["sexes-differ"]
    response = owner_client.post(address + "mix-up/", {**values, "answered": codes})
    assert response.status_code == 302
    weighing.refresh_from_db()
    assert weighing.animal == cast.sorrel
    shown = words(owner_client.get(address))
    assert "Mixed-up littermates swapped" in shown


def test_one_pup_twice_is_refused(owner_client, cast, address):
    values = {
        "submission_key": uuid.uuid4().hex,
        "first": cast.rook.public_id,
        "second": cast.rook.public_id,
        "since": "2026-05-01",
    }
    response = owner_client.post(address + "mix-up/", values)
    assert "Choose two different pups" in response.context["form"].errors["second"][0]


# The list


def test_litters_are_listed_newest_first(owner_client, cast):
    newer = LitterFactory(
        herd=cast.herd, dam=cast.tansy, boars=[cast.rook, cast.flint], born="2026-10"
    )
    response = owner_client.get("/litters/")
    listed = [row.record for row in response.context["table"].paginated_rows]
    assert listed == [newer, cast.march_litter], "litters known from paper stand with their animal"
    assert "Thornmoor Flint (4)" in words(response)
    assert 'class="None' not in response.content.decode()


@pytest.mark.parametrize(
    ("chosen", "found"),
    [
        ({"dam": "WREN"}, ["Wren"]),
        ({"sire": "rook"}, ["Tansy"]),
        ({"year": "2026"}, ["Tansy", "Wren"]),
        ({"year": "2025"}, []),
        ({"dam": "tansy", "year": "2026"}, ["Tansy"]),
        ({"dam": "nobody"}, []),
    ],
)
def test_litters_are_chosen_by_dam_sire_and_year(owner_client, cast, chosen, found):
    LitterFactory(
        herd=cast.herd, dam=cast.tansy, boars=[cast.rook, cast.flint], born=PartialDate(2026, 10)
    )
    response = owner_client.get("/litters/", chosen)
    listed = [row.record.dam.name for row in response.context["table"].paginated_rows]
    if chosen.get("year") == "2025":
        assert response.context["filter"].form.errors, "no litter was born in it: not a choice"
    else:
        assert listed == found


def test_a_hundred_litters_stand_on_a_page(
    owner_client, cast, other_herd, django_assert_max_num_queries
):
    LitterFactory(herd=other_herd[1])
    for _ in range(100):
        LitterFactory(herd=cast.herd, dam=cast.tansy, boars=[cast.rook])
    with django_assert_max_num_queries(10):
        response = owner_client.get("/litters/")
    assert response.context["found"] == 101
    assert len(response.context["table"].paginated_rows) == 100
    response = owner_client.get("/litters/", {"page": 2})
    assert len(response.context["table"].paginated_rows) == 1


def test_doses_that_are_not_exact_say_what_they_may_be_off_by(owner_client, cast):
    page = owner_client.get(cast.march_litter.get_absolute_url()).content.decode()
    assert "about" not in page[page.index("<tbody>") : page.index("</tbody>")]
    Figure.objects.filter(animal=cast.rook).update(
        dose0=0.2, dose1=0.7, dose2=0.1, method="refined", error=0.08
    )
    page = owner_client.get(cast.march_litter.get_absolute_url()).content.decode()
    assert "about self 20%, clean marked 70%, overmarked 10%, give or take 8%" in page
