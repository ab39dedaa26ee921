"""A season's plan from the book: who may be mated, what each pair promises, what is kept."""

from datetime import date, timedelta

import pytest

from genetics import jobs
from genetics.figures.refresh import ensure_current
from genetics.matings.lookup import look_up
from genetics.matings.showable_rate import outlook_of
from genetics.models import Job, SeasonPlan
from genetics.season import planner
from genetics.season.candidates import stock_of
from genetics.season.planner import ask_for_plan, work_out
from genetics.season.request import LEFT_OUT, MAY_BE_LEFT_OUT, WELFARE, Wishes
from herdbook.book.models import GivenEvidence, Litter
from herdbook.book.partial_date import PartialDate
from herdbook.book.rules.mating_cautions import SHORT
from tests.conftest import forget_what_is_kept
from tests.factories import AnimalFactory, LitterFactory, WeighingFactory


@pytest.fixture(autouse=True)
def _day(today):
    """It is the day of the cast."""


def wishes(**values):
    start = date(2026, 12, 1)
    usual = {
        "boar_in": start,
        "boar_out": start + timedelta(days=17),
        "pens": 10,
        "sows_a_boar": 4,
        "left_out": (),
    }
    return Wishes(**(usual | values))


def planned(cast, **values):
    ensure_current()
    plan = SeasonPlan.objects.create(herd=cast.herd, asked=wishes(**values).as_data())
    work_out(plan)
    return SeasonPlan.objects.get(pk=plan.pk).found


def pairs(found):
    return {(pair["sow"], pair["boar"]) for pair in found["pairs"]}


def sow_of_weights(herd, size):
    """A sow of January 2026, weighed at five ages, so many times the middle."""
    born = date(2026, 1, 1)
    litter = LitterFactory(herd=herd, born=PartialDate.of(born), source="paper")
    sow = AnimalFactory(herd=herd, sex="sow", litter=litter, bought_as="self")
    for age, grams in ((21, 215), (60, 450), (90, 640), (120, 770), (180, 880)):
        on = born + timedelta(days=age)
        WeighingFactory(animal=sow, on=on, weight_g=round(size * grams))
    return sow


def test_it_works(cast):
    found = planned(cast)
    # Bramble is all but surely of two doses: a self and his own daughter give most by him, and
    # nothing is said of inbreeding
    assert (cast.wren.pk, cast.bramble.pk) in pairs(found)
    assert found["proven"]
    assert found["value"] == pytest.approx(sum(pair["showable"] for pair in found["pairs"]))
    assert found["bound"] == pytest.approx(found["value"], abs=1e-3)
    assert {cost["limit"] for cost in found["costs"]} == {"pens", "capacity"}
    assert found["why"][str(cast.wren.pk)] == {"why": "best"}


def test_each_pair_promises_what_its_own_look_up_says(cast):
    ensure_current()
    stock = stock_of(cast.herd, wishes())
    assert {sow.pk for sow in stock.sows} == {cast.wren.pk, cast.tansy.pk, cast.sorrel.pk}
    assert {boar.pk for boar in stock.boars} == {cast.bramble.pk, cast.rook.pk}
    for row, sow in enumerate(stock.sows):
        for column, boar in enumerate(stock.boars):
            alone = look_up(sow, boar).mating
            off = stock.off[row, column] + 1e-9
            assert stock.chances[row, column] == pytest.approx(alone.chances, abs=off)
            assert stock.inbreeding[row, column] == pytest.approx(alone.inbreeding)
            assert stock.pups[row] == alone.size.expected


def test_a_large_book_holds_no_animal_and_says_how_far_off_a_pair_may_be(cast, monkeypatch):
    """Each held animal is two calculations of its family; Bramble's young by his daughter share."""
    ensure_current()
    exact = stock_of(cast.herd, wishes())
    monkeypatch.setattr("genetics.matings.parents.recomputed_at_once", lambda: False)
    forget_what_is_kept()
    rough = stock_of(cast.herd, wishes())
    assert exact.off.max() <= 0.002 < rough.off.max()
    assert (abs(exact.chances - rough.chances).max(axis=2) <= rough.off + 0.002).all()


