"""The reasons for a dose in one sentence, on families of several kinds."""

import datetime
from dataclasses import replace

import pytest

from genetics.doses.explanation import why
from genetics.figures.refresh import ensure_current
from herdbook.book.models import Animal, Litter
from herdbook.book.partial_date import PartialDate
from herdbook.pages.animals.evidence_words import KinSeen, too_young
from herdbook.pages.animals.reason_clauses import pup_numbers
from herdbook.pages.animals.reasons import bar_of, reason_lines
from herdbook.pages.animals.reasons_summary import summary
from tests.factories import AnimalFactory, LitterFactory, LookFactory

ONE_DAY = datetime.timedelta(days=1)
NINE_WEEKS_BEFORE = datetime.date(2026, 11, 20) - 63 * ONE_DAY


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
        "shows points, although her sire throws half and her dam was bought as clean marked."
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


def test_pups_too_young_to_tell_are_not_counted(cast, today):
    """Wren, put to a boar of whom nothing is known: of her five pups one of nine months shows
    points and another does not; the others are three weeks old."""
    old, new = (
        LitterFactory(herd=cast.herd, dam=cast.wren, boars=[cast.flint], born=born)
        for born in (PartialDate(2026, 2, 5), PartialDate(2026, 10, 30))
    )
    for litter, stage in ((old, "full"), (old, "none"), (new, "none"), (new, "none")):
        pup_of(litter, stage)
    said = sentence(cast.flint)
    assert "1 of his 2 pups old enough to tell shows points" in said


def test_the_words_for_pups_too_young_to_tell(cast, today):
    """Nine weeks are enough; where every pup is younger, none shows points so far."""
    born = [PartialDate.of(day) for day in (NINE_WEEKS_BEFORE, NINE_WEEKS_BEFORE + ONE_DAY)]
    old, young = (
        pup_of(LitterFactory(herd=cast.herd, dam=cast.wren, born=day), "none") for day in born
    )
    assert too_young([old]) == 0
    assert too_young([old, young]) == 1
    assert pup_numbers([old, young]) == (0, 0, 1, {"aged": " old enough to tell", "so_far": ""})
    assert pup_numbers([young]) == (0, 0, 1, {"aged": "", "so_far": " so far"})


def test_pups_that_a_boar_only_may_have_sired_stand_apart(cast, today):
    sure = LitterFactory(
        herd=cast.herd, dam=cast.wren, boars=[cast.bramble], born=PartialDate(2026, 1, 5)
    )
    doubtful = LitterFactory(
        herd=cast.herd,
        dam=cast.wren,
        boars=[cast.bramble, cast.flint],
        born=PartialDate(2025, 9, 5),
    )
    for _one in range(4):
        pup_of(sure, "full")
    for _one in range(3):
        pup_of(doubtful, "none")
    assert "all his 4 pups show points" in sentence(cast.bramble)
    said = sentence(cast.flint)
    assert "none of his 3 pups shows points, if he is the sire" in said
    ensure_current()
    found = why(cast.bramble)
    lines = reason_lines(found, cast.bramble, Litter.objects.all(), kin_of(cast.bramble, found))
    possible = {line.of for line in lines if line.of.endswith(", if he is the sire")}
    assert len(possible) == 1
    assert "5 September 2025" in possible.pop()


def test_an_unmarked_sire_is_no_reason_for_points(cast, today):
    """Rook was seen unmarked at three weeks, but all his other pups show points."""
    checked(cast.rook, "none", on="2026-04-04")
    others = LitterFactory(
        herd=cast.herd, dam=cast.wren, boars=[cast.rook], born=PartialDate(2026, 5, 5)
    )
    for _one in range(6):
        pup_of(others, "overmarked")
    pup = pup_of(
        LitterFactory(
            herd=cast.herd, dam=cast.wren, boars=[cast.rook], born=PartialDate(2026, 11, 1)
        )
    )
    ensure_current()
    pup = Animal.objects.with_parents().get(pk=pup.pk)
    found = why(pup)
    (sire,) = [reason for reason in found.reasons if reason.kind == "sire"]
    assert max(sire.ratios) > sire.ratios[0]
    assert "unmarked" not in kin_of(pup, found).parent(sire, boars=True)
    against = replace(sire, ratios=(1, 0.5, 0.2))
    assert "unmarked at 3 weeks" in kin_of(pup, found).parent(against, boars=True)


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
