"""What speaks against a mating, and what does not."""

from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal

import pytest

from herdbook.book.models import Animal, CandidateSire, Limits
from herdbook.book.partial_date import PartialDate
from herdbook.book.rules.mating_cautions import Doubted, Lightest, TimeTogether
from herdbook.book.rules.matings import mating_cautions, with_mating_records
from tests.factories import AnimalFactory, LitterFactory, WeighingFactory

AUTUMN = date(2026, 11, 25)


def cautions(sow, boar, first=AUTUMN, days=17, inbreeding=0.0, limits=None, **reckoned):
    """What is found, by code, with the animals as a page reads them."""
    rows = {row.pk: row for row in with_mating_records(Animal.objects.all())}
    together = TimeTogether(first, first + timedelta(days=days))
    limits = limits or Limits.of(sow.herd)
    found = mating_cautions(
        rows[sow.pk], rows[boar.pk], together, limits, inbreeding=inbreeding, **reckoned
    )
    assert all(caution.short and caution.about in ("sow", "boar", "pair") for caution in found)
    return {caution.code.split(":")[0]: caution for caution in found}


def animal(cast, sex, days_old, **values):
    """An animal so many days old on the day the boar goes in."""
    born = PartialDate.of(AUTUMN - timedelta(days=days_old))
    litter = LitterFactory(herd=cast.herd, born=born, source="paper")
    return AnimalFactory(herd=cast.herd, sex=sex, litter=litter, **values)


@pytest.fixture
def boar(cast):
    return animal(cast, "boar", 400)


@pytest.fixture
def sow(cast):
    """Four months old, of a good weight."""
    sow = animal(cast, "sow", 122)
    WeighingFactory(animal=sow, on=AUTUMN, weight_g=720)
    return sow


def test_nothing_speaks_against_it(sow, boar):
    assert cautions(sow, boar) == {}


def test_it_works(sow, boar):
    WeighingFactory(animal=sow, on=AUTUMN, weight_g=430)
    found = cautions(sow, boar)
    assert list(found) == ["sow-light"]
    assert "430 g" in found["sow-light"].message
    assert "350 to 450 g" in found["sow-light"].sources
    assert found["sow-light"].decides == "A vet decides."


def test_a_litter_is_due_from_59_days_after_the_first_to_73_after_the_last():
    together = TimeTogether(date(2026, 1, 1), date(2026, 1, 18))
    assert together.due == (date(2026, 3, 1), date(2026, 4, 1))


@pytest.mark.parametrize(("days_old", "is_said"), [(90, True), (91, False)])
def test_a_young_sow(cast, boar, days_old, is_said):
    sow = animal(cast, "sow", days_old)
    assert ("sow-young" in cautions(sow, boar)) == is_said


@pytest.mark.parametrize(("days_old", "is_said"), [(183 - 17, False), (184 - 17, True)])
def test_a_first_litter_is_counted_from_the_last_day_together(cast, boar, days_old, is_said):
    sow = animal(cast, "sow", days_old)
    assert ("sow-late-first-litter" in cautions(sow, boar)) == is_said


def test_a_sow_that_has_littered_may_be_older(cast, boar):
    LitterFactory(herd=cast.herd, dam=cast.tansy, born=PartialDate(2026, 1, 3), source="home")
    assert cautions(cast.tansy, boar) == {}


def test_a_sow_of_unknown_age_without_a_litter(cast, boar):
    sow = AnimalFactory(
        herd=cast.herd, sex="sow", litter=LitterFactory(herd=cast.herd, born=None, source="paper")
    )
    assert list(cautions(sow, boar)) == ["sow-age-unknown"]


def test_a_young_sow_that_was_never_weighed(cast, boar):
    assert list(cautions(animal(cast, "sow", 122), boar)) == ["sow-not-weighed"]


@pytest.mark.parametrize(("days", "is_said"), [(59, True), (60, False)])
def test_a_sow_rests(cast, sow, boar, days, is_said):
    born = PartialDate.of(AUTUMN - timedelta(days=days))
    LitterFactory(herd=cast.herd, dam=sow, born=born, source="home")
    assert ("sow-lately-littered" in cautions(sow, boar)) == is_said


@pytest.mark.parametrize(
    ("first", "is_said"),
    # due from 30 June on; from 1 September on; to 30 June; to 2 July
    [
        (date(2026, 5, 2), True),
        (date(2026, 7, 4), False),
        (date(2026, 4, 1), False),
        (date(2026, 4, 3), True),
    ],
)
def test_the_hottest_weeks(cast, boar, first, is_said):
    LitterFactory(herd=cast.herd, dam=cast.wren, born=PartialDate(2025, 12), source="home")
    assert ("due-in-heat" in cautions(cast.wren, boar, first)) == is_said


