"""Possible sires are weighed by their share in the figures wherever kinship is worked out.

       G = H           G and H: parents of two brothers, Alder and Merle
       |   |
     Alder Merle
    D = Alder, or Bryony's boar Birch
    |
    Poppy = Merle?

Where Alder is the sire, Merle is Poppy's uncle: their kinship is 1/8 (Wright 1922); else none.
"""

from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from functools import cache
from itertools import product

import numpy as np
import pytest

from genetics.figures import refresh
from genetics.figures.refresh import ERRORS, ensure_current, standing_shares
from genetics.herd import projection
from genetics.herd.founders import lines_of
from genetics.matings.lookup import look_up, pair_all
from genetics.matings.ranking import prospects
from genetics.models import Figure, SireShare
from genetics.season.candidates import stock_of
from genetics.season.request import Wishes
from genetics.snapshot.parameters import FREQUENCY
from genetics.snapshot.reading import read_book
from genetics.snapshot.sire_weights import weigh
from herdbook.book.models import (
    Animal,
    Book,
    GivenEvidence,
    Herd,
    Limits,
    Litter,
    LitterCount,
)
from herdbook.book.partial_date import PartialDate
from herdbook.book.rules.mating_cautions import TimeTogether
from herdbook.book.rules.matings import mating_cautions, with_mating_records
from tests.conftest import TODAY
from tests.factories import AnimalFactory, HerdFactory, LitterFactory

UNCLE = 1 / 8
TOGETHER = TimeTogether(TODAY, TODAY + timedelta(days=17))


@pytest.fixture(autouse=True)
def _day(today):
    """It is the day of the cast."""


@dataclass(frozen=True)
class Family:
    herd: Herd
    dam: Animal
    alder: Animal
    merle: Animal
    birch: Animal
    litter: Litter
    poppy: Animal

    def brothers_dose(self, *, alder: int, birch: int) -> None:
        """Poppy has one dose and her dam none, so a sire without one is out of the question."""
        for animal, dose in ((self.dam, 0), (self.alder, alder), (self.birch, birch)):
            given(animal, dose)
        given(self.poppy, 1)
        ensure_current()


def given(animal, dose):
    share = {f"like{number}": float(number == dose) for number in range(3)}
    GivenEvidence.objects.create(herd=animal.herd, animal=animal, **share)


def colourless(herd, sex, **values):
    """Colours speak for one boar or another, too; here nothing is written of them."""
    return AnimalFactory(herd=herd, sex=sex, coat="", **values)


def bred(herd, sire, dam, sex, **values):
    born = values.pop("born", PartialDate(2026, 3, 1))
    litter = LitterFactory(herd=herd, dam=dam, boars=sire, source="paper", born=born)
    return colourless(herd, sex, litter=litter, **values)


@pytest.fixture
def family(db):
    herd = HerdFactory()
    g, birch = (colourless(herd, "boar") for _ in range(2))
    h, dam = (colourless(herd, "sow") for _ in range(2))
    alder = bred(herd, [g], h, "boar", name="Alder")
    merle = bred(herd, [g], h, "boar", name="Merle")
    poppy = bred(herd, [alder, birch], dam, "sow", name="Poppy")
    return Family(herd, dam, alder, merle, birch, poppy.litter, poppy)


def share_of_alder():
    """By hand: of both boars, written alike, and another one; only Alder, of two doses, and the
    other one, with the chance of the points allele among founders, can give Poppy hers."""
    written, another = (1 - ERRORS) / 2, ERRORS * FREQUENCY
    return written / (written + another)


def test_it_works(family):
    assert look_up(family.poppy, family.merle).mating.inbreeding == pytest.approx(UNCLE / 2)
    family.brothers_dose(alder=2, birch=0)
    found = look_up(family.poppy, family.merle)
    assert found.mating.inbreeding == pytest.approx(share_of_alder() * UNCLE)
    assert found.inbreeding_as_written == pytest.approx(UNCLE / 2)
    assert found.by_records


def test_records_against_him_take_the_kinship_away(family):
    family.brothers_dose(alder=0, birch=2)
    found = look_up(family.poppy, family.merle)
    assert found.mating.inbreeding == 0
    assert found.ways == ()
    assert found.inbreeding_as_written == pytest.approx(UNCLE / 2)


def test_paths_add_up_to_the_coefficient(family):
    family.brothers_dose(alder=2, birch=0)
    found = look_up(family.poppy, family.merle)
    assert sum(way.adds for way in found.ways) == pytest.approx(found.mating.inbreeding, abs=1e-12)
    assert [way.chance for way in found.ways] == pytest.approx([share_of_alder()] * 2)


