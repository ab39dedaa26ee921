"""What exceeds the budget, exact all the same: mixtures, rotated orders and compiled sums meet the
definition, the plain engine, numpy's einsum and pgmpy, and give way where they can't.

Small networks are summed by the kernels as plain Python; what compiles them is slow.
"""

import math
from bisect import bisect_right

import numpy as np
import pytest
from hypothesis import HealthCheck, assume, example, given, settings
from hypothesis import strategies as st
from pgmpy.inference import VariableElimination

from genetics.core.exceptions import ContradictionError
from genetics.core.inference import large_exact, order_annealing
from genetics.core.inference.contraction import contract
from genetics.core.inference.cutset_conditioning import choose_cutset
from genetics.core.inference.elimination_order import Plan
from genetics.core.inference.exact import Component, components, solve
from genetics.core.inference.factor_decomposition import insert_gamete_variables, mixture
from genetics.core.inference.factor_graph import Factor, Network, reduce_network
from genetics.core.inference.junction_tree import marginals
from genetics.core.inference.large_exact import large_exact_marginals
from genetics.core.inference.order_annealing import anneal
from genetics.core.inheritance.mendel import transmission
from genetics.core.peeling.problem import BUDGET, PosteriorProblem
from genetics.core.posterior import dose
from genetics.core.posterior.dose import dose_posterior
from tests.benchmarks.herds import FREQUENCY, Habits, bred
from tests.genetics.core.inference.test_elimination_order import definition_of_price, networks
from tests.genetics.core.posterior.test_against_pgmpy import as_network
from tests.genetics.core.posterior.test_dose import cases
from tests.genetics.core.small_pedigrees import definition_of_dose

by_hypothesis = settings(deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])


@pytest.fixture
def plain(monkeypatch):
    """The kernels as Python, on one thread: nobody waits for a compiler."""
    monkeypatch.setattr(large_exact, "contract", contract.plain)
    monkeypatch.setattr(order_annealing, "anneal", anneal.plain)
    monkeypatch.setattr(large_exact, "available", lambda: True)


def parts_of(pedigree, likelihood, frequency, errors=0.0):
    case = PosteriorProblem.of(pedigree, likelihood, frequency, errors, None, BUDGET)
    built = case.network(range(len(pedigree)))
    return built, list(components(built.network, reduce_network(built.network), BUDGET, tries=0))


def dear_doses(pedigree, likelihood, frequency, errors):
    """Chances of every animal, each component by the dear engine; None where impossible."""
    try:
        built, parts = parts_of(pedigree, likelihood, frequency, errors)
        exact = solve(built.network, BUDGET)
    except ContradictionError:
        return None
    found = dict(enumerate(exact.shares))
    for part in parts:
        reckoned = large_exact_marginals(part.states, part.factors, part.plan, BUDGET)
        found |= dict(part.spread(reckoned.shares))
    return np.array([found[built.animals[animal]] for animal in range(len(pedigree))])


@settings(by_hypothesis, max_examples=25)
@given(cases())
def test_it_meets_the_definition(plain, case):
    expected = definition_of_dose(*case)
    found = dear_doses(*case)
    if expected is None:
        assert found is None
    else:
        assert found == pytest.approx(expected[0], abs=1e-12)


@settings(by_hypothesis, max_examples=15)
@given(cases(most=9))
def test_it_agrees_with_variable_elimination(plain, case):
    pedigree, likelihood, frequency, errors = case
    found = dear_doses(*case)
    assume(found is not None)
    told = {f"seen {animal}": 1 for animal in range(len(pedigree))}
    inference = VariableElimination(as_network(*case))
    for animal in range(len(pedigree)):
        theirs = inference.query([f"a{animal}"], evidence=told, show_progress=False).values
        assert found[animal] == pytest.approx(theirs, abs=1e-10)


def herd(seed, animals, boars=3, litters=5, **habits):
    told = {"founders": 8, "certain": 0.0} | habits
    chance = np.random.default_rng(seed)
    return bred(chance, Habits(animals, boars=boars, litters=litters, **told))


@pytest.mark.parametrize(("seed", "spread"), [(0, 2000), (1, 2000), (2, 20)])
def test_a_herd_with_loops_as_the_plain_engine_has_it(plain, monkeypatch, seed, spread):
    monkeypatch.setattr(large_exact, "SPREAD", spread)  # from 20 on even small sums go by two steps
    bred_so = herd(seed, 40, doubtful=0.2)
    _, parts = parts_of(bred_so.pedigree, bred_so.likelihood, FREQUENCY, 0.01)
    part = max(parts, key=lambda one: one.plan.price)
    together = [factor.scope[:2] for factor in part.factors[::7] if len(factor.scope) > 1]
    together += [(other, one) for one, other in together]
    found = large_exact_marginals(part.states, part.factors, part.plan, BUDGET, together)
    expected = marginals(part.states, part.plan.order, part.factors, together)
    assert found.joint.keys() == expected.joint.keys()
    for pair, shares in expected.joint.items():
        assert found.joint[pair] == pytest.approx(shares, abs=1e-12)
    assert found.log_weight == pytest.approx(expected.log_weight, abs=1e-10)
    for one, other in zip(found.shares, expected.shares, strict=True):
        assert one == pytest.approx(other, abs=1e-12)


