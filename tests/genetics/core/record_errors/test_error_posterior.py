"""The chance that a record is wrong, and families that cannot be."""

import numpy as np
import pytest

from genetics.core.inheritance.mendel import hardy_weinberg
from genetics.core.pedigree.litter import Litter
from genetics.core.pedigree.pedigree import Pedigree
from genetics.core.penetrance.likelihood import observation_likelihood
from genetics.core.penetrance.observation import Observation
from genetics.core.posterior.dose import dose_posterior
from genetics.core.record_errors.error_posterior import (
    Misfit,
    doubts,
    looks_of_another,
    misfits,
    misread_looks,
)
from tests.genetics.core.slips import chance_and_slips

SELF, MARKED, OVERMARKED = np.eye(3, dtype=bool)
UNSEEN = np.ones(3, dtype=bool)
BLACK, CHOCOLATE = np.array([True, True, False]), np.array([False, False, True])


def all_of_another(prior, looks, misjudged, mixed_up):
    """The chance that the looks are another animal's, summed over the doses of both."""
    chances = [chance_and_slips(dose, looks, misjudged)[0] for dose in range(3)]
    another = mixed_up * np.mean(chances)
    return another / (another + (1 - mixed_up) * np.array(prior) @ chances)


def by_definition(prior, looks, misjudged, mixed_up):
    """The chance that each look is wrong, summed over doses, paces, mix-ups and every slip."""
    wrong, whole = np.zeros(len(looks)), 0.0
    for dose in range(3):
        chance, slips = chance_and_slips(dose, looks, misjudged)
        # Its own looks, or else another animal's of this dose, whatever its own may be.
        own, another = prior[dose] * (1 - mixed_up), mixed_up / 3 * chance
        whole += own * chance + another
        wrong += own * slips + another
    return wrong / whole


@pytest.mark.parametrize(
    "looks",
    [
        [Observation("none", 150, "mild")],
        [Observation("none", 150, "hot")],
        [Observation("full", 150, "mild"), Observation("none", 160, "hot")],
        [
            Observation("none", 30, "mild"),
            Observation("coming", 60, "hot"),
            Observation("overmarked", 70, "hot", spread="face", stain="heavy"),
            Observation("full", 150, "mild"),
        ],
    ],
)
@pytest.mark.parametrize("prior", [(0.2, 0.5, 0.3), (0.0, 1.0, 0.0), (0.01, 0.01, 0.98)])
def test_it_works(looks, prior):
    rates = {"misjudged": 0.03, "mixed_up": 0.01}
    posterior = np.array(prior) * observation_likelihood(looks, **rates)
    said = misread_looks(posterior / posterior.sum(), looks, **rates)
    np.testing.assert_allclose(said, by_definition(prior, looks, **rates), atol=1e-12)
    row = posterior / hardy_weinberg(np.array([0.75, 0.25]))
    dose = dose_posterior(Pedigree(("one",), ()), row[None] / row.max(), frequency=0.25)
    (another,) = looks_of_another(Pedigree(("one",), ()), dose, [looks], **rates).values()
    assert another == pytest.approx(all_of_another(prior, looks, **rates), abs=1e-12)
    assert another <= min(said) + 1e-12, "it is what they share"


def test_looks_that_are_all_anothers_are_found():
    """A sow of no dose for certain, by her pups, seen overmarked three times; and one not seen."""
    pedigree = Pedigree(("sow", "other"), ())
    looks = [[Observation("overmarked", age, "mild") for age in (200, 300, 400)], []]
    own = observation_likelihood(looks[0])
    rows = np.array([own * [1, 0, 0], [1, 1, 1]])
    dose = dose_posterior(pedigree, rows, frequency=0.25, errors=0.01)
    assert looks_of_another(pedigree, dose, looks) == pytest.approx({0: 1}, abs=1e-3)


def test_a_look_that_all_else_speaks_against_is_wrong():
    # One dose for certain, full at five months, and once written as a self.
    looks = [("coming", 70), ("full", 150), Observation("none", 170, "mild"), ("full", 200)]
    wrong = misread_looks(np.array([0.0, 1, 0]), looks)
    assert wrong[2] > 0.99
    assert max(wrong[:2] + wrong[3:]) < 0.02


def test_a_look_after_heat_is_not_doubted_for_paleness():
    looks = [("full", 150), Observation("coming", 200, "hot"), ("full", 260)]
    assert max(misread_looks(np.array([0.0, 1, 0]), looks)) < 0.02
    looks[1] = Observation("coming", 200, "mild")
    assert misread_looks(np.array([0.0, 1, 0]), looks)[1] > 0.5


def a_litter(young, *, errors, seen=(OVERMARKED, SELF)):
    """A boar and a sow seen for certain, and their litter."""
    pedigree = Pedigree(
        tuple("ab") + tuple(map(str, range(len(young)))),
        (Litter(tuple(range(2, 2 + len(young))), sires=(0,), dams=(1,)),),
    )
    likelihood = np.array([*seen, *young], float)
    return pedigree, dose_posterior(pedigree, likelihood, frequency=0.25, errors=errors)