def test_every_list_of_pairs_says_the_same(family):
    family.brothers_dose(alder=2, birch=0)
    expected = share_of_alder() * UNCLE
    assert pair_all([family.poppy], [family.merle]).rows[0][0].inbreeding == pytest.approx(expected)
    rows = {row.pk: row for row in with_mating_records(Animal.objects.all())}
    ranked = prospects(
        family.herd,
        [rows[family.poppy.pk]],
        [rows[family.merle.pk]],
        TOGETHER,
        Limits.of(family.herd),
        on=TODAY,
    )
    assert ranked.rows[0][0].mating.inbreeding == pytest.approx(expected)
    start = date(2026, 12, 1)
    wishes = Wishes(start, start + timedelta(days=17), pens=10, sows_a_boar=4, left_out=())
    stock = stock_of(family.herd, wishes)
    at = stock.sows.index(family.poppy), stock.boars.index(family.merle)
    assert stock.inbreeding[at] == pytest.approx(expected)
    boars = len(stock.boars)
    assert stock.kinship[boars + at[0], at[1]] == pytest.approx(expected)


@pytest.mark.parametrize(("alder", "birch", "warned"), [(2, 0, True), (0, 2, False)])
def test_the_herds_limit_is_asked_of_what_the_records_say(family, alder, birch, warned):
    """A limit of 10%, between what is written, 6.25%, and what is all but sure, 12.4%."""
    limits = Limits(herd=family.herd, inbreeding_deliberate=Decimal(10))
    rows = {row.pk: row for row in with_mating_records(Animal.objects.all())}
    pair = rows[family.poppy.pk], rows[family.merle.pk]

    def codes():
        inbreeding = look_up(*pair).mating.inbreeding
        found = mating_cautions(*pair, TOGETHER, limits, inbreeding=inbreeding)
        return [caution.code for caution in found]

    assert "close-kin" not in codes()
    family.brothers_dose(alder=alder, birch=birch)
    assert ("close-kin" in codes()) == warned


def test_figures_of_a_former_revision_have_no_say(family):
    family.brothers_dose(alder=2, birch=0)
    Book.objects.update_or_create(pk=1, defaults={"revision": 7})
    found = look_up(family.poppy, family.merle)
    assert found.mating.inbreeding == pytest.approx(UNCLE / 2)
    assert (found.inbreeding_as_written, found.by_records) == (None, False)
    ensure_current()
    found = look_up(family.poppy, family.merle)
    assert found.mating.inbreeding == pytest.approx(share_of_alder() * UNCLE)


def test_figures_made_by_other_means_have_no_say(family, monkeypatch):
    family.brothers_dose(alder=2, birch=0)
    monkeypatch.setattr(refresh, "engine_mark", lambda: "another")
    assert standing_shares(read_book()) == {}


def test_an_animals_own_figure_is_the_same_sort_of_statement(family):
    """A pup of Poppy and Merle has the coefficient that the pair was looked up with."""
    pup = bred(family.herd, [family.merle], family.poppy, "sow", born=PartialDate(2026, 10, 1))
    family.brothers_dose(alder=2, birch=0)
    figure = Figure.objects.get(pk=pup.pk)
    assert figure.inbreeding == pytest.approx(look_up(family.poppy, family.merle).mating.inbreeding)
    assert figure.inbreeding == pytest.approx(share_of_alder() * UNCLE)
    assert figure.inbreeding_as_written == pytest.approx(UNCLE / 2)
    assert Figure.objects.get(pk=family.poppy.pk).inbreeding_as_written is None


def test_what_reads_alike_is_told_once(family):
    """By records 6.3%, as written 6.3%."""
    family.brothers_dose(alder=1, birch=1)
    for boar, share in ((family.alder, 0.506), (family.birch, 0.494)):
        family.litter.sire_shares.filter(boar=boar).update(share=share)
    found = look_up(family.poppy, family.merle)
    assert found.mating.inbreeding == pytest.approx(0.506 * UNCLE)
    assert found.inbreeding_as_written is None


