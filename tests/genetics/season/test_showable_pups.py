"""What a season's plan aims at: every plan of a small herd, counted pair by pair by its look-up."""

from datetime import date
from itertools import product

import pytest

from genetics.core.mate_allocation.planner import Round
from genetics.figures.refresh import ensure_current
from genetics.matings.lookup import look_up
from genetics.matings.showable_rate import Outlook, outlook_of
from genetics.models import SeasonPlan
from genetics.season.planner import _so_far, work_out
from genetics.season.request import BORN, SHOWABLE, Wishes
from herdbook.book.models import GivenEvidence, Litter
from herdbook.book.partial_date import PartialDate
from tests.factories import AnimalFactory, JudgementFactory, LitterFactory
from tests.genetics.season.test_planner import pairs, planned, wishes

pytestmark = pytest.mark.usefixtures("today")

TODAY = date(2026, 11, 25)
# A look-up works out its pair by itself; a plan of many may be off by so much of a chance.
OFF = 0.01


def of_dose(animal, dose):
    share = {f"like{number}": float(number == dose) for number in range(3)}
    GivenEvidence.objects.create(herd=animal.herd, animal=animal, **share)
    return animal


def judge(herd, good, poor):
    """So many one-dose animals that are gone by now, judged good enough or not."""
    for place in range(good + poor):
        animal = of_dose(AnimalFactory(herd=herd, state="sold"), 1)
        verdict = "showable" if place < good else "pet"
        JudgementFactory(animal=animal, on=TODAY, verdict=verdict)


def litters(sow, *alive):
    """Litters at home of so many born alive, some months ago."""
    for place, count in enumerate(alive):
        born = PartialDate(2026, 1 + 3 * place, 5)
        LitterFactory(
            herd=sow.herd, dam=sow, born=born, born_alive=count, born_dead=0, source="home"
        )


@pytest.fixture
def shed(cast):
    """The cast with a boar and two sows more, one of large litters; seven of ten judged good."""
    AnimalFactory(herd=cast.herd, sex="boar", bought_as="marked", name="Alder")
    AnimalFactory(herd=cast.herd, sex="sow", bought_as="self", name="Betony")
    litters(AnimalFactory(herd=cast.herd, sex="sow", bought_as="marked", name="Campion"), 5, 4)
    judge(cast.herd, 7, 3)
    ensure_current()
    return cast


def by_look_up(herd, one, two):
    """What each pair counts, by the pair's own look-up: the definition, written out."""
    outlook = outlook_of(herd, on=TODAY)
    here = herd.animals.filter(state="in_herd")
    counts = {}
    for sow, boar in product(here.filter(sex="sow"), here.filter(sex="boar")):
        mating = look_up(sow, boar).mating
        alive = mating.size.expected * (1 - outlook.lost.value)
        good = outlook.good.value
        counts[sow.pk, boar.pk] = alive * (one * good * mating.chances[1] + two * mating.chances[2])
    return counts


def best_of_all(counts, pens, sows_a_boar):
    sows = sorted({sow for sow, _ in counts})
    boars = sorted({boar for _, boar in counts})
    best = 0.0
    for to in product((None, *boars), repeat=len(sows)):
        used = [boar for boar in to if boar]
        if len(used) <= pens and all(used.count(boar) <= sows_a_boar for boar in boars):
            best = max(best, sum(counts[pair] for pair in zip(sows, to, strict=True) if pair[1]))
    return best


@pytest.mark.parametrize(("one", "two"), [(1.0, 0.0), (0.0, 1.0), (1.0, 2.0)])
@pytest.mark.parametrize(("pens", "sows_a_boar"), [(2, 1), (3, 2)])
def test_it_works(shed, one, two, pens, sows_a_boar):
    counts = by_look_up(shed.herd, one, two)
    found = planned(shed, one=one, two=two, pens=pens, sows_a_boar=sows_a_boar)
    best = best_of_all(counts, pens, sows_a_boar)
    assert best > 0.5
    assert found["value"] == pytest.approx(best, abs=OFF)
    assert found["bound"] == pytest.approx(best, abs=OFF)
    assert found["value"] == pytest.approx(sum(counts[pair] for pair in pairs(found)), abs=OFF)
    # what one more pen brings is in the same pups
    more = best_of_all(counts, pens + 1, sows_a_boar) - best
    (pen,) = (cost for cost in found["costs"] if cost["limit"] == "pens")
    assert pen["gain"] == pytest.approx(more, abs=2 * OFF)


def test_each_pair_tells_pups_alive_at_28_days(shed):
    found = planned(shed)
    outlook = outlook_of(shed.herd, on=TODAY)
    assert Outlook.of(found["outlook"]) == outlook
    assert outlook.good.value == pytest.approx(9 / 14)
    for pair in found["pairs"]:
        mating = look_up(
            shed.herd.animals.get(pk=pair["sow"]), shed.herd.animals.get(pk=pair["boar"])
        ).mating
        for name, dose in (("one", 1), ("two", 2)):
            alive = mating.size.expected * mating.chances[dose] * (1 - outlook.lost.value)
            assert pair[name] == pytest.approx(alive, abs=OFF)
        assert pair["showable"] == pytest.approx(pair["one"] * 9 / 14)


