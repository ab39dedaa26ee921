"""How many one-dose pups come to be shown: the herd's own shares, and what they start from."""

from datetime import date

import pytest

from genetics.figures.refresh import ensure_current
from genetics.matings.litter_size import USUAL_ALIVE
from genetics.matings.showable_rate import (
    GOOD_PRIOR,
    LOST_ALIVE,
    STILLBORN,
    Outlook,
    Share,
    outlook_of,
)
from herdbook.book.models import GivenEvidence
from herdbook.book.partial_date import PartialDate
from tests.benchmarks import season
from tests.factories import AnimalFactory, JudgementFactory, LitterFactory

TODAY = date(2026, 11, 25)


def of_dose(herd, dose, count):
    """So many animals that are known to have this dose."""
    animals = AnimalFactory.create_batch(count, herd=herd)
    for animal in animals:
        share = {f"like{number}": float(number == dose) for number in range(3)}
        GivenEvidence.objects.create(herd=herd, animal=animal, **share)
    return animals


def test_a_herd_that_judged_nobody_starts_from_a_half(cast):
    good = outlook_of(cast.herd, on=TODAY).good
    assert good == Share(0.5, 0, 0)


def test_it_works(cast):
    # seven of ten: a Beta(2, 2) prior makes (7 + 2) / (10 + 4)
    animals = of_dose(cast.herd, 1, 10)
    for place, animal in enumerate(animals):
        JudgementFactory(animal=animal, on=TODAY, verdict="showable" if place < 7 else "pet")
    ensure_current()
    good = outlook_of(cast.herd, on=TODAY).good
    assert (good.count, good.of) == (7, 10)
    assert good.value == pytest.approx(9 / 14)


def test_only_one_dose_counts_and_only_the_latest_judgement(cast, other_herd):
    (marked,) = of_dose(cast.herd, 1, 1)
    for animal in (*of_dose(cast.herd, 0, 1), *of_dose(cast.herd, 2, 1)):
        JudgementFactory(animal=animal, on=TODAY, verdict="pet")
    for animal in of_dose(other_herd[1], 1, 1):
        JudgementFactory(animal=animal, on=TODAY, verdict="pet")
    JudgementFactory(animal=marked, on=date(2026, 10, 1), verdict="showable")
    JudgementFactory(animal=marked, on=date(2026, 9, 1), verdict="pet")
    ensure_current()
    good = outlook_of(cast.herd, on=TODAY).good
    assert (good.count, good.of) == (1, 1)


def test_losses_start_from_what_was_published():
    # 27 per cent of all born, 80 per cent of those stillborn: of 1000, 216 stillborn, 54 of the
    # 784 born alive
    assert pytest.approx(0.216) == STILLBORN
    assert pytest.approx(54 / 784) == LOST_ALIVE


def test_the_plans_benchmark_goes_by_the_same_shares():
    shares = (GOOD_PRIOR, STILLBORN, LOST_ALIVE, USUAL_ALIVE)
    theirs = (season.GOOD, season.STILLBORN, season.LOST_ALIVE, season.USUAL_ALIVE)
    assert shares == pytest.approx(theirs)


def litter(herd, dam, born, alive, dead=0, died=()):
    """A litter at home with so many pups, some of whom died at these ages in days."""
    made = LitterFactory(
        herd=herd,
        dam=dam,
        born=PartialDate.of(born),
        born_alive=alive,
        born_dead=dead,
        source="home",
    )
    for place in range(alive):
        gone = {}
        if place < len(died):
            left = date.fromordinal(born.toordinal() + died[place])
            gone = {"state": "died", "left_on": PartialDate.of(left)}
        AnimalFactory(herd=herd, litter=made, **gone)
    return made


def test_losses_are_the_herds_own_as_they_come_in(cast):
    # with the cast's own two pups: of 22 alive one died by 28 days
    litter(cast.herd, cast.tansy, date(2026, 6, 1), 10, dead=3, died=(28,))
    litter(cast.herd, cast.tansy, date(2026, 1, 1), 10, died=(29,))
    litter(cast.herd, cast.tansy, date(2026, 10, 29), 5, dead=5, died=(1,))  # 27 days old
    outlook = outlook_of(cast.herd, on=TODAY)
    assert (outlook.lost.count, outlook.lost.of) == (1, 22)
    assert outlook.lost.value == pytest.approx((1 + 20 * 54 / 784) / 42)


def test_showable_pups_are_alive_and_good_enough():
    outlook = Outlook(Share(0.6, 6, 10), Share(0.05, 1, 20))
    assert outlook.showable(2) == pytest.approx(2 * 0.6 * 0.95)