@pytest.mark.parametrize(("days_old", "is_said"), [(90, True), (91, False)])
def test_a_boar_under_age(cast, sow, days_old, is_said):
    assert ("boar-young" in cautions(sow, animal(cast, "boar", days_old))) == is_said


def test_a_boar_of_unknown_age_without_a_litter(cast, sow):
    unknown = LitterFactory(herd=cast.herd, born=None, source="paper")
    boar = AnimalFactory(herd=cast.herd, sex="boar", litter=unknown)
    found = cautions(sow, boar)
    assert list(found) == ["boar-age-unknown"]
    assert "3 to 4 months" in found["boar-age-unknown"].sources
    LitterFactory(herd=cast.herd, boars=[boar])
    assert cautions(sow, boar) == {}


def test_cautions_of_a_boar_say_why(cast, sow):
    boar = animal(cast, "boar", 60)
    WeighingFactory(animal=boar, on=AUTUMN, weight_g=500)
    found = cautions(sow, boar)
    assert "may not get her in pig" in found["boar-young"].message
    assert "not fully grown, or not well" in found["boar-light"].message


@pytest.mark.parametrize(("days", "is_said"), [(58, False), (59, True)])
def test_a_boar_that_stays_until_she_may_litter(cast, boar, days, is_said):
    LitterFactory(herd=cast.herd, dam=cast.wren, born=PartialDate(2025, 12), source="home")
    found = cautions(cast.wren, boar, days=days)
    assert list(found) == ["boar-stays-on"] * is_said
    if is_said:
        assert "until 23 January 2027, and she may litter from 23 January 2027." in (
            found["boar-stays-on"].message
        )
        assert found["boar-stays-on"].decides == "A vet decides."


def test_roan_to_roan(cast, sow, boar):
    Animal.objects.filter(pk=sow.pk).update(remarks="A Roan, strongly ticked.")
    found = cautions(sow, boar)
    assert list(found) == ["roan"]
    assert "hidden under white" in found["roan"].message
    Animal.objects.filter(pk=boar.pk).update(type_notes="dalmatian")
    assert list(cautions(sow, boar)) == ["roan-to-roan"]


def test_a_word_within_a_word_is_no_roan(sow, boar):
    Animal.objects.filter(pk=sow.pk).update(remarks="From Groanby; satinwood pen.")
    assert cautions(sow, boar) == {}


def test_satin(sow, boar):
    Animal.objects.filter(pk=boar.pk).update(remarks="by a satin")
    found = cautions(sow, boar)
    assert list(found) == ["satin"]
    assert boar.full_name in found["satin"].message


@pytest.mark.parametrize(
    ("inbreeding", "code"), [(0.1249, None), (0.125, "close-kin"), (0.25, "closest-kin")]
)
def test_the_inbreeding_of_the_litter(sow, boar, inbreeding, code):
    assert list(cautions(sow, boar, inbreeding=inbreeding)) == ([code] if code else [])


def test_near_kin_is_named(cast):
    half = LitterFactory(herd=cast.herd, dam=cast.tansy, boars=[cast.bramble])
    half_sister = AnimalFactory(herd=cast.herd, sex="sow", litter=half)
    again = LitterFactory(herd=cast.herd, dam=cast.wren, boars=[cast.bramble])
    sister = AnimalFactory(herd=cast.herd, sex="sow", litter=again)
    for sow, boar, words in (
        (cast.sorrel, cast.bramble, "Thornmoor Bramble is her sire."),
        (cast.wren, cast.rook, "Thornmoor Wren is his dam."),
        (cast.sorrel, cast.rook, "litter brother and sister"),
        (sister, cast.rook, "full brother and sister"),
        (half_sister, cast.rook, "half brother and sister"),
    ):
        assert words in cautions(sow, boar, inbreeding=None)["close-kin"].message
    assert "close-kin" not in cautions(cast.tansy, cast.rook, inbreeding=None)


def test_half_kin_is_as_sure_as_its_parents(cast):
    """Rook is Bramble's out of Wren: of one dam they are half kin whichever boar it was."""
    other = AnimalFactory(herd=cast.herd, sex="boar")
    for dam, boars, words in (
        (cast.wren, [cast.bramble, cast.flint], "They are half brother and sister, or full."),
        (cast.wren, [cast.flint, other], "They are half brother and sister."),
        (cast.tansy, [cast.bramble, cast.flint], "They may be half brother and sister."),
    ):
        litter = LitterFactory(herd=cast.herd, dam=dam, boars=boars)
        sister = AnimalFactory(herd=cast.herd, sex="sow", litter=litter)
        assert words in cautions(sister, cast.rook, inbreeding=None)["close-kin"].message