def test_inbreeding_coancestry_and_pens_are_kept(cast):
    found = planned(cast, inbreeding=0.125, pens=1)
    assert len(found["pairs"]) == 1
    assert all(pair["inbreeding"] <= 0.125 for pair in found["pairs"])
    assert {rest["why"] for rest in found["rests"]} <= {"pens", "no-boar"}
    free = planned(cast)
    ceiling = free["coancestry"] - 0.001
    tight = planned(cast, coancestry=ceiling)
    if "pairs" in tight:
        assert tight["coancestry"] <= ceiling + 1e-7
        assert tight["value"] <= free["value"]


def test_held_forbidden_and_resting(cast):
    held, forbidden = (cast.sorrel.pk, cast.rook.pk), (cast.wren.pk, cast.bramble.pk)
    found = planned(cast, held=(held,), forbidden=(forbidden,), resting=(cast.tansy.pk,))
    assert held in pairs(found)
    assert forbidden not in pairs(found)
    assert {"sow": cast.tansy.pk, "why": "asked"} in found["rests"]
    assert found["why"][str(cast.sorrel.pk)] == {"why": "held"}


def test_a_caution_leaves_an_animal_out_and_says_which(cast):
    litter = LitterFactory(herd=cast.herd, born=PartialDate(2026, 10, 20), source="paper")
    young = AnimalFactory(herd=cast.herd, sex="sow", litter=litter)
    assert young.pk in {sow for sow, _ in pairs(planned(cast))}
    found = planned(cast, left_out=LEFT_OUT)
    assert {"sow": young.pk, "why": "sow-young"} in found["rests"]
    assert found["left_out"][str(young.pk)] == "sow-young"


def test_roan_to_roan_is_left_out(cast):
    for animal in (cast.wren, cast.bramble):
        type(animal).objects.filter(pk=animal.pk).update(remarks="roan")
    assert (cast.wren.pk, cast.bramble.pk) in pairs(planned(cast))
    assert (cast.wren.pk, cast.bramble.pk) not in pairs(planned(cast, left_out=("roan-to-roan",)))


def test_overmarked_breeders_wanted(cast):
    for animal in (cast.bramble, cast.tansy):
        GivenEvidence.objects.create(herd=cast.herd, animal=animal, like0=0, like1=0, like2=1)
    found = planned(cast, one=0, two=1)
    assert (cast.tansy.pk, cast.bramble.pk) in pairs(found)
    two = next(pair["two"] for pair in found["pairs"] if pair["sow"] == cast.tansy.pk)
    # none of her litters is in the book; the herd's one litter of two counts with ten usual ones
    born_alive = (2 + 10 * 3 * 0.784) / 11
    kept = born_alive * (1 - outlook_of(cast.herd, on=date(2026, 11, 25)).lost.value)
    assert two == pytest.approx(kept)
    found = planned(cast, least_two=1000)
    assert found["none"][0]["limit"] == "least"
    assert found["none"][0]["number"] == 1
    assert found["none"][0]["reach"] > 0.96 * kept
    assert found["proven"]


def test_nobody_to_mate(other_herd):
    plan = SeasonPlan.objects.create(herd=other_herd[1], asked=wishes().as_data())
    ensure_current()
    work_out(plan)
    assert plan.found["none"] == [{"limit": "pairs", "number": 0}]


def test_a_pedigree_that_contradicts_itself(cast):
    Litter.objects.filter(pk=cast.wren.litter_id).update(dam=cast.sorrel)
    assert planned(cast)["none"] == [{"limit": "pedigree", "number": 0}]


def test_wishes_come_back_from_the_table_as_they_were(cast):
    asked = wishes(held=((1, 2),), forbidden=((3, 4), (5, 6)), resting=(7,), inbreeding=0.1)
    plan = SeasonPlan.objects.create(herd=cast.herd, asked=asked.as_data())
    assert Wishes.of(SeasonPlan.objects.get(pk=plan.pk).asked) == asked