def test_a_sires_doubt_is_the_chance_of_another_boar():
    # A two-dose boar and a self have one-dose young only; another boar, of the founders' kind,
    # has three such in a row with chance p.
    pedigree, dose = a_litter([MARKED] * 3, errors=0.01)
    p = hardy_weinberg(np.array([0.75, 0.25])) @ [0, 1 / 8, 1]
    (doubt,) = doubts(pedigree, dose, [[]] * 5)
    assert doubt[:3] == ("sire", 0, -1)
    assert doubt.chance == pytest.approx(0.01 * p / (0.99 + 0.01 * p), rel=1e-12)


def test_a_self_pup_of_a_two_dose_boar_is_another_boars():
    pedigree, dose = a_litter([SELF, MARKED], errors=0.001)
    (doubt,) = doubts(pedigree, dose, [[]] * 4)
    assert doubt.chance == pytest.approx(1)


def test_the_most_doubtful_come_first():
    pedigree = Pedigree(tuple("abcd"), (Litter((2, 3), sires=(0,), dams=(1,)),))
    looks = [
        [("overmarked", 300)],
        [("none", 300)],
        [("full", 200)],
        [("full", 150), ("none", 160)],
    ]
    likelihood = np.array([observation_likelihood(seen) for seen in looks])
    dose = dose_posterior(pedigree, likelihood, frequency=0.25, errors=0.01)
    ranked = doubts(pedigree, dose, looks)
    assert len(ranked) == 1 + 5
    assert ranked[0][:3] == ("look", 3, 1)
    assert [doubt.chance for doubt in ranked] == sorted((d.chance for d in ranked), reverse=True)


def test_without_rates_of_wrong_sires_no_sire_is_doubted():
    pedigree, dose = a_litter([MARKED], errors=0.0)
    assert doubts(pedigree, dose, [[]] * 3) == []


def test_many_looks_do_not_run_out_of_scale():
    looks = [("full", 200 + day) for day in range(40)]
    posterior = observation_likelihood(looks)
    assert max(misread_looks(posterior / posterior.sum(), looks)) < 0.01


def family(sire, dam, pup):
    pedigree = Pedigree(tuple("sdp"), (Litter((2,), sires=(0,), dams=(1,)),))
    return misfits(pedigree, np.array([sire, dam, pup]))


@pytest.mark.parametrize(
    ("sire", "dam", "pup", "blamed"),
    [
        (OVERMARKED, UNSEEN, SELF, [(0,)]),
        (UNSEEN, SELF, OVERMARKED, [(1,)]),
        (OVERMARKED, OVERMARKED, SELF, [(0,), (1,)]),
        (SELF, SELF, MARKED, [(0, 1)]),
        (OVERMARKED, OVERMARKED, MARKED, [(0, 1)]),
        (MARKED, MARKED, SELF, []),
        (OVERMARKED, SELF, MARKED, []),
        (CHOCOLATE, CHOCOLATE, BLACK, [(0, 1)]),
        (BLACK, BLACK, CHOCOLATE, []),
        (CHOCOLATE, BLACK, BLACK, []),
    ],
)
def test_it_finds_a_pup_that_its_parents_cannot_have(sire, dam, pup, blamed):
    assert family(sire, dam, pup) == [Misfit(0, 2, parents) for parents in blamed]


def test_of_several_candidates_one_that_fits_is_enough():
    allowed = np.array([OVERMARKED, SELF, MARKED, SELF])
    for sires, found in (((0, 2), []), ((0,), [Misfit(0, 3, (0,))])):
        pedigree = Pedigree(tuple("abcp"), (Litter((3,), sires=sires, dams=(1,)),))
        assert misfits(pedigree, allowed) == found


def test_it_refuses_a_rate_at_which_a_look_says_nothing():
    with pytest.raises(ValueError, match="3/4"):
        misread_looks(np.array([0.2, 0.5, 0.3]), [("none", 100)], misjudged=0.8)


def test_an_animal_that_starts_early_and_ends_late_is_not_accused():
    """Two doses, by its young: coming at three weeks, full at seven, overmarked at nine. Of another
    that shows nothing at twelve weeks the look that found points at nine is still doubted."""
    looks = [("coming", 22), ("full", 49), ("overmarked", 63)]
    assert max(misread_looks(np.array([0.0, 0.001, 0.999]), looks)) < 0.05
    looks = [("none", 30), ("coming", 66), ("none", 84), ("none", 150), ("none", 330)]
    posterior = np.array([0.6, 0.35, 0.05]) * observation_likelihood(looks)
    wrong = misread_looks(posterior / posterior.sum(), looks)
    assert wrong[1] > 0.9
    assert max(wrong[0], *wrong[2:]) < 0.02