@pytest.mark.slow
def test_what_needs_too_much_room_is_worked_out_in_turns(plain, monkeypatch):
    monkeypatch.setattr(large_exact, "SPREAD", 20)  # whose room is the same in every turn
    bred_so = herd(0, 40, doubtful=0.2)
    _, parts = parts_of(bred_so.pedigree, bred_so.likelihood, FREQUENCY, 0.01)
    part = max(parts, key=lambda one: one.plan.price)
    together = [factor.scope[:2] for factor in part.factors if len(factor.scope) > 1]
    rooms, turns = [], []
    whole, told = large_exact._Tree.marginals, large_exact.combine_conditionals

    def measured(tree, *asked):
        rooms.append(tree.room)
        return whole(tree, *asked)

    def counted(found, variable):
        turns.append(variable)
        return told(found, variable)

    monkeypatch.setattr(large_exact._Tree, "marginals", measured)
    monkeypatch.setattr(large_exact, "combine_conditionals", counted)
    at_once = large_exact_marginals(part.states, part.factors, part.plan, BUDGET, together)
    assert not turns
    monkeypatch.setattr(large_exact, "ROOM", 0.8 * rooms[0])
    found = large_exact_marginals(part.states, part.factors, part.plan, BUDGET, together)
    assert len(set(turns)) > 1, "a variable within the turns of another"
    assert max(rooms[1:]) <= 0.8 * rooms[0]
    assert found.log_weight == pytest.approx(at_once.log_weight, abs=1e-10)
    assert found.joint.keys() == at_once.joint.keys()
    assert any(variable in pair for variable in turns for pair in found.joint)
    for pair, shares in at_once.joint.items():
        assert found.joint[pair] == pytest.approx(shares, abs=1e-12)
    for one, other in zip(found.shares, at_once.shares, strict=True):
        assert one == pytest.approx(other, abs=1e-12)


@given(networks(most=8), st.randoms(use_true_random=False))
def test_the_variable_held_is_the_cheapest_and_its_price_as_stated(network, chance):
    states, scopes = network
    order = list(range(len(states)))
    chance.shuffle(order)

    def price_of_turns(variable):
        held = [1 if one == variable else count for one, count in enumerate(states)]
        return states[variable] * definition_of_price(held, scopes, order)

    free = [one for one, count in enumerate(states) if count > 1]
    variable, price = choose_cutset(states, scopes, order)
    if not free:
        assert price == math.inf
    else:
        assert price == pytest.approx(price_of_turns(variable))
        assert price == pytest.approx(min(map(price_of_turns, free)))


def test_nothing_is_written_beyond_what_was_laid_out_for_it(plain, monkeypatch):
    bred_so = herd(0, 40, doubtful=0.2)
    _, parts = parts_of(bred_so.pedigree, bred_so.likelihood, FREQUENCY, 0.01)
    part = max(parts, key=lambda one: one.plan.price)
    tree = large_exact._Tree(part.states, part.plan.order, part.factors)
    ends, written = {table.begin: table.begin + table.size for table in tree.tables}, []
    run = large_exact._Tree._run

    def noted(self, scope, summed, begin, tables, weights):
        written.append((begin, begin + self._size(scope)))
        run(self, scope, summed, begin, tables, weights)

    monkeypatch.setattr(large_exact._Tree, "_run", noted)
    with tree.threads:
        tree.marginals(len(part.states))
    begins = sorted(ends)
    for begin, end in written:
        assert end <= ends[begins[bisect_right(begins, begin) - 1]]
    aside = (tree.aside.begin, tree.aside.begin + tree.aside.size)
    assert max(end for begin, end in written if aside[0] <= begin < aside[1]) == aside[1]


def test_more_than_pairs_together_are_left_to_others(plain):
    bred_so = herd(0, 20)
    _, parts = parts_of(bred_so.pedigree, bred_so.likelihood, FREQUENCY)
    part = max(parts, key=lambda one: one.plan.price)
    three = next(factor.scope for factor in part.factors if len(factor.scope) == 3)
    task = (part.states, part.factors, part.plan, BUDGET)
    assert large_exact_marginals(*task, [three[:2]]) is not None
    assert large_exact_marginals(*task, [three]) is None


