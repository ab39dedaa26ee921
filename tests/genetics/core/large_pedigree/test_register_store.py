"""Registers kept between calculations: figures as of a fresh start, within their errors.

The herd is too tangled for exact figures at the budget here, and the kernels run as plain Python.
"""

from dataclasses import replace

import numpy as np
import pytest

from genetics.core.exceptions import ContradictionError
from genetics.core.large_pedigree import exact_trial, solver
from genetics.core.large_pedigree.register_store import RegisterStore
from genetics.core.large_pedigree.solver import Register
from genetics.core.pedigree.litter import Litter
from genetics.core.pedigree.pedigree import Pedigree
from genetics.core.peeling.problem import BUDGET, PosteriorProblem
from genetics.core.posterior.dose import dose_posterior
from tests.benchmarks.herds import FREQUENCY, Habits, bred

ERRORS = 0.01
ONE, SELF = (0.05, 1, 0.1), (1, 0.1, 0.01)


@pytest.fixture(autouse=True)
def plain(monkeypatch):
    """The kernels as Python, in small vicinities; families of any size are large."""
    monkeypatch.setattr(solver, "available", lambda: False)
    monkeypatch.setattr(solver, "PROBE_PRICE", 300)
    monkeypatch.setattr(exact_trial, "LARGE", 3)


@pytest.fixture
def begun(monkeypatch):
    """The families that registers began again for: how many animals each has."""
    sizes, begin = [], Register._begin

    def counted(self):
        sizes.append(len(self.animals))
        begin(self)

    monkeypatch.setattr(Register, "_begin", counted)
    return sizes


@pytest.fixture
def refined(monkeypatch):
    """How many animals were refined, each time."""
    counts, refine_in_neighbourhood = [], Register.refined

    def counted(self, variables, price):
        counts.append(len(variables))
        return refine_in_neighbourhood(self, variables, price)

    monkeypatch.setattr(Register, "refined", counted)
    return counts


@pytest.fixture(scope="module")
def herd():
    return bred(
        np.random.default_rng(3), Habits(80, founders=12, litters=8, certain=0.0, doubtful=0.1)
    )


def figures(herd, keys=None, store=None):
    return dose_posterior(
        herd.pedigree,
        herd.likelihood,
        frequency=FREQUENCY,
        errors=ERRORS,
        budget=100,
        approximate=True,
        warm_start=store and store.warm_start(keys or range(len(herd.pedigree))),
    )


def with_litter(herd, sire, dam, rows):
    count = len(herd.pedigree)
    pups = tuple(range(count, count + len(rows)))
    ids = (*herd.pedigree.ids, *(f"new {pup}" for pup in pups))
    litters = (*herd.pedigree.litters, Litter(pups, sires=(sire,), dams=(dam,)))
    likelihood = np.vstack([herd.likelihood, rows])
    return replace(herd, pedigree=Pedigree(ids, litters), likelihood=likelihood)


def beside_it(herd, rows):
    """A litter of parents unknown."""
    count = len(herd.pedigree)
    pups = tuple(range(count, count + len(rows)))
    pedigree = Pedigree(
        (*herd.pedigree.ids, *(f"other {pup}" for pup in pups)),
        (*herd.pedigree.litters, Litter(pups)),
    )
    return replace(herd, pedigree=pedigree, likelihood=np.vstack([herd.likelihood, rows]))


def with_check(herd, animal, row):
    likelihood = herd.likelihood.copy()
    likelihood[animal] = row
    return replace(herd, likelihood=likelihood)


def without(herd, animal):
    """The herd after an animal without young is deleted: all later ones move up by one."""

    def now(animals):
        return tuple(one - (one > animal) for one in animals if one != animal)

    litters = (
        replace(one, pups=now(one.pups), sires=now(one.sires), dams=now(one.dams))
        for one in herd.pedigree.litters
        if one.pups != (animal,)
    )
    ids = herd.pedigree.ids[:animal] + herd.pedigree.ids[animal + 1 :]
    likelihood = np.delete(herd.likelihood, animal, axis=0)
    return replace(herd, pedigree=Pedigree(ids, tuple(litters)), likelihood=likelihood)


def childless(herd):
    parents = {one for litter in herd.pedigree.litters for one in litter.candidates}
    return [one for litter in herd.pedigree.litters for one in litter.pups if one not in parents]


def case_of(herd, errors, frequency=FREQUENCY):
    return PosteriorProblem.of(herd.pedigree, herd.likelihood, frequency, errors, None, BUDGET)


def meets_a_fresh_start(warm, herd):
    fresh = figures(herd)
    assert warm.method == fresh.method
    off = np.abs(warm.chances - fresh.chances).max(axis=1)
    assert (off <= np.minimum(warm.error, fresh.error) + solver.UNFOLLOWED).all()
    assert warm.error == pytest.approx(fresh.error, abs=0.01)
    assert warm.sire_shares.keys() == fresh.sire_shares.keys()
    for litter, shares in fresh.sire_shares.items():
        assert warm.sire_shares[litter] == pytest.approx(shares, abs=1e-3)


def test_a_litter_costs_what_it_touches(herd, begun, refined):
    store = RegisterStore()
    figures(herd, store=store)
    last = herd.pedigree.litters[-1]
    grown = with_litter(herd, last.sires[0], last.dams[0], [ONE, SELF])
    begun.clear()
    refined.clear()
    warm = figures(grown, store=store)
    assert begun == []
    assert 0 < sum(refined) < len(grown.pedigree)
    meets_a_fresh_start(warm, grown)


