"""Counts of pups without names, and pups taken for each other, as the book's figures see them."""

import datetime

import numpy as np
import pytest

from genetics.core.pedigree.group_records import MIX_UPS
from genetics.core.penetrance.likelihood import MIXED_UP
from genetics.core.posterior.dose import dose_posterior
from genetics.doses.explanation import why
from genetics.doses.progeny_test import weeks_of
from genetics.figures.refresh import ERRORS, compute_figures, ensure_current
from genetics.models import Figure
from genetics.record_errors import screening
from genetics.snapshot.reading import counts_left_out, read_book
from herdbook.book.models import Animal, GivenEvidence, Litter, LitterCount
from herdbook.book.models.litter_count import CountedPup
from tests.factories import AnimalFactory, LookFactory

BORN = datetime.date(2026, 3, 14)


def days_old(days):
    return BORN + datetime.timedelta(days=days)


def chances(animal):
    return Figure.objects.get(animal=animal).chances


def counted(litter, *pups, days=49, nameless=0, **stages):
    row = LitterCount.objects.create(
        herd=litter.herd, litter=litter, on=days_old(days), nameless=nameless, **stages
    )
    for pup in pups:
        CountedPup.objects.create(herd=litter.herd, count=row, animal=pup)
    return row


@pytest.fixture
def brother(cast):
    """A brother of Rook's, of his colour, and like him not told apart yet."""
    return AnimalFactory(herd=cast.herd, litter=cast.march_litter, name="Teasel", sex="boar")


def unsettled(cast):
    """Nothing said of the parents, so that the pups' points speak."""
    Animal.objects.filter(pk__in=[cast.bramble.pk, cast.wren.pk]).update(bought_as="")


def test_it_works(cast, brother):
    unsettled(cast)
    ensure_current()
    before = {one.name: chances(one) for one in (cast.bramble, cast.rook, brother)}
    counted(cast.march_litter, cast.rook, cast.sorrel, brother, days=150, none=1, full=2)
    compute_figures()
    assert chances(cast.rook) == pytest.approx(chances(brother), abs=1e-12)
    assert chances(cast.rook)[1] > before["Rook"][1]
    assert chances(cast.bramble)[0] < before["Bramble"][0]
    LookFactory(animal=brother, on=days_old(160), stage="none")
    compute_figures()
    # now it is known who was the one with none
    assert chances(brother)[0] > 0.9
    assert chances(cast.rook)[0] < 0.1


def test_two_pups_sold_without_a_line_speak_of_their_parents(cast):
    unsettled(cast)
    ensure_current()
    before = chances(cast.wren)
    counted(cast.march_litter, nameless=2, days=150, none=2)
    compute_figures()
    assert chances(cast.wren)[0] > before[0]


def test_a_litter_of_which_no_pup_has_a_line_speaks_too(cast):
    unsettled(cast)
    ensure_current()
    before = chances(cast.tansy)
    litter = Litter.objects.create(
        herd=cast.herd, dam=cast.tansy, born=cast.march_litter.born, born_alive=4, source="home"
    )
    counted(litter, nameless=4, days=150, overmarked=4)
    compute_figures()
    assert chances(cast.tansy)[2] > before[2]
    assert not screening.weigh(cast.herd).faults


def test_reasons_name_the_count(cast, brother):
    unsettled(cast)
    counted(cast.march_litter, cast.rook, brother, days=150, full=1, none=1)
    compute_figures()
    kinds = {reason.kind: reason for reason in why(cast.rook).reasons}
    assert kinds["count"].counts == 1
    assert kinds["count"].litter_key == cast.march_litter.pk
    of_the_sire = {reason.kind: reason for reason in why(cast.bramble).reasons}
    assert (of_the_sire["litter"].counts, of_the_sire["litter"].animals) == (1, ())


def test_counts_that_are_too_many_leave_out_the_oldest(cast):
    pups = [
        AnimalFactory(herd=cast.herd, litter=cast.march_litter, name=f"Pup {n}") for n in range(6)
    ]
    everyone = [cast.rook, cast.sorrel, *pups]
    for days in (40, 44, 48, 52):
        counted(cast.march_litter, *everyone, days=days, none=2, coming=2, full=2, overmarked=2)
    assert counts_left_out(cast.march_litter) == 3
    assert read_book().assumed.litters[0].tally.totals == (2, 2, 2, 2)


def pairs(cast):
    reading = read_book()
    litter = next(one for one in reading.assumed.litters if len(one.pups) > 1)
    return {
        tuple(sorted(reading.keys[row] for row in one[:2])): one.chance for one in litter.mix_ups
    }


def test_pups_of_one_sex_and_colour_that_are_not_told_apart_may_be_mixed_up(cast, brother):
    assert pairs(cast) == {(cast.rook.pk, brother.pk): MIX_UPS["not yet"]}