def test_every_caution_that_may_leave_one_out_is_a_caution_of_the_book():
    assert set(MAY_BE_LEFT_OUT) | set(WELFARE) <= set(SHORT)
    assert not set(MAY_BE_LEFT_OUT) & set(WELFARE)


def test_other_plans_differ(cast):
    AnimalFactory.create_batch(4, herd=cast.herd, sex="sow", bought_as="self")
    AnimalFactory.create_batch(2, herd=cast.herd, sex="boar", bought_as="overmarked")
    found = planned(cast)
    assert found["others"]
    for other in found["others"]:
        assert len(pairs(found) - pairs(other)) >= 3
        assert other["value"] >= 0.95 * found["value"] - 1e-9


def test_more_animals_cost_no_more_queries(cast, django_assert_max_num_queries):
    AnimalFactory.create_batch(10, herd=cast.herd, sex="sow")
    AnimalFactory.create_batch(5, herd=cast.herd, sex="boar")
    ensure_current()
    plan = SeasonPlan.objects.create(herd=cast.herd, asked=wishes().as_data())
    with django_assert_max_num_queries(37):
        work_out(plan)


def test_it_is_worked_out_beside_the_page(cast, monkeypatch):
    plan = ask_for_plan(user=cast.owner, herd=cast.herd, wishes=wishes())
    assert (plan.job.kind, plan.job.user) == ("season plan", cast.owner)
    assert plan.found is None
    told = []
    monkeypatch.setattr(
        jobs, "tell", lambda job, *said: told.append(said) if job == plan.job else None
    )
    work_out(plan, plan.job)
    shares = [share for share, *_ in told]
    assert shares == sorted(shares)
    assert shares[-1] <= 1
    assert any("none can be better than" in note for _, *notes in told for note in notes)
    assert plan.found["value"] > 0


def test_only_the_last_plans_are_kept_and_none_that_is_under_way(cast, other_herd, monkeypatch):
    monkeypatch.setattr(planner, "KEPT", 2)
    other = SeasonPlan.objects.create(herd=other_herd[1], asked=wishes().as_data())

    def ask(pens):
        return ask_for_plan(user=cast.owner, herd=cast.herd, wishes=wishes(pens=pens))

    rows = [ask(pens) for pens in (1, 2, 3)]
    assert SeasonPlan.objects.count() == 4
    Job.objects.exclude(pk=rows[0].job.pk).update(state=Job.State.DONE)
    rows.append(ask(4))
    kept = {other.pk, rows[0].pk, rows[2].pk, rows[3].pk}
    assert set(SeasonPlan.objects.values_list("pk", flat=True)) == kept


def test_a_sow_light_by_the_herds_own_growth_is_left_out(cast):
    light = sow_of_weights(cast.herd, 0.75)
    for step in range(-4, 5):
        sow_of_weights(cast.herd, 1 + 0.02 * step)
    assert light.pk in {sow for sow, _ in pairs(planned(cast, pens=50, sows_a_boar=50))}
    found = planned(cast, left_out=("sow-light-for-age",))
    assert found["left_out"] == {str(light.pk): "sow-light-for-age"}
    assert {"sow": light.pk, "why": "sow-light-for-age"} in found["rests"]


def test_papers_that_other_records_speak_against_are_left_out(cast):
    # one dose in both pups, and none in either parent written
    of_doses = ((cast.wren, 0), (cast.bramble, 0), (cast.rook, 1), (cast.sorrel, 1))
    for animal, dose in of_doses:
        share = {f"like{number}": float(number == dose) for number in range(3)}
        GivenEvidence.objects.create(herd=cast.herd, animal=animal, **share)
    found = planned(cast)
    assert found["in_doubt"][str(cast.rook.pk)]["sire"] > 0.5
    found = planned(cast, left_out=("papers-in-doubt",))
    assert found["left_out"][str(cast.rook.pk)] == "papers-in-doubt"
    assert {"sow": cast.sorrel.pk, "why": "papers-in-doubt"} in found["rests"]
    assert cast.rook.pk not in {boar for _, boar in pairs(found)}
