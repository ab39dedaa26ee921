"""Pups counted together in large families: the compiled kernels meet the exact engine.

Small herds are worked out by the kernels as plain Python; what needs thousands is slow.
"""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from genetics.core.exceptions import ContradictionError
from genetics.core.large_pedigree import solver
from genetics.core.large_pedigree.exact_trial import is_large
from genetics.core.large_pedigree.solver import Register, explained
from genetics.core.pedigree.litter import Litter
from genetics.core.pedigree.pedigree import Pedigree
from genetics.core.peeling.problem import BUDGET, PosteriorProblem
from genetics.core.penetrance.group_counts import SeenTogether
from genetics.core.posterior.dose import InconsistentEvidenceError, dose_posterior
from tests.benchmarks import registers
from tests.benchmarks.herds import FREQUENCY, Habits, bred, counted_together, looked_at
from tests.genetics.core.chances import tally_of
from tests.genetics.core.large_pedigree.test_solver import at_any_size, everyone, plain  # noqa: F401

SELF = (1, 0, 0)
# Their own evidence, or that an animal's dose is known.
row = st.one_of(
    st.tuples(*[st.integers(1, 20).map(lambda share: share / 20)] * 3),
    st.sampled_from([(1, 0, 0), (0, 1, 0), (0, 0, 1)]),
)


def count_of(draw, pups, misjudged):
    """A count of some of the pups, and of others without a name; or none."""
    named = tuple(pup for pup in pups if draw(st.booleans()))
    nameless = draw(st.integers(0, 2))
    there = len(named) + nameless
    shown = draw(st.lists(st.integers(0, 3), max_size=there))
    if not shown:
        return None
    counted = tuple(shown.count(stage) for stage in range(4))
    age_days = draw(st.sampled_from([20.0, 45.0, 120.0]))
    return tally_of([SeenTogether(named, nameless, counted, age_days)], {}, misjudged=misjudged)[0]


@st.composite
def counted_trees(draw):
    """Litters down one line, each of a pup of the last one or another boar, and a sow of its own
    or none; of most some pups were counted, and some have none that have a name."""
    misjudged = draw(st.sampled_from([0.0, 0.01]))
    litters, count, line = [], 0, -1
    for _ in range(draw(st.integers(1, 3))):
        first = line if line >= 0 else count
        others = count + (line < 0)
        sires = draw(st.sampled_from([(first,), (first, others)]))
        dams = draw(st.sampled_from([(), (others + 1,)]))
        begin = others + 2
        pups = tuple(range(begin, begin + draw(st.integers(0, 4))))
        count = begin + len(pups)
        tally = count_of(draw, pups, misjudged)
        if pups or tally:
            litters.append(Litter(pups, sires=sires, dams=dams, tally=tally))
        line = draw(st.sampled_from(pups)) if pups else line
    rows = np.array(draw(st.lists(row, min_size=count, max_size=count)), float)
    return Pedigree(tuple(map(str, range(count))), tuple(litters)), rows