def test_a_boar_that_was_there_counts_where_no_sire_is_written(family):
    """Nobody wrote who sired the litter; of the boars that were there only Alder has a dose."""
    family.litter.sires.all().delete()
    Litter.objects.filter(pk=family.litter.pk).update(source="home")
    Animal.objects.exclude(pk__in=[family.alder.pk, family.birch.pk]).filter(sex="boar").update(
        left_on=PartialDate(2024)
    )
    Litter.objects.filter(pk=family.alder.litter_id).update(born=PartialDate(2024))
    assert look_up(family.poppy, family.alder).mating.inbreeding == 0
    family.brothers_dose(alder=2, birch=0)
    found = look_up(family.poppy, family.alder)
    assert found.mating.inbreeding == pytest.approx(share_of_alder() / 4)
    assert found.inbreeding_as_written == 0
    assert found.mating.dam_known.full_generations == 0, "what is known is what is written"


def test_the_only_boar_that_was_there_counts(cast):
    cast.march_litter.sires.all().delete()
    Animal.objects.filter(pk__in=[cast.flint.pk]).update(left_on=PartialDate(2025))
    ensure_current()
    share = cast.march_litter.sire_shares.get(boar=cast.bramble).share
    assert 0.9 < share < 1
    found = look_up(cast.sorrel, cast.bramble)
    assert found.mating.inbreeding == pytest.approx(share / 4)


def test_littermates_are_full_sibs_whoever_the_sire_is(family):
    brother = AnimalFactory(herd=family.herd, litter=family.litter, sex="boar")
    family.brothers_dose(alder=1, birch=1)
    found = look_up(family.poppy, brother)
    assert found.mating.inbreeding == pytest.approx(1 / 4)
    assert sum(way.adds for way in found.ways) == pytest.approx(1 / 4)
    nobody = [way for way in found.ways if way.sire_side[-1] < 0]
    assert [way.sire_side[-1] % 2 for way in nobody] == [1], "a sire whom nobody knows"
    another = SireShare.objects.get(litter=family.litter, boar=None).share
    assert nobody[0].chance == pytest.approx(another)


def wright(parents):
    """Kinship by Wright's recursion of animals numbered after their parents; None is unknown."""

    @cache
    def kinship(one, other):
        if one is None or other is None:
            return 0.0
        if one == other:
            return (1 + kinship(*parents[one])) / 2
        young, old = max(one, other), min(one, other)
        return sum(kinship(parent, old) for parent in parents[young]) / 2

    return kinship


def test_two_uncertain_litters_are_the_sum_over_both_choices(family):
    """Each choice weighs as the product of its shares: litters are taken one by one."""
    herd = family.herd
    sow = colourless(herd, "sow")
    rowan = bred(herd, [family.alder, family.merle], sow, "boar", name="Rowan")
    given(family.merle, 1)
    given(rowan, 1)
    family.brothers_dose(alder=2, birch=1)
    g, h, alder, merle, birch, poppy, rowans = range(7)
    numbers = {family.alder.pk: alder, family.merle.pk: merle, family.birch.pk: birch, None: None}
    choices = [
        [(numbers[row.boar_id], row.share) for row in litter.sire_shares.all()]
        for litter in (family.litter, rowan.litter)
    ]
    assert [len(one) for one in choices] == [3, 3]
    expected = 0.0
    for (sire, chance), (other, other_chance) in product(*choices):
        brothers = {alder: (g, h), merle: (g, h)}
        parents = {one: brothers.get(one, (None, None)) for one in range(5)}
        parents |= {poppy: (sire, None), rowans: (other, None)}
        expected += chance * other_chance * wright(parents)(poppy, rowans)
    found = look_up(family.poppy, rowan)
    assert found.mating.inbreeding == pytest.approx(expected, abs=1e-12)
    assert sum(way.adds for way in found.ways) == pytest.approx(expected, abs=1e-12)
    assert abs(found.inbreeding_as_written - expected) > 0.001


def test_lines_go_by_shares_and_leave_out_who_is_hardly_the_sire(family):
    Animal.objects.exclude(pk=family.poppy.pk).update(state="died")
    family.brothers_dose(alder=2, birch=0)
    found = lines_of(family.herd, TODAY)
    shares = {founder.animal: founder.share for founder in found.founders}
    g, h = family.alder.litter.candidate_boars[0], family.alder.litter.dam
    assert shares == pytest.approx({family.dam: 1 / 2, g: 1 / 4, h: 1 / 4})


def test_a_sire_who_is_likely_none_of_those_is_a_line_of_his_own(family):
    Animal.objects.exclude(pk=family.poppy.pk).update(state="died")
    family.brothers_dose(alder=0, birch=0)
    (unknown,) = [one for one in lines_of(family.herd, TODAY).founders if one.animal is None]
    assert (unknown.unknown, unknown.pups) == ("sire", (family.poppy,))
    assert unknown.share == pytest.approx(1 / 2)