def test_a_check_is_followed(herd, begun):
    store = RegisterStore()
    figures(herd, store=store)
    seen = with_check(herd, 40, ONE)
    begun.clear()
    warm = figures(seen, store=store)
    assert begun == []
    assert np.abs(warm.chances[40] - figures(herd).chances[40]).max() > 0.01
    meets_a_fresh_start(warm, seen)


def test_a_deleted_animal_is_followed_though_others_get_its_number(herd, begun):
    store = RegisterStore()
    keys = [10 * one for one in range(len(herd.pedigree))]
    figures(herd, keys, store)
    gone = childless(herd)[len(childless(herd)) // 2]
    assert gone < len(herd.pedigree) - 1
    fewer = without(herd, gone)
    begun.clear()
    warm = figures(fewer, keys[:gone] + keys[gone + 1 :], store)
    assert begun == []
    meets_a_fresh_start(warm, fewer)


def test_what_a_deleted_pup_said_of_its_parents_is_taken_back(herd):
    """Its littermates stay, and nothing else of the litter has changed."""
    litter = next(one for one in herd.pedigree.litters[::-1] if len(one.pups) > 1)
    pup = litter.pups[-1]  # not the one that the litter is known by
    assert pup in childless(herd)
    herd = with_check(herd, pup, (0.001, 0.1, 1))
    found = Register(case_of(herd, ERRORS), range(len(herd.pedigree)))
    rows = np.arange(len(herd.pedigree)) - (np.arange(len(herd.pedigree)) > pup)
    rows[pup] = -1
    fewer = without(herd, pup)
    case = case_of(fewer, ERRORS)
    found.refresh(case, range(len(fewer.pedigree)), rows)
    assert found.refreshed == 1
    afresh = Register(case, range(len(fewer.pedigree)))
    assert found.shares == pytest.approx(afresh.shares, abs=1e-3)


@pytest.mark.slow
def test_litters_checks_and_deletions_one_after_the_other(herd):
    store, keys, chance = RegisterStore(), list(range(len(herd.pedigree))), np.random.default_rng(5)
    figures(herd, keys, store)
    for number in range(3):
        litter = herd.pedigree.litters[-1 - int(chance.integers(10))]
        herd = with_litter(herd, litter.sires[0], litter.dams[0], [ONE, SELF])
        herd = with_check(herd, int(chance.integers(len(herd.pedigree))), ONE)
        keys += [1000 + 2 * number, 1001 + 2 * number]
        gone = int(chance.choice(childless(herd)))
        herd = without(herd, gone)
        del keys[gone]
        warm = figures(herd, keys, store)
    meets_a_fresh_start(warm, herd)


def test_other_families_are_untouched(herd, refined):
    """The herd and three pups that have nothing to do with it, of which one is seen."""
    store, count = RegisterStore(most=2), len(herd.pedigree)
    both = beside_it(herd, [ONE, SELF, ONE])
    before = figures(both, store=store)
    refined.clear()
    after = figures(with_check(both, count, SELF), store=store)
    assert np.array_equal(after.chances[:count], before.chances[:count])
    assert after.error[:count] == pytest.approx(before.error[:count], abs=1e-12)
    assert after.chances[count, 0] > before.chances[count, 0]
    assert sum(refined) == 0


def test_nothing_changed_gives_the_same_to_the_last_digit(herd, refined):
    store = RegisterStore()
    first = figures(herd, store=store)
    refined.clear()
    second = figures(herd, store=store)
    assert sum(refined) == 0
    assert np.array_equal(second.chances, first.chances)


def test_a_store_that_is_empty_changes_nothing(herd):
    cold, without_store = figures(herd, store=RegisterStore()), figures(herd)
    assert np.array_equal(cold.chances, without_store.chances)
    assert np.array_equal(cold.error, without_store.error)


def test_other_laws_or_many_changes_begin_anew(herd):
    case = case_of(herd, ERRORS)
    found = Register(case, range(len(herd.pedigree)))
    seen = case_of(with_check(herd, 40, ONE), ERRORS)
    found.refresh(seen, range(len(herd.pedigree)))
    assert found.refreshed == 1
    found.refresh(replace(seen, locus=case_of(herd, ERRORS, 0.4).locus), range(len(herd.pedigree)))
    assert found.refreshed == 0
    found.refresh(case, range(len(herd.pedigree)))
    assert found.refreshed == 0
    rows = herd.likelihood[::-1].copy()
    found.refresh(case_of(replace(herd, likelihood=rows), ERRORS), range(len(herd.pedigree)))
    assert found.refreshed == 0


def test_after_so_many_refreshes_it_begins_anew(herd, monkeypatch):
    monkeypatch.setattr(solver, "MOST_REFRESHED", 2)
    found, times = Register(case_of(herd, ERRORS), range(len(herd.pedigree))), []
    for animal in range(4):
        herd = with_check(herd, animal, (0.3, 1, 0.4))
        found.refresh(case_of(herd, ERRORS), range(len(herd.pedigree)))
        times.append(found.refreshed)
    assert times == [1, 2, 0, 1]


def test_the_store_keeps_the_largest_and_gives_each_out_once(herd):
    register = Register(case_of(herd, ERRORS), range(len(herd.pedigree)))
    store = RegisterStore(most=1)
    store.put([1, 2, 3], register)
    store.put([4, 5], register)
    assert store.take([4, 5]) is None
    assert store.take([3, 9]).keys == (1, 2, 3)
    assert store.take([3, 9]) is None


def test_a_contradiction_by_a_refresh_is_left_to_a_fresh_start_to_find(herd, monkeypatch):
    store = RegisterStore()
    figures(herd, store=store)

    def refresh(*_):
        raise ContradictionError

    monkeypatch.setattr(Register, "refresh", refresh)
    assert np.array_equal(figures(herd, store=store).chances, figures(herd).chances)