@pytest.mark.parametrize(
    ("told", "chance"),
    [
        ({"told_apart": "markings"}, MIX_UPS["signs"]),
        ({"told_apart": "tag"}, None),
        ({"tag": "L7"}, None),
        ({"coat": "red"}, None),
        ({"sex": "sow", "coat": "red"}, None),
        ({"sex": ""}, MIX_UPS["not yet"] / 2),  # it may be Sorrel as well
        ({"sureness": "unsure"}, MIX_UPS["not yet"]),  # Rook's own sign is the surer one
    ],
)
def test_how_surely_they_are_told_apart_counts(cast, brother, told, chance):
    Animal.objects.filter(pk=brother.pk).update(**told)
    assert pairs(cast).get((cast.rook.pk, brother.pk)) == chance


def test_a_grown_animal_is_known(cast, brother):
    LookFactory(animal=cast.rook, on=days_old(200), stage="full")
    assert pairs(cast) == {(cast.rook.pk, brother.pk): MIX_UPS["signs"]}


def test_evidence_that_came_with_a_pup_stays_its_own(cast, brother):
    GivenEvidence.objects.create(herd=cast.herd, animal=brother, like0=0.0, like1=1.0, like2=0.0)
    assert pairs(cast) == {}
    ensure_current()
    assert chances(brother) == pytest.approx((0, 1, 0), abs=1e-12)


@pytest.mark.parametrize("of_the_brother", ["full", "none"])
def test_a_pup_not_told_from_its_littermate_may_be_another_animal_altogether_too(
    cast, brother, of_the_brother
):
    unsettled(cast)
    for days in range(170, 230, 10):
        LookFactory(animal=cast.rook, on=days_old(days), stage="full", warmth="mild")
        LookFactory(animal=brother, on=days_old(days), stage=of_the_brother, warmth="mild")
    surest = {}
    for told in ({"tag": "L7", "sureness": "sure"}, {"tag": "", "sureness": "unsure"}):
        Animal.objects.filter(pk__in=[cast.rook.pk, brother.pk]).update(**told)
        compute_figures()
        surest[told["sureness"]] = max(chances(cast.rook))
    before = computed_without_looks_of(cast.rook)
    floor = (MIXED_UP / 3) * (before[0] + before[2]) / before[1]
    assert 1 - surest["unsure"] > 0.99 * floor
    assert surest["unsure"] <= surest["sure"] + 1e-12
    (own,) = (reason for reason in why(cast.rook).reasons if reason.kind == "own")
    assert min(own.ratios) > 0.99 * MIXED_UP / 3


def computed_without_looks_of(animal):
    """What all other records say of an animal."""
    reading = read_book()
    rows = reading.likelihood.copy()
    rows[reading.place[animal.pk]] = 1
    told = {"frequency": reading.parameters.frequency, "errors": ERRORS}
    dose = dose_posterior(reading.assumed, rows, founder_prior=reading.founder_prior, **told)
    return dose.chances[reading.place[animal.pk]]


@pytest.mark.parametrize("of_the_brother", [None, "none", "coming"])
def test_waiting_for_a_pup_that_may_be_its_brother_starts_from_its_figure_and_leads_to_the_next(
    cast, brother, of_the_brother
):
    Animal.objects.filter(pk__in=[cast.rook.pk, brother.pk]).update(sureness="unsure")
    unsettled(cast)
    LookFactory(animal=cast.rook, on=days_old(40), stage="none", warmth="mild")
    if of_the_brother:
        LookFactory(animal=brother, on=days_old(40), stage=of_the_brother, warmth="mild")
    compute_figures()
    weeks = weeks_of(cast.rook, days_old(40))
    assert weeks.chances[0] == pytest.approx(chances(cast.rook), abs=1e-9)
    LookFactory(animal=cast.rook, on=days_old(47), stage="none", warmth="")
    compute_figures()
    assert weeks.chances[1] == pytest.approx(chances(cast.rook), abs=1e-9)


def test_pups_that_were_taken_for_each_other_are_doubted_and_the_book_is_not_impossible(
    cast, brother
):
    Animal.objects.filter(pk__in=[cast.rook.pk, brother.pk]).update(sureness="unsure")
    # by his young Rook is a self and his brother is none; what was seen of them says otherwise
    for animal, stage in ((cast.rook, "overmarked"), (brother, "none")):
        for days in (170, 190, 210):
            LookFactory(animal=animal, on=days_old(days), stage=stage, warmth="mild")
    for animal, like in ((cast.rook, (1, 0, 0)), (brother, (0, 1, 1))):
        litter = Litter.objects.create(herd=cast.herd, source="home")
        litter.sires.create(herd=cast.herd, boar=animal)
        for _ in range(4):
            pup = AnimalFactory(herd=cast.herd, litter=litter)
            told = dict(zip(("like0", "like1", "like2"), like, strict=True))
            GivenEvidence.objects.create(herd=cast.herd, animal=pup, **told)
    ensure_current()
    found = screening.weigh(cast.herd)
    assert not found.contradicting
    (doubt,) = found.mix_ups
    assert {doubt.first, doubt.second} == {cast.rook, brother}
    assert doubt.chance > 0.5
    plain = screening.from_plain(screening.as_plain(found))
    assert plain.mix_ups == found.mix_ups
    assert np.isfinite(chances(cast.rook)).all()
