"""Published carrier risks and test matings, worked out through whole pedigrees.

A recessive condition is two doses; a normal animal has none or one, a carrier one. The sources
stand in carrier_risk.json and test_matings.csv beside each case.
"""

import csv
import json
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest

from genetics.core.pedigree.litter import Litter
from genetics.core.pedigree.pedigree import Pedigree
from genetics.core.posterior.dose import dose_posterior

HERE = Path(__file__).parent
CASES = {
    case["name"]: case
    for case in json.loads((HERE / "carrier_risk.json").read_text())["carrier_risk"]
}
MATINGS = list(csv.DictReader((HERE / "test_matings.csv").open()))

NORMAL, CLEAR, CARRIER, RECESSIVE, UNSEEN = (
    (1, 1, 0),
    (1, 0, 0),
    (0, 1, 0),
    (0, 0, 1),
    (1, 1, 1),
)
HALF_A_CARRIER = (0.5, 0.5, 0)


class Stock:
    """A pedigree written down animal by animal."""

    def __init__(self):
        self.rows, self.priors, self.litters = [], [], []

    def founder(self, row=UNSEEN, prior=(np.nan,) * 3):
        self.rows.append(row)
        self.priors.append(prior)
        return len(self.rows) - 1

    def pup(self, sire, dam, row=UNSEEN):
        pup = self.founder(row)
        self.litters.append(Litter((pup,), sires=(sire,), dams=(dam,)))
        return pup

    def chance_of_one_dose(self, animal):
        pedigree = Pedigree(tuple(map(str, range(len(self.rows)))), tuple(self.litters))
        dose = dose_posterior(
            pedigree,
            np.array(self.rows, float),
            frequency=0.1,
            founder_prior=np.array(self.priors, float),
        )
        return dose.chances[animal, 1]


def sib_of_a_recessive(row):
    """A normal animal out of two normal parents that also had a recessive: a carrier 2 in 3."""
    stock = Stock()
    sire, dam = stock.founder(NORMAL), stock.founder(NORMAL)
    stock.pup(sire, dam, RECESSIVE)
    return stock, stock.pup(sire, dam, row)


def normal_pups(stock, animal, mates):
    for row in mates:
        stock.pup(animal, stock.founder(row), NORMAL)


def of_two_hypotheses(mates):
    stock = Stock()
    animal = stock.founder(prior=HALF_A_CARRIER)
    normal_pups(stock, animal, mates)
    return stock, animal


def sons(count):
    """A son shows the allele on his dam's X; here a mate of two doses lets hers show alike."""
    return of_two_hypotheses([RECESSIVE] * count)


def normal_pups_from_a_recessive(count):
    stock, animal = sib_of_a_recessive(NORMAL)
    normal_pups(stock, animal, [RECESSIVE] * count)
    return stock, animal


STOCKS = {
    # Ogino and Wilson 2004; the test finds nine carriers in ten
    "xlinked_3_unaffected_sons": lambda: sons(3),
    "AR_sib_negative_test_90pct": lambda: sib_of_a_recessive((1, 0.1, 0)),
    # Britannica, human genetic disease
    "DMD_two_unaffected_sons": lambda: sons(2),
    # the textbook argument on test matings
    "polled_bull_2horned_3het_5polled": lambda: of_two_hypotheses([RECESSIVE] * 2 + [CARRIER] * 3),
} | {
    f"sib_of_recessive_testcrossed_n{count}": lambda count=count: normal_pups_from_a_recessive(
        count
    )
    for count in (1, 2, 3, 5, 7, 10)
}


def test_every_published_case_has_its_pedigree():
    assert STOCKS.keys() == CASES.keys()


@pytest.mark.parametrize("name", STOCKS)
def test_the_published_risk(name):
    stock, animal = STOCKS[name]()
    carrier = Fraction(CASES[name]["posterior"][0])
    assert stock.chance_of_one_dose(animal) == pytest.approx(float(carrier), abs=1e-14)


def odds_after_test_matings(mates, count):
    """Odds on a carrier, from even, after that many normal young."""
    if mates == "own_daughters":
        stock = Stock()
        animal = stock.founder(prior=HALF_A_CARRIER)
        for _ in range(count):
            daughter = stock.pup(animal, stock.founder(CLEAR))
            stock.pup(animal, daughter, NORMAL)
    else:
        row = {"recessive": RECESSIVE, "known_carrier": CARRIER}[mates]
        stock, animal = of_two_hypotheses([row] * count)
    chance = stock.chance_of_one_dose(animal)
    return chance / (1 - chance)


@pytest.mark.parametrize("row", MATINGS, ids=lambda row: f"{row['mates']} {row['alpha']}")
def test_how_many_normal_young_clear_a_parent(row):
    # Christensen, Population Genetics (KVL), table of test matings, with the strict numbers
    alpha, strict = float(row["alpha"]), int(row["n_strict_p^n<=alpha"])
    assert odds_after_test_matings(row["mates"], strict) <= alpha
    assert odds_after_test_matings(row["mates"], strict - 1) > alpha
    for count, printed in (
        (strict, row["p^n_at_strict"]),
        (int(row["n_printed_KVL"]), row["p^n_at_printed"]),
    ):
        odds = odds_after_test_matings(row["mates"], count)
        assert odds == pytest.approx(float(printed), abs=6e-8)
        exact = float(Fraction(row["p_normal_if_carrier"]) ** count)
        assert odds == pytest.approx(exact, rel=1e-10)