def test_of_two_sows_alike_the_one_of_larger_litters_is_mated(cast):
    # hers had three alive, Betony had none yet
    Litter.objects.filter(pk=cast.march_litter.pk).update(born_alive=3)
    of_dose(cast.wren, 0)
    betony = of_dose(AnimalFactory(herd=cast.herd, sex="sow", bought_as="self"), 0)
    resting = (cast.tansy.pk, cast.sorrel.pk)
    found = planned(cast, pens=1, resting=resting)
    assert {sow for sow, _ in pairs(found)} == {cast.wren.pk}
    # the two differ by less than a tenth of a pup
    assert {"sow": betony.pk, "why": "pens", "instead": cast.wren.pk} in found["rests"]


@pytest.mark.parametrize(("judged_good", "dose_of_boar"), [(0, 2), (30, 0)])
def test_the_share_good_enough_weighs_showable_pups_beside_breeders(
    cast, judged_good, dose_of_boar
):
    """A sow of two doses gives but one dose by a self and but two by Bramble: 0.5 a pup by the self
    while nobody is judged, 32/34 once thirty were good, beside 0.7 by Bramble."""
    sow = of_dose(AnimalFactory(herd=cast.herd, sex="sow"), 2)
    boars = {2: of_dose(cast.bramble, 2), 0: of_dose(AnimalFactory(herd=cast.herd, sex="boar"), 0)}
    judge(cast.herd, judged_good, 0)
    found = planned(cast, two=0.7, resting=(cast.tansy.pk, cast.sorrel.pk, cast.wren.pk))
    assert pairs(found) == {(sow.pk, boars[dose_of_boar].pk)}


def test_least_asks_for_pups_of_a_dose_alive_at_28_days(cast):
    found = planned(cast, least_one=1000)
    (trouble,) = (one for one in found["none"] if one["limit"] == "least")
    reach = trouble["reach"]
    most = planned(cast, least_one=reach - 0.01)
    assert sum(pair["one"] for pair in most["pairs"]) == pytest.approx(reach, abs=0.011)


def test_of_plans_worth_the_same_the_least_related_is_chosen(other_herd):
    """Three selfs worth the same to two boars of two doses, two of them litter sisters, the boars
    no kin: one sister stays at home, and each boar has a sow."""
    herd = other_herd[1]
    pair = [AnimalFactory(herd=herd, sex=sex, state="sold") for sex in ("boar", "sow")]
    litter = LitterFactory(
        herd=herd, dam=pair[1], boars=pair[:1], born=PartialDate(2026, 1), source="paper"
    )
    sisters = [of_dose(AnimalFactory(herd=herd, sex="sow", litter=litter), 0) for _ in range(2)]
    other = of_dose(AnimalFactory(herd=herd, sex="sow"), 0)
    boars = [of_dose(AnimalFactory(herd=herd, sex="boar"), 2) for _ in range(2)]
    ensure_current()
    plan = SeasonPlan.objects.create(herd=herd, asked=wishes(pens=2).as_data())
    work_out(plan)
    chosen = pairs(plan.found)
    assert plan.found["least_related"]
    assert {boar for _, boar in chosen} == {boar.pk for boar in boars}
    sows = {sow for sow, _ in chosen}
    assert other.pk in sows
    assert len(sows & {one.pk for one in sisters}) == 1


def test_how_far_the_search_is_told_in_what_it_counts():
    at = Round(2, 3.14, 4.0)
    assert "gives 3.1 showable pups; none can be better than 4.0 showable pups" in _so_far(
        at, wishes()
    )
    assert "3.1 overmarked pups" in _so_far(at, wishes(one=0.0, two=1.0))
    assert "a score of 3.1" in _so_far(at, wishes(two=1.0))
    coloured = wishes(one=0.0, body="white", colour_more=1.0)
    assert "3.1 showable pups of that colour" in _so_far(at, coloured)
    no_colour = wishes(colour_more=1.0)
    assert "3.1 showable pups;" in _so_far(at, no_colour)


def test_a_plan_of_before_is_known_for_one_and_is_asked_again_as_now(cast):
    asked = wishes().as_data()
    assert asked.pop("counted") == SHOWABLE
    plan = SeasonPlan.objects.create(herd=cast.herd, asked=asked)
    old = Wishes.of(SeasonPlan.objects.get(pk=plan.pk).asked)
    assert (old.counted, old.unit) == (BORN, "one-dose")
    again = old.changed(held=(), forbidden=(), resting=())
    assert (again.counted, again.unit) == (SHOWABLE, "showable")