def weights(states, factors):
    """The weight of all states of the variables, as one table."""
    whole = np.ones(states)
    for factor in factors:
        order = np.argsort(factor.scope)
        scope = [factor.scope[axis] for axis in order]
        shape = [states[one] if one in scope else 1 for one in range(len(states))]
        whole = whole * factor.table.transpose(order).reshape(shape)
    return whole


@pytest.mark.parametrize("alleles", [2, 3, 4])
def test_a_gamete_stands_between_a_parent_and_its_pup(alleles):
    table = transmission(alleles)
    genotypes = alleles * (alleles + 1) // 2
    factor = Factor((0, 1, 2), table)
    states, redrawn = insert_gamete_variables([genotypes] * 3, [factor], {0, 1, 2})
    assert states == [genotypes] * 3 + [alleles] * 2  # each parent hands on one of its alleles
    if alleles < 4:
        summed = weights(states, redrawn).sum(axis=(3, 4))
        assert summed == pytest.approx(table, abs=1e-15)


def test_tables_of_others_stay_as_they_are():
    factors = [Factor((0, 1, 2), transmission()), Factor((1, 2), np.eye(3))]
    assert insert_gamete_variables([3] * 3, factors, {0, 1}) == ([3] * 3, factors)


@example([[0] * 3, [1] * 3, [2] * 3, [4] * 3])  # the mean of one that is itself a mean
@given(st.lists(st.lists(st.integers(0, 4), min_size=3, max_size=3), min_size=2, max_size=5))
def test_a_mixture_comes_to_the_table(rows):
    table = np.array(rows, dtype=float)
    found = mixture(table, 0)
    if found is None:
        return
    shares, pure = found
    assert len(pure) < len(table)
    assert shares @ pure == pytest.approx(table, abs=1e-12)
    assert shares.sum(axis=1) == pytest.approx(1)
    assert all(any((slice_ == row).all() for row in table) for slice_ in pure)


def test_what_is_nearly_a_mean_is_no_mixture():
    assert mixture(np.array([[0.2, 0.4], [0.3, 0.5], [0.4, 0.6]]), 0) is not None
    assert mixture(np.array([[0.2, 0.4], [0.3, 0.5 + 1e-6], [0.4, 0.6]]), 0) is None


@st.composite
def products(draw):
    """Tables, the states of their variables, how many of those are kept, and a scale."""
    shape = draw(st.lists(st.integers(1, 4), min_size=1, max_size=6))
    axes = st.lists(st.sampled_from(range(len(shape))), max_size=4, unique=True).map(sorted)
    scopes = draw(st.lists(axes, min_size=1, max_size=4))
    chance = np.random.default_rng(draw(st.integers(0, 1000)))
    tables = [chance.random([shape[axis] for axis in scope]) for scope in scopes]
    return shape, scopes, tables, draw(st.integers(0, len(shape))), draw(st.sampled_from([1, 2.5]))


def summed_by(kernel, case, parts=1):
    shape, scopes, tables, kept, scale = case
    strides = np.zeros((len(tables), len(shape)), dtype=np.int64)
    for row, scope, table in zip(strides, scopes, tables, strict=True):
        row[scope] = np.array(table.strides, dtype=np.int64) // table.itemsize
    sizes = [table.size for table in tables]
    starts = np.cumsum([0, *sizes])
    size = math.prod(shape[:kept])
    before = np.random.default_rng(1).random(size)
    arena = np.concatenate([*(table.ravel() for table in tables), before])
    told = np.zeros(shape[0] if kept else 0)
    for part in range(parts):
        task = (arena, starts[-1], starts[:-1].copy(), strides, np.array(shape), kept, scale)
        kernel(*task, told, part, parts)
    return arena[starts[-1] :].reshape(shape[:kept]), before.reshape(shape[:kept]), told


def check_sum(kernel, case, parts=1):
    shape, scopes, tables, kept, scale = case
    ones = [(np.ones(states), [axis]) for axis, states in enumerate(shape)]
    given_so = [*ones, *zip(tables, scopes, strict=True)]
    terms = [term for pair in given_so for term in pair]
    expected = scale * np.einsum(*terms, list(range(kept)))
    found, before, told = summed_by(kernel, case, parts)
    assert found == pytest.approx(expected, rel=1e-12)
    if kept:
        others = tuple(range(1, kept))
        assert told == pytest.approx((before * expected).sum(axis=others), rel=1e-12)


@given(products())
def test_sums_of_products_are_numpys(case):
    check_sum(contract.plain, case)


