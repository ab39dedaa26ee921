"""The reasons for a dose in one sentence, on families of several kinds."""

from dataclasses import replace

import pytest

from genetics.doses.explanation import why
from genetics.figures.refresh import ensure_current
from herdbook.book.models import Animal
from herdbook.book.partial_date import PartialDate
from herdbook.pages.animals.evidence_words import KinSeen
from herdbook.pages.animals.reasons import bar_of
from herdbook.pages.animals.reasons_summary import summary
from tests.factories import AnimalFactory, LitterFactory, LookFactory


def sentence(animal, user=None):
    ensure_current()
    animal = Animal.objects.with_parents().get(pk=animal.pk)
    found = why(animal)
    return summary(found, animal, kin_of(animal, found, user))


def kin_of(animal, found, user=None):
    animals = Animal.objects.for_user(user) if user else Animal.objects.all()
    return KinSeen(animal, found, animals)


def checked(animal, stage, on="2026-11-20"):
    LookFactory(animal=animal, on=on, stage=stage)
    return animal


@pytest.fixture
def litter(cast, today):
    """Tansy's litter of ten weeks ago by Rook, whose dose is proved by his own points."""
    checked(cast.rook, "full")
    return LitterFactory(
        herd=cast.herd, dam=cast.tansy, boars=[cast.rook], born=PartialDate(2026, 9, 11)
    )


def pup_of(litter, stage=None, sex="sow"):
    pup = AnimalFactory(herd=litter.herd, litter=litter, sex=sex)
    return checked(pup, stage) if stage else pup


def test_an_uncertain_pup_has_its_parents_littermates_and_own_points(litter):
    pup = pup_of(litter, "none")
    pup_of(litter, "coming")
    said = sentence(pup)
    assert said == (
        "Probably self (no dose): she shows no points at 10 weeks, although both her parents throw "
        "half and a littermate shows points."
    )


def test_what_speaks_against_it_stands_behind_although(litter):
    pup = pup_of(litter, "none")
    for _one in range(3):
        pup_of(litter, "none")
    said = sentence(pup)
    assert said == (
        "Probably self (no dose): she shows no points at 10 weeks and none of her 3 littermates "
        "shows points, although her sire throws half and her dam was bought as marked."
    )


def test_a_proved_animal_needs_its_own_points_alone(cast, today):
    checked(cast.rook, "full")
    said = sentence(cast.rook)
    assert said.startswith(
        "Almost certainly clean marked (one dose): he has full points at 8 months"
    )
    assert "although" not in said


def test_its_purchase_is_a_reason(cast, today):
    assert sentence(cast.bramble) == (
        "Very probably overmarked (two doses): he was bought as overmarked."
    )


def test_its_pups_are_counted(cast, today):
    born = PartialDate(2026, 1, 5)
    litter = LitterFactory(herd=cast.herd, dam=cast.wren, boars=[cast.bramble], born=born)
    for stage in ("full", "full", "full", "full"):
        pup_of(litter, stage)
    assert "all his 4 pups show points" in sentence(cast.bramble)


def test_where_nothing_counts_the_most_common_dose_is_named(cast, today):
    assert (
        sentence(cast.flint) == "More likely self (no dose) than not: it is the most common dose."
    )


def test_records_that_contradict_each_other_are_both_given(cast, today):
    """An overmarked son of a self: one of the records is likely wrong."""
    checked(cast.rook, "overmarked")
    said = sentence(cast.rook)
    assert "he is overmarked at 8 months" in said
    assert "although his dam" in said


def test_several_possible_sires_are_one_reason(cast, litter):
    other = AnimalFactory(herd=cast.herd, name="Bosun", sex="boar", bought_as="marked")
    born = PartialDate(2026, 10, 1)
    doubtful = LitterFactory(herd=cast.herd, dam=cast.wren, boars=[cast.rook, other], born=born)
    said = sentence(pup_of(doubtful, sex="boar"))
    assert "that may be his sire" in said


def test_an_animal_of_unknown_sex_is_it(litter):
    assert "it shows no points at 10 weeks" in sentence(pup_of(litter, "none", sex=""))


def test_a_reason_from_another_herd_names_nobody(cast, other_herd, litter):
    """Seen by a breeder of another herd, Rook's family is no more than a family."""
    pup = pup_of(litter, "none")
    user, _herd = other_herd
    ensure_current()
    animal = Animal.objects.with_parents().get(pk=pup.pk)
    found = why(animal)
    kin = kin_of(animal, found, user)
    kin.seen[animal.pk] = animal
    assert "throws" not in summary(found, animal, kin)


@pytest.mark.parametrize(
    ("chances", "verdict"),
    [
        ((0, 1, 0), "Certainly clean marked (one dose)"),
        ((0.001, 0.998, 0.001), "Almost certainly clean marked"),
        ((0.05, 0.93, 0.02), "Very probably clean marked"),
        ((0.2, 0.7, 0.1), "Probably clean marked"),
        ((0.4, 0.55, 0.05), "More likely clean marked (one dose) than not"),
        ((0.4, 0.45, 0.15), "Not certain, most likely clean marked (one dose), 45%"),
    ],
)
def test_the_verdict_follows_the_chance(cast, today, chances, verdict):
    checked(cast.rook, "full")
    ensure_current()
    animal = Animal.objects.with_parents().get(pk=cast.rook.pk)
    found = replace(why(animal), posterior=chances)
    assert summary(found, animal, kin_of(animal, found)).startswith(verdict)


@pytest.mark.parametrize(
    ("factor", "ratios", "words"),
    [
        (1.05, (1, 1, 1), "hardly counts"),
        (2, (0.5, 1, 0.5), "slightly for clean marked"),
        (2, (0.5, 0.9, 1), "slightly for clean marked or overmarked"),
        (10, (0.1, 1, 0.1), "clearly for clean marked"),
        (100, (0.01, 1, 0.1), "strongly for clean marked"),
        (500, (0.001, 1, 0.1), "very strongly for clean marked"),
        (0.1, (1, 0.1, 0.01), "clearly against clean marked, for self"),
        (0.1, (1, 0.1, 1), "clearly against clean marked, for self or overmarked"),
        (0.0, (1, 0, 1), "very strongly against clean marked, for self or overmarked"),
    ],
)
def test_a_bar_says_how_strongly_and_to_which_dose(factor, ratios, words):
    bar = bar_of(factor, 1, ratios)
    assert bar.words == words
    assert bar.favours == (factor > 1)
    assert bar.start >= 0
    assert bar.start + bar.wide <= 100
    assert bar.start + (0 if bar.favours else bar.wide) == pytest.approx(50)


def test_a_stronger_reason_has_a_longer_bar():
    wides = [bar_of(factor, 1).wide for factor in (1.5, 5, 50, 1000, 1e9)]
    assert wides == sorted(wides)
    assert wides[-2:] == [50, 50]
    assert bar_of(0.2, 1).wide == bar_of(5, 1).wide