def test_a_look_ahead_draws_each_sire_by_his_share(family):
    Litter.objects.filter(pk=family.litter.pk).update(born=PartialDate(2026, 7))
    family.brothers_dose(alder=2, birch=0)
    stock = projection.stock_of(family.herd, TODAY)
    begun = projection._Stock.of(read_book(), stock, TODAY)
    poppy, alder, birch = (
        begun.keys.index(one.pk) for one in (family.poppy, family.alder, family.birch)
    )
    expected = share_of_alder()
    assert begun.kinship[poppy, alder] == pytest.approx(expected / 4)
    genes = begun.start(0, 1000, np.random.default_rng(5)).genes
    hers = genes[:, :, poppy, 0]
    assert (hers[..., None] == genes[:, :, alder]).any(axis=2).mean() == pytest.approx(
        expected, abs=0.01
    )
    assert not (hers[..., None] == genes[:, :, birch]).any()


def test_boars_below_a_share_count_as_another(family):
    reading = read_book()
    said = {family.litter.pk: {family.alder.pk: 0.03, family.birch.pk: 0.9, None: 0.07}}
    weighed = weigh(reading, said, least=0.05)
    litter = weighed.pedigree.litters[weighed.pedigree.litter_of[reading.place[family.poppy.pk]]]
    assert litter.sires == (reading.place[family.birch.pk], len(reading))
    assert litter.sire_weights == pytest.approx((0.9, 0.1))
    assert weighed.unknown_parent(len(reading))[1] == 0


def test_a_boar_whom_the_reading_does_not_know_yet_counts_as_another(family):
    said = {family.litter.pk: {family.alder.pk: 0.6, 10**9: 0.4}}
    weighed = weigh(read_book(), said)
    (number,) = weighed.others
    assert weighed.pedigree.litters[number].sire_weights == pytest.approx((0.6, 0.4))


def test_who_nobody_knows_is_told_by_litter_and_side(family):
    other = bred(family.herd, [family.alder, family.birch], None, "sow")
    reading = read_book()
    said = {
        litter.pk: {family.alder.pk: 0.5, None: 0.5} for litter in (family.litter, other.litter)
    }
    weighed = weigh(reading, said)
    for pup in (family.poppy, other):
        number = int(weighed.pedigree.litter_of[reading.place[pup.pk]])
        another = weighed.pedigree.litters[number].sires[-1]
        assert weighed.unknown_parent(another) == (number, 0)
        for side in (0, 1):
            nobody = len(weighed.pedigree) + 2 * number + side
            assert weighed.unknown_parent(nobody) == (number, side)


def test_a_litter_whose_pups_have_no_line_adds_no_kinship(family):
    litter = LitterFactory(
        herd=family.herd, dam=family.dam, boars=[family.alder, family.birch], born=PartialDate(2026)
    )
    LitterCount.objects.create(
        herd=family.herd, litter=litter, on=TODAY, none=1, full=1, nameless=2
    )
    family.brothers_dose(alder=2, birch=0)
    assert litter.sire_shares.exists()
    found = look_up(family.poppy, family.merle)
    assert found.mating.inbreeding == pytest.approx(share_of_alder() * UNCLE)


def test_it_costs_nothing_where_every_sire_is_certain(cast, django_assert_num_queries):
    ensure_current()
    reading = read_book()
    with django_assert_num_queries(0):
        assert standing_shares(reading) == {}
    assert look_up(cast.sorrel, cast.rook).inbreeding_as_written is None


def test_many_uncertain_litters_cost_no_more_queries(family, django_assert_max_num_queries):
    for _ in range(5):
        bred(family.herd, [family.alder, family.birch], family.dam, "sow")
    ensure_current()
    reading = read_book()
    with django_assert_max_num_queries(3):
        standing_shares(reading)


def test_a_look_ahead_says_whether_the_figures_were_there_to_go_by(family, monkeypatch):
    Litter.objects.filter(pk=family.litter.pk).update(born=PartialDate(2026, 7))
    asked = projection.ProjectionRequest(("least-kin",), 1, 1, 1, 1, 1, 0.27)
    assert projection.breed_on(family.herd, asked, TODAY)["by_records"]
    behind = refresh.Freshness(False, 0)
    monkeypatch.setattr(projection, "ensure_current", lambda: behind)
    assert not projection.breed_on(family.herd, asked, TODAY)["by_records"]