@pytest.mark.slow
def test_compiled_sums_by_the_block_and_by_parts():
    chance = np.random.default_rng(5)
    shape = [3, 2, 3, 3, 2, 3, 3, 3, 2, 3, 3]
    for scopes in ([[0, 1, 2, 4, 6, 7, 8, 9, 10], [1, 3, 5], [0, 2, 3, 5, 6, 9]], [[2], [0]]):
        tables = [chance.random([shape[axis] for axis in scope]) for scope in scopes]
        for kept in (11, 9, 5, 1):
            check_sum(contract, (shape, scopes, tables, kept, 1.5))
            check_sum(contract, (shape, scopes, tables, kept, 1.5), parts=2)


def test_faint_tables_are_left_to_others(plain):
    network = Network([2, 2])
    network.factor((0, 1), np.array([[1, 1e-100], [1e-100, 1]]))
    network.factor((0,), np.array([1e-160, 1]))
    network.factor((1,), np.array([1, 1e-160]))
    (part,) = components(network, reduce_network(network), BUDGET)
    assert marginals(part.states, part.plan.order, part.factors).log_weight < math.log(1e-99)
    network.factor((0,), np.array([1, 1e-160]))
    (part,) = components(network, reduce_network(network), BUDGET)
    assert large_exact_marginals(part.states, part.factors, part.plan, BUDGET) is None


def test_entries_too_faint_are_left_to_others(plain):
    """The largest entry of every table is near 1, and what is lost would turn the answer round."""
    network = Network([2] * 30)
    for one in range(30):
        network.factor((one,), np.array([1, 1e-28] if one < 15 else [1e-28, 1]))
    for one in range(29):
        network.factor((one, one + 1), np.array([[1, 1e-300], [1e-300, 1]]))
    part = Component(
        list(range(30)), [(0, 1)] * 30, [2] * 30, network.factors, Plan(tuple(range(30)), 1e2)
    )
    assert large_exact_marginals(part.states, part.factors, part.plan, BUDGET) is None


@pytest.fixture
def low(monkeypatch):
    """A budget that a small herd exceeds, but not by more than is allowed once."""
    monkeypatch.setattr(dose, "BUDGET", 2e3)
    return 2e3


def test_what_is_asked_once_may_cost_more_than_what_is_asked_often(plain, low):
    bred_so = herd(4, 40, doubtful=0.2)
    told = {"frequency": FREQUENCY, "errors": 0.01}
    exact = dose_posterior(bred_so.pedigree, bred_so.likelihood, **told)
    assert low < max(exact.prices) < low * large_exact.ONE_OFF_BUDGET_FACTOR * large_exact.HOPEFUL
    often = dose_posterior(bred_so.pedigree, bred_so.likelihood, budget=low, **told)
    assert often.tangled
    once = dose_posterior(
        bred_so.pedigree, bred_so.likelihood, budget=low, approximate=True, asked=(), **told
    )
    assert set(once.method) == {"exact"}
    assert once.error.tolist() == [0] * len(bred_so.pedigree)
    assert once.chances == pytest.approx(exact.chances, abs=1e-12)
    assert once.log_likelihood == pytest.approx(exact.log_likelihood, abs=1e-9)
    assert once.sire_shares.keys() == exact.sire_shares.keys()
    for litter, shares in exact.sire_shares.items():
        assert once.sire_shares[litter] == pytest.approx(shares, abs=1e-12)


@pytest.mark.parametrize("what", ["available", "ROOM", "ONE_OFF_BUDGET_FACTOR"])
def test_where_it_cant_be_afforded_it_is_refined(plain, low, monkeypatch, what):
    poor = {"available": lambda: False, "ROOM": 10, "ONE_OFF_BUDGET_FACTOR": 1e-3}
    monkeypatch.setattr(large_exact, what, poor[what])
    bred_so = herd(4, 40, doubtful=0.2)
    told = {"frequency": FREQUENCY, "errors": 0.01, "budget": low, "approximate": True}
    found = dose_posterior(bred_so.pedigree, bred_so.likelihood, asked=[5, 30], **told)
    assert "refined" in found.method
    assert found.tangled == ()
    assert np.isnan(found.log_likelihood)


@pytest.mark.slow
def test_a_dear_herd_as_the_plain_engine_has_it(monkeypatch):
    monkeypatch.setattr(large_exact, "SHARED", 1e3)  # threads share the work
    habits = Habits(120, boars=5, litters=9, certain=0.0)
    bred_so = bred(np.random.default_rng(12), habits)
    told = {"frequency": FREQUENCY}
    exact = dose_posterior(bred_so.pedigree, bred_so.likelihood, budget=10**8.5, **told)
    monkeypatch.setattr(dose, "BUDGET", max(exact.prices) / 4)
    told["budget"] = max(exact.prices) / 4
    assert dose_posterior(bred_so.pedigree, bred_so.likelihood, **told).tangled
    found = dose_posterior(bred_so.pedigree, bred_so.likelihood, approximate=True, **told)
    assert set(found.method) == {"exact"}
    assert found.chances == pytest.approx(exact.chances, abs=1e-12)