def test_papers_in_doubt(cast, sow):
    litter = cast.march_litter
    CandidateSire.objects.create(herd=cast.herd, litter=litter, boar=cast.flint)
    Animal.objects.filter(pk=cast.rook.pk).update(sureness="unsure")
    found = cautions(sow, cast.rook)
    assert list(found) == ["papers-in-doubt"]
    assert "has 2 possible sires" in found["papers-in-doubt"].message
    assert "not certain which animal" in found["papers-in-doubt"].message
    assert "may be her sire" in cautions(cast.sorrel, cast.flint)["close-kin"].message


def test_one_that_is_not_here(sow, boar):
    Animal.objects.filter(pk=boar.pk).update(state="sold")
    assert "sold" in cautions(sow, boar)["not-here"].message


@pytest.mark.parametrize(
    ("name", "value", "code"),
    [
        ("sow_mated_from_days", 130, "sow-young"),
        ("sow_mated_from_g", 721, "sow-light"),
        ("first_conception_latest_days", 122 + 16, "sow-late-first-litter"),
        ("boar_mated_from_days", 401, "boar-young"),
    ],
)
def test_the_limits_are_those_of_the_herd(cast, sow, boar, name, value, code):
    limits = Limits(herd=cast.herd, **{name: value})
    found = cautions(sow, boar, limits=limits)
    assert list(found) == [code]
    assert f"{value} " in found[code].sources


def test_the_rest_after_a_litter_is_the_herds_own(cast, sow, boar):
    born = PartialDate.of(AUTUMN - timedelta(days=70))
    LitterFactory(herd=cast.herd, dam=sow, born=born, source="home")
    assert cautions(sow, boar) == {}
    limits = Limits(herd=cast.herd, sow_rests_days=71)
    assert list(cautions(sow, boar, limits=limits)) == ["sow-lately-littered"]


def test_south_of_the_equator_the_hottest_months_are_others(cast, sow, boar):
    # due from 23 January to 23 February
    south = Limits(herd=cast.herd, hottest_from=12, hottest_to=2)
    assert south.hottest_months == {12, 1, 2}
    found = cautions(sow, boar, limits=south)["due-in-heat"]
    assert "January and February" in found.message


def test_the_lines_of_inbreeding_are_the_herds_own(cast, sow, boar):
    limits = Limits(herd=cast.herd, inbreeding_deliberate=Decimal(5))
    found = cautions(sow, boar, inbreeding=0.06, limits=limits)
    assert list(found) == ["close-kin"]
    assert "5% and 25%" in found["close-kin"].sources


def test_a_light_boar(sow, boar):
    WeighingFactory(animal=boar, on=AUTUMN, weight_g=599)
    assert "599 g" in cautions(sow, boar)["boar-light"].message
    WeighingFactory(animal=boar, on=AUTUMN, weight_g=600)
    assert cautions(sow, boar) == {}


def test_a_sow_light_for_her_age_in_this_herd(sow, boar):
    lightest = Lightest(grams=730.4, usual_g=840, weighings=61, sows=20)
    found = cautions(sow, boar, lightest=lightest)
    assert list(found) == ["sow-light-for-age"]
    assert "720 g" in found["sow-light-for-age"].message
    assert "61 weighings of 20 sows" in found["sow-light-for-age"].sources
    assert cautions(sow, boar, lightest=replace(lightest, grams=720)) == {}


def test_the_published_weight_is_a_floor_whatever_the_herd_weighs(sow, boar):
    WeighingFactory(animal=sow, on=AUTUMN, weight_g=440)
    light_herd = Lightest(grams=300, usual_g=350, weighings=61, sows=20)
    assert list(cautions(sow, boar, lightest=light_herd)) == ["sow-light"]


def test_papers_that_other_records_speak_against(sow, boar):
    found = cautions(sow, boar, doubted={boar.pk: Doubted(sire=0.314), sow.pk: Doubted(look=0.2)})
    assert list(found) == ["papers-in-doubt"]
    every = mating_doubts(sow, boar)
    assert "31% likely that another boar" in every[boar.pk]
    assert "20% likely misread" in every[sow.pk]


def mating_doubts(sow, boar):
    """What is said of the papers of each, by key."""
    together = TimeTogether(AUTUMN, AUTUMN)
    doubted = {boar.pk: Doubted(sire=0.314), sow.pk: Doubted(look=0.2)}
    found = mating_cautions(
        sow, boar, together, Limits.of(sow.herd), inbreeding=0.0, doubted=doubted
    )
    return {int(one.code.split(":")[1]): one.message for one in found if "papers" in one.code}