@settings(
    max_examples=20, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(counted_trees(), st.sampled_from([0.0, 0.01]))
def test_a_family_without_loops_is_exact(plain, tree, errors):  # noqa: F811
    pedigree, rows = tree
    told = {"frequency": FREQUENCY, "errors": errors}
    case = PosteriorProblem.of(pedigree, rows, FREQUENCY, errors, None, BUDGET)
    try:
        exact = dose_posterior(pedigree, rows, **told)
    except InconsistentEvidenceError:
        assert not all(explained(case, family) for family in pedigree.families())
        return
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(solver, "LEAST", 1e-13)
        for family in pedigree.families():
            found = Register(case, family)
            figures = found.figures(range(0, len(family), 2))
            for shares in (found.shares, figures.shares):
                assert shares[: len(family)] == pytest.approx(exact.chances[family], abs=1e-9)


def two_litters_of_one_pair():
    """Two counted litters of one boar and sow, each with a pup without a name; two brothers of
    them have young by one sow, so that there is a loop, and pups are put back to their dam."""
    litters = []
    for pups, counted in (((2, 3, 4), (2, 2, 0, 0)), ((5, 6), (0, 1, 2, 0))):
        tally, _ = tally_of([SeenTogether(pups, 1, counted, 45.0)], {})
        litters.append(Litter(pups, sires=(0,), dams=(1,), tally=tally))
    young, _ = tally_of([SeenTogether((8,), 3, (1, 2, 1, 0), 60.0)], {})
    litters += [
        Litter((8,), sires=(2,), dams=(7,), tally=young),
        Litter((9, 10), sires=(5,), dams=(7,)),
        Litter((11,), sires=(3,), dams=(1,)),
        Litter((12,), sires=(3,), dams=(1,)),
    ]
    rows = np.random.default_rng(5).uniform(0.1, 1, (13, 3))
    return Pedigree(tuple(map(str, range(13))), tuple(litters)), rows


@pytest.mark.parametrize("errors", [0.0, 0.01])
def test_a_vicinity_that_holds_all_is_exact_with_loops_too(plain, errors):  # noqa: F811
    pedigree, rows = two_litters_of_one_pair()
    exact = dose_posterior(pedigree, rows, frequency=FREQUENCY, errors=errors).chances
    case = PosteriorProblem.of(pedigree, rows, FREQUENCY, errors, None, BUDGET)
    found = Register(case, everyone(case))
    figures = found.figures(everyone(case))
    assert np.abs(found.shares[:13] - exact).max() > 1e-4  # messages alone are not
    assert figures.refined[:13].all()
    assert figures.shares[:13] == pytest.approx(exact, abs=1e-9)


def test_a_litter_of_many_breeding_pups_is_left_at_the_edge(plain):  # noqa: F811
    tally, _ = tally_of([SeenTogether(tuple(range(2, 8)), 0, (3, 2, 1, 0), 45.0)], {})
    young = (Litter((6 + pup,), sires=(pup,)) for pup in range(2, 8))
    litters = (Litter(tuple(range(2, 8)), sires=(0,), dams=(1,), tally=tally), *young)
    pedigree = Pedigree(tuple(map(str, range(14))), litters)
    rows = np.random.default_rng(6).uniform(0.1, 1, (14, 3))
    exact = dose_posterior(pedigree, rows, frequency=FREQUENCY).chances
    case = PosteriorProblem.of(pedigree, rows, FREQUENCY, 0.0, None, BUDGET)
    figures = Register(case, everyone(case)).figures(everyone(case))
    assert figures.shares[:14] == pytest.approx(exact, abs=1e-6)


def test_a_counted_family_is_a_register(at_any_size):  # noqa: F811
    herd = counted_herd(1, animals=40)
    told = {"frequency": FREQUENCY, "errors": 0.01}
    exact = dose_posterior(herd.pedigree, herd.likelihood, **told)
    near = dose_posterior(
        herd.pedigree, herd.likelihood, budget=1, approximate=True, asked=[5], **told
    )
    assert near.method[5] == "refined"
    assert near.method.count("approximate") > 10
    assert near.tangled == ()
    assert np.abs(near.chances - exact.chances).max() < 0.1
    case = PosteriorProblem.of(herd.pedigree, herd.likelihood, FREQUENCY, 0.01, None, BUDGET)
    assert case.evidence.tallied
    assert is_large(max(herd.pedigree.families(), key=len))


def counted_herd(seed, animals=130, **habits):
    chance = np.random.default_rng(seed)
    told = {"founders": 8, "certain": 0.0, "unseen": 0.4} | habits
    return counted_together(chance, bred(chance, Habits(animals, **told)), 0.4)


@pytest.mark.slow
def test_errors_lie_below_their_estimates(plain):  # noqa: F811
    below = []
    for seed in (1, 2, 3, 4):
        herd = counted_herd(seed, animals=60)
        told = {"frequency": FREQUENCY, "errors": 0.01}
        exact = dose_posterior(herd.pedigree, herd.likelihood, **told)
        case = PosteriorProblem.of(herd.pedigree, herd.likelihood, FREQUENCY, 0.01, None, BUDGET)
        figures = Register(case, everyone(case)).figures(range(0, len(case.pedigree), 6))
        off = np.abs(figures.shares[: len(case.pedigree)] - exact.chances).max(axis=1)
        below += (off <= figures.errors[: len(off)]).tolist()
    assert np.mean(below) > 0.95


def test_a_count_that_is_new_is_followed(plain):  # noqa: F811
    herd = counted_herd(2, animals=40)
    without = tuple(replace(litter, tally=None) for litter in herd.pedigree.litters)
    before = Pedigree(herd.pedigree.ids, without)
    found = Register(
        PosteriorProblem.of(before, herd.likelihood, FREQUENCY, 0.01, None, BUDGET),
        range(len(before)),
    )
    case = PosteriorProblem.of(herd.pedigree, herd.likelihood, FREQUENCY, 0.01, None, BUDGET)
    was = found.shares.copy()
    found.refresh(case, everyone(case))
    afresh = Register(case, everyone(case))
    assert found.shares == pytest.approx(afresh.shares, abs=1e-6)
    assert np.abs(found.shares - was).max() > 0.05


def test_a_count_that_its_parents_cannot_have_is_found(plain):  # noqa: F811
    tally, _ = tally_of([SeenTogether((2,), 1, (0, 0, 0, 2), 90)], {}, misjudged=0)
    pedigree = Pedigree(tuple("abc"), (Litter((2,), sires=(0,), dams=(1,), tally=tally),))
    rows = np.array([SELF, SELF, (1, 1, 1)], float)
    case = PosteriorProblem.of(pedigree, rows, FREQUENCY, 0.0, None, BUDGET)
    with pytest.raises(ContradictionError):
        Register(case, everyone(case))
    assert not explained(case, everyone(case))


def test_a_count_that_next_to_no_litter_shows_is_weighed_all_the_same(plain):  # noqa: F811
    """Eight full within hours of birth, of whom no look is misread: the chance of that is smaller
    than a computer's smallest number, and yet one dose or two is the question."""
    pups = tuple(range(2, 10))
    tally, _ = tally_of([SeenTogether(pups, 0, (0, 0, 8, 0), 0.1)], {}, misjudged=0)
    of_one, of_two = tally.members[0].weights.max(axis=1)[1:]
    assert max(of_one, of_two) ** 8 < 1e-320
    pedigree = Pedigree(
        tuple(map(str, range(10))), (Litter(pups, sires=(0,), dams=(1,), tally=tally),)
    )
    rows = np.random.default_rng(3).uniform(0.3, 1, (10, 3))
    rows[2:, 2] *= of_one / of_two  # so that what else was seen speaks for one dose as much
    exact = dose_posterior(pedigree, rows, frequency=FREQUENCY).chances
    assert 0.2 < exact[2:, 1].min() < exact[2:, 1].max() < 0.8
    case = PosteriorProblem.of(pedigree, rows, FREQUENCY, 0.0, None, BUDGET)
    found = Register(case, everyone(case))
    assert found.shares[:10] == pytest.approx(exact, abs=1e-9)


@pytest.mark.slow
def test_errors_of_a_register_of_thousands_hold_as_well_with_counts_as_without():
    chance = np.random.default_rng(9)
    herd = bred(chance, Habits(1800, boars=6, certain=0.4))
    without, with_counts = (
        share_below(counted_together(chance, herd, share)) for share in (0.0, 0.3)
    )
    assert with_counts > 0.9
    assert with_counts > without - 0.02


def share_below(herd):
    """The share of a register's true errors that lie below their estimates."""
    told = {"frequency": FREQUENCY, "errors": 0.01}
    exact = dose_posterior(herd.pedigree, herd.likelihood, **told).chances
    case = PosteriorProblem.of(herd.pedigree, herd.likelihood, FREQUENCY, 0.01, None, BUDGET)
    family = max(herd.pedigree.families(), key=len)
    assert is_large(family)
    figures = Register(case, family).figures(range(0, len(family), 4))
    off = np.abs(figures.shares[: len(family)] - exact[family]).max(axis=1)
    assert not np.isnan(off).any()
    return np.mean(off <= figures.errors[: len(family)])


@pytest.mark.slow
def test_every_animal_of_a_large_register_with_counts_gets_a_figure():
    chance = np.random.default_rng(4)
    herd = looked_at(chance, registers.bred(chance, 4000, 12, 15))
    herd = counted_together(chance, herd, 0.2)
    told = {"frequency": FREQUENCY, "errors": 0.01, "approximate": True}
    dose = dose_posterior(herd.pedigree, herd.likelihood, asked=range(50), **told)
    assert dose.tangled == ()
    assert not np.isnan(dose.chances).any()
    assert set(dose.method[:50]) <= {"refined", "exact"}
