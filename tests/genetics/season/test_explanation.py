"""Why sows rest in a season's plan of the book, what keeps a held pair out, what care costs."""

import pytest

from genetics.season.request import LETHAL, SATIN, WELFARE
from herdbook.book.models import Animal, GivenEvidence
from herdbook.book.partial_date import PartialDate
from tests.factories import AnimalFactory, LitterFactory
from tests.genetics.season.test_planner import pairs, planned

pytestmark = pytest.mark.usefixtures("today")


def of_dose(animal, dose):
    share = {f"like{number}": float(number == dose) for number in range(3)}
    GivenEvidence.objects.create(herd=animal.herd, animal=animal, **share)
    return animal


def selfs(cast, number):
    """Self sows that are as good as each other."""
    return [
        of_dose(AnimalFactory(herd=cast.herd, sex="sow", bought_as="self"), 0)
        for _ in range(number)
    ]


def resting(found):
    return {one["sow"]: {key: one[key] for key in one if key != "sow"} for one in found["rests"]}


@pytest.fixture
def one_boar(cast):
    """Bramble alone, of two doses, with Tansy of one dose and two selfs, by whom he has twice as
    many of one dose."""
    of_dose(cast.bramble, 2)
    Animal.objects.filter(pk__in=[cast.rook.pk, cast.wren.pk, cast.sorrel.pk]).update(state="sold")
    of_dose(cast.tansy, 1)
    return [cast.tansy, *selfs(cast, 2)]


def test_it_works(cast, one_boar):
    found = planned(cast, pens=2)
    assert resting(found) == {cast.tansy.pk: {"why": "pens", "less": True}}


def test_the_boars_that_have_their_sows_are_named_while_pens_are_empty(cast, one_boar):
    found = planned(cast, pens=10, sows_a_boar=2)
    told = {"why": "boars", "boars": [cast.bramble.pk], "less": True}
    assert resting(found) == {cast.tansy.pk: told}


def test_one_as_good_as_another_is_told_in_whose_place(cast, one_boar):
    found = planned(cast, pens=1)
    ((chosen, _),) = pairs(found)
    (left,) = {sow.pk for sow in one_boar[1:]} - {chosen}
    assert resting(found)[left] == {"why": "pens", "instead": chosen}


def test_what_keeps_every_boar_from_a_sow_is_told(cast, one_boar):
    sow = one_boar[1]
    found = planned(cast, forbidden=((sow.pk, cast.bramble.pk),))
    assert resting(found) == {sow.pk: {"why": "no-boar", "because": ["forbidden"]}}


def test_what_keeps_all_boars_from_a_sow_goes_before_what_keeps_some(cast):
    litter = LitterFactory(herd=cast.herd, born=PartialDate(2026, 10, 20), source="paper")
    AnimalFactory.create_batch(3, herd=cast.herd, sex="boar", litter=litter)
    Animal.objects.filter(pk=cast.tansy.pk).update(coat_type="satin")
    found = planned(cast, left_out=("boar-young", "satin"))
    assert resting(found)[cast.tansy.pk] == {"why": "satin"}
    found = planned(cast, left_out=("boar-young",), inbreeding=0.05)
    because = ["boar-young", "inbreeding"]
    assert resting(found)[cast.sorrel.pk] == {"why": "no-boar", "because": because}


def test_too_near_kin_is_told(cast):
    found = planned(cast, inbreeding=0.05)
    # Sorrel is Bramble's daughter and Rook's sister
    assert resting(found)[cast.sorrel.pk] == {"why": "no-boar", "because": ["inbreeding"]}


def test_what_keeps_a_held_pair_out_is_told_with_its_figure(cast):
    pair = (cast.sorrel.pk, cast.bramble.pk)
    (told,) = planned(cast, inbreeding=0.05, held=(pair,))["none"]
    assert told["because"] == ["inbreeding"]
    assert told["inbreeding"] == pytest.approx(0.25)  # sire to daughter, Wright 1922
    (told,) = planned(cast, held=(pair,), forbidden=(pair,), resting=pair[:1])["none"]
    assert told["because"] == ["asked", "forbidden"]
    Animal.objects.filter(pk=cast.sorrel.pk).update(coat_type="satin")
    (told,) = planned(cast, held=(pair,), left_out=("satin",))["none"]
    assert told["because"] == ["satin"]


def young(cast):
    litter = LitterFactory(herd=cast.herd, born=PartialDate(2026, 10, 20), source="paper")
    return of_dose(AnimalFactory(herd=cast.herd, sex="sow", litter=litter), 0)


def test_what_care_costs_is_found_by_solving_again(cast, one_boar):
    one = young(cast)
    care = ("sow-young", "sow-light", "boar-young")
    found = planned(cast, left_out=care)
    assert found["care"] == [
        {
            "codes": ["sow-young"],
            "sows": 1,
            "boars": 0,
            "pairs": 0,
            "gain": pytest.approx(planned(cast)["value"] - found["value"], abs=1e-3),
            "at_most": pytest.approx(found["care"][0]["gain"], abs=1e-2),
        }
    ]
    assert found["care"][0]["gain"] > 1
    assert one.pk not in {sow for sow, _ in pairs(found)}


def test_one_that_stays_out_for_two_reasons_is_not_let_in_by_one(cast, one_boar):
    one = young(cast)
    Animal.objects.filter(pk=one.pk).update(coat_type="satin")
    found = planned(cast, left_out=("sow-young", *SATIN))
    assert [(cost["codes"], cost["gain"]) for cost in found["care"]] == [(["sow-young"], 0)]


def test_words_and_genes_of_one_suffering_are_priced_as_one(cast, one_boar):
    roan = [cast.bramble.pk, *(sow.pk for sow in one_boar)]
    Animal.objects.filter(pk__in=roan).update(coat_type="roan")
    AnimalFactory(herd=cast.herd, sex="boar", bought_as="self", coat="red", coat_type="plain")
    found = planned(cast, left_out=WELFARE)
    (cost,) = found["care"]
    assert cost["codes"] == list(LETHAL)
    assert (cost["sows"], cost["boars"], cost["pairs"]) == (0, 0, 3)
    without = planned(cast, left_out=SATIN)
    assert cost["gain"] == pytest.approx(without["value"] - found["value"], abs=1e-3)
