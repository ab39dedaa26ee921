"""A herd bred on by a rule: against exact expectations, textbook recurrences and the engine."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from genetics.core.inheritance.litter_distribution import litter_forecast
from genetics.core.inheritance.mendel import transmission
from genetics.core.pedigree.pedigree import Pedigree
from genetics.core.relatedness.founders import drop_genes, kept
from genetics.core.relatedness.kinship import kinship
from genetics.core.simulation.breeding import Plan, Start, begin, breed
from genetics.core.simulation.selection_rules import (
    CLOSEST_KIN,
    LEAST_KIN,
    ONE_DOSE_TO_SELF,
    OVERMARKED_TO_SELF,
    Policy,
)
from genetics.core.simulation.summary import MEASURES, joined, lines_left, look_ahead, spread

POLICIES = [ONE_DOSE_TO_SELF, OVERMARKED_TO_SELF, LEAST_KIN, CLOSEST_KIN]
ANY = Policy(np.zeros((3, 3)), np.zeros(3), np.zeros(3))
LITTERS = np.array([0, 0.15, 0.23, 0.44, 0.14, 0.035, 0.005])


def founders(boars, sows, runs, loci=4):
    """Unrelated animals of these doses, a dose for each or one draw for each run."""
    count = len(boars) + len(sows)
    genes = np.arange(2 * count, dtype=np.int32).reshape(count, 2)
    doses = np.array([*boars, *sows], dtype=np.int8)
    return Start(
        boars=np.arange(len(boars)),
        sows=np.arange(len(boars), count),
        doses=np.broadcast_to(doses, (runs, count)).copy(),
        kinship=np.eye(count) / 2,
        genes=np.broadcast_to(genes, (runs, loci, count, 2)).copy(),
        age_days=np.arange(count, dtype=float),
    )


def many_pups(size):
    """So many in each litter that both sexes are always there to keep."""
    sizes = np.zeros(size + 1)
    sizes[size] = 1
    return sizes


def plan_of(boars, sows, young=(1, 1), sizes=LITTERS, losses=0.0, showable=1.0):
    return Plan(boars, sows, *young, sizes, losses, showable)


def test_it_works():
    # an overmarked boar to selfs: every pup has one dose, 2.7 a litter, no loss, no inbreeding
    found = look_ahead(
        founders([2], [0, 0, 0], 400), plan_of(1, 3), ANY, 1, np.random.default_rng(1)
    )
    assert found.one_dose.shape == (400, 1)
    assert found.one_dose.mean() == pytest.approx(2.695, abs=0.1)
    assert (found.overmarked == 0).all()
    assert (found.selfs == 0).all()
    assert (found.inbreeding == 0).all()


@pytest.mark.parametrize("boar", range(3))
@pytest.mark.parametrize("sow", range(3))
def test_pups_are_mendels_and_the_engines(boar, sow):
    """The mean of the runs is the exact forecast of the engine, losses and judging applied."""
    runs, losses, good = 3000, 0.27, 0.6
    plan = plan_of(1, 2, losses=losses, showable=good)
    found = look_ahead(founders([boar], [sow, sow], runs), plan, ANY, 1, np.random.default_rng(2))
    joint = np.zeros((3, 3))
    joint[boar, sow] = 1
    living = (np.arange(7) @ LITTERS) * (1 - losses)
    expected = living * litter_forecast(joint)
    assert expected == pytest.approx(living * transmission()[boar, sow])
    far = 5 * np.sqrt(living / (2 * runs))  # five standard errors, counts near enough to Poisson's
    assert found.selfs.mean() == pytest.approx(expected[0], abs=far)
    assert found.one_dose.mean() == pytest.approx(expected[1], abs=far)
    assert found.overmarked.mean() == pytest.approx(expected[2], abs=far)
    assert found.showable.mean() == pytest.approx(good * expected[1], abs=far)


def test_uncertain_doses_of_relatives_are_mixed_as_the_forecast_mixes_them():
    """Doses drawn together give the mean of the joint forecast, which shares drawn apart miss."""
    joint = np.array([[0.4, 0.0, 0.1], [0.0, 0.0, 0.0], [0.1, 0.0, 0.4]])
    runs = 4000
    random = np.random.default_rng(3)
    start = founders([0], [0], runs)
    start.doses[:] = np.stack(np.divmod(random.choice(9, size=runs, p=joint.ravel()), 3), axis=1)
    found = look_ahead(start, plan_of(1, 1), ANY, 1, random)
    expected = 2.695 * litter_forecast(joint)
    assert expected[1] == pytest.approx(2.695 * 0.2)
    assert found.one_dose.mean() == pytest.approx(expected[1], abs=0.1)
    assert found.overmarked.mean() == pytest.approx(expected[2], abs=0.1)


def test_brother_to_sister_each_season():
    # F = (1 + 2 F' + F'') / 4: 0, 1/4, 3/8, 1/2, 19/32, 43/64 (Wright 1921, Systems of mating II,
    # Genetics 6:124-143, and textbooks since; from memory, and the recurrence derived). By a
    # definition of inbred strains of mice heterozygosity falls by 19.1 per cent a generation in the
    # end, and over 98 per cent of it is gone after 20 generations (seen)
    plan = plan_of(1, 1, sizes=many_pups(24))
    found = look_ahead(founders([1], [1], 20), plan, ANY, 21, np.random.default_rng(4))
    expected = [0, 1 / 4]
    while len(expected) < 21:
        expected.append((1 + 2 * expected[-1] + expected[-2]) / 4)
    assert expected[2:6] == [3 / 8, 1 / 2, 19 / 32, 43 / 64]
    assert found.inbreeding == pytest.approx(np.tile(expected, (20, 1)), abs=1e-12)
    assert 1 - (1 - expected[20]) / (1 - expected[19]) == pytest.approx(0.191, abs=0.0005)
    assert expected[20] > 0.98


def test_half_brother_to_half_sister_under_one_boar_each_season():
    # one boar to many sows, all replaced each season by young of different dams: with endless sows
    # F = F' + (1 - 2 F' + F'') / 8: 0, 1/8, 7/32 (Wright 1921; from memory). Two sows more or
    # less change it, so the exact recurrence for s sows of one boar is carried along here
    sows = 3
    plan = plan_of(1, sows, young=(1, sows), sizes=many_pups(40))
    runs = 600
    found = look_ahead(founders([1], [1] * sows, runs), plan, ANY, 4, np.random.default_rng(5))
    # kinship of boar and sow (f), of two sows (g), of an animal with itself (h)
    f, g, h_boar, h_sow = 0.0, 0.0, 0.5, 0.5
    expected = []
    for _ in range(4):
        expected.append(f)
        same = (h_boar + h_sow + 2 * f) / 4  # full sibs
        other = (h_boar + g + 2 * f) / 4  # half sibs by the boar
        # young drawn at random from s litters of 40, without putting back
        chance = 39 / (40 * sows - 1)
        sibs = chance * same + (1 - chance) * other
        f, g, h_boar, h_sow = sibs, sibs, (1 + f) / 2, (1 + f) / 2
    assert found.inbreeding.mean(axis=0) == pytest.approx(expected, abs=0.01)


def traced(herd, plan, policy, seasons, random):
    """Breed on and keep the whole pedigree of run 0; returns the herd and who stands where."""
    count = herd.born.shape[1]
    sires, dams = [-1] * count, [-1] * count
    places = list(range(count))
    for season in range(seasons):
        herd, brought = breed(herd, plan, policy, season, random)
        young = []
        for sire, dam in zip(brought.sires[0], brought.dams[0], strict=True):
            young.append(len(sires))
            sires.append(places[sire])
            dams.append(places[dam])
        places = [(places + young)[now] for now in brought.now[0]]
    return herd, Pedigree.from_parents([str(row) for row in range(len(sires))], sires, dams), places


@pytest.mark.parametrize("policy", POLICIES)
def test_kinship_is_that_of_the_pedigree_which_came_about(policy):
    random = np.random.default_rng(6)
    plan = plan_of(2, 4, young=(1, 2), losses=0.2)
    herd = begin(founders([1, 2], [0, 1, 0, 1], 3), plan, policy, random)
    herd, pedigree, places = traced(herd, plan, policy, 6, random)
    assert max(places) > 6, "young have come in"
    assert herd.kinship[0] == pytest.approx(kinship(pedigree, places), abs=1e-12)


def test_genes_come_down_as_they_do_in_a_pedigree():
    """Of the pedigree that came about, as many founders are left as dropped genes leave."""
    random = np.random.default_rng(7)
    plan = plan_of(1, 2, young=(1, 1))
    herd = begin(founders([1], [0, 1], 1, loci=4000), plan, ANY, random)
    herd, pedigree, places = traced(herd, plan, ANY, 5, random)
    dropped = drop_genes(pedigree, places, 4000, random)
    lines = lines_left(dropped.genes.transpose(1, 0, 2, 3))
    assert lines_left(herd.genes) == pytest.approx(lines, abs=0.1)
    assert kept(dropped).share.max() <= 1


@given(st.sampled_from(POLICIES), st.integers(1, 3), st.integers(1, 5), st.integers(0, 2**32 - 1))
@settings(max_examples=40)
def test_whatever_the_rule(policy, boars, sows, seed):
    random = np.random.default_rng(seed)
    plan = plan_of(boars, sows, young=(1, 2), losses=0.3)
    doses = random.integers(3, size=boars + sows).tolist()
    herd = begin(founders(doses[:boars], doses[boars:], 5), plan, policy, random)
    for season in range(3):
        before = herd
        herd, brought = breed(herd, plan, policy, season, random)
        count = boars + sows
        assert herd.doses.shape == (5, count)
        assert herd.kinship == pytest.approx(herd.kinship.transpose(0, 2, 1))
        own = herd.kinship.diagonal(axis1=1, axis2=2)
        assert (own >= 0.5 - 1e-12).all()
        assert (herd.kinship <= np.sqrt(own[:, :, None] * own[:, None, :]) + 1e-12).all()
        assert (brought.mates < boars).all()
        for run in range(5):
            for sow, boar in enumerate(brought.mates[run]):
                possible = transmission()[
                    before.doses[run, boar], before.doses[run, boars + sow]
                ].nonzero()[0]
                assert set(brought.pups[run, sow].tolist()) - {-1} <= set(possible.tolist())
            stayed = brought.now[run] < count
            assert (herd.doses[run, stayed] == before.doses[run, stayed]).all()
            assert len(set(brought.now[run].tolist())) == count, "nobody stands in two places"
            first = set(before.genes[run].ravel().tolist())
            assert set(herd.genes[run].ravel().tolist()) <= first, "no gene comes from nowhere"


def test_the_oldest_make_room():
    random = np.random.default_rng(8)
    plan = plan_of(1, 3, young=(0, 1), sizes=many_pups(20))
    herd = begin(founders([1], [1, 1, 1], 1), plan, ANY, random)
    born = sorted(herd.born[0, 1:].tolist())
    herd, _ = breed(herd, plan, ANY, 0, random)
    assert sorted(herd.born[0, 1:].tolist()) == [*born[1:], 0.0]


def test_a_rule_pairs_and_keeps_what_it_says():
    random = np.random.default_rng(9)
    start = founders([0, 1, 2], [0, 1, 2], 50)
    plan = plan_of(1, 1)
    for policy, wanted in ((ONE_DOSE_TO_SELF, (1, 0)), (OVERMARKED_TO_SELF, (2, 0))):
        assert (begin(start, plan, policy, random).doses == wanted).all()
    everyone = plan_of(3, 3)
    herd = begin(start, everyone, ONE_DOSE_TO_SELF, random)
    _, brought = breed(herd, everyone, ONE_DOSE_TO_SELF, 0, random)
    pairs = np.stack(
        [np.take_along_axis(herd.doses, brought.mates, axis=1), herd.doses[:, 3:]], axis=2
    )
    told = {sow: set(pairs[pairs[..., 1] == sow][:, 0].tolist()) for sow in range(3)}
    # a self to a marked boar, a marked sow to a self, and the overmarked sow, for whom there is no
    # pair of that kind, to the boar that gives most one-dose pups: a self
    assert told == {0: {1}, 1: {0}, 2: {0}}


def test_least_and_closest_kin():
    # sow 2 is a half sister of boar 0, and nobody's of boar 1
    start = founders([1, 1], [1], 20)
    start.kinship[0, 2] = start.kinship[2, 0] = 1 / 8
    random = np.random.default_rng(10)
    for policy, inbreeding in ((LEAST_KIN, 0), (CLOSEST_KIN, 1 / 8)):
        herd = begin(start, plan_of(2, 1), policy, random)
        _, brought = breed(herd, plan_of(2, 1), policy, 0, random)
        assert (brought.inbreeding == inbreeding).all()


def test_with_the_least_kin_a_herd_is_less_inbred_and_keeps_more_lines():
    start = founders([1, 1, 1], [0, 1, 0, 1, 0, 1], 300)
    plan = plan_of(3, 6, young=(1, 2))
    least, closest = (
        look_ahead(start, plan, policy, 6, np.random.default_rng(11))
        for policy in (LEAST_KIN, CLOSEST_KIN)
    )
    assert least.inbreeding[:, -1].mean() < closest.inbreeding[:, -1].mean() - 0.05
    assert least.lines[:, -1].mean() > closest.lines[:, -1].mean()


@pytest.mark.parametrize(("boars", "sows"), [([], [1]), ([1], [])])
def test_it_refuses_a_herd_of_one_sex(boars, sows):
    with pytest.raises(ValueError, match="a boar and a sow"):
        begin(founders(boars, sows, 2), plan_of(1, 1), ANY, np.random.default_rng(0))


def test_the_same_seed_gives_the_same_runs():
    start = founders([1, 2], [0, 1], 20)
    runs = [
        look_ahead(start, plan_of(2, 2), LEAST_KIN, 3, np.random.default_rng(12)) for _ in range(2)
    ]
    for name in MEASURES:
        assert np.array_equal(getattr(runs[0], name), getattr(runs[1], name))


def test_batches_are_joined_and_their_spread_is_told():
    start = founders([1], [0], 50)
    found = joined(
        [look_ahead(start, plan_of(1, 1), ANY, 2, np.random.default_rng(seed)) for seed in (1, 2)]
    )
    assert found.lines.shape == (100, 2)
    first, _ = spread(found.one_dose)
    assert first.low <= first.median <= first.high
    assert first.mean == pytest.approx(found.one_dose[:, 0].mean())
    rows = spread(np.array([[1.0, np.nan], [2.0, np.nan], [3.0, np.nan]]))
    assert (rows[0].median, rows[0].low, rows[0].high) == pytest.approx((2, 1.2, 2.8))
    assert np.isnan(rows[1].median)


def test_a_season_without_a_living_pup_has_no_inbreeding():
    found = look_ahead(
        founders([1], [0], 3), plan_of(1, 1, losses=1.0), ANY, 2, np.random.default_rng(13)
    )
    assert np.isnan(found.inbreeding).all()
    assert (found.one_dose == 0).all()
    assert (found.lines == 2).all(), "nobody was kept, so the first two breed on"
