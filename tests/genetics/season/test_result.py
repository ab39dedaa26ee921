"""What came of a plan, as values: read back as written, and read from plans of before."""

import json

import pytest

from genetics.matings.showable_rate import Outlook, Share
from genetics.season.result import (
    Basis,
    ColourBasis,
    FoundPlan,
    LimitCost,
    Obstacle,
    PairReason,
    PlannedPair,
    SeasonResult,
    UnmatedSow,
    WelfareCost,
)
from herdbook.book.rules.mating_cautions import Doubted

PAIR = PlannedPair(1, 2, 2.9, 1.4, 0.7, 0.2, 0.8, 0.01, 0.0, 0.1)
PLAN = FoundPlan(0.8, 0.9, False, 0.14, (PAIR,))
SHARE = Share(0.5, 1, 2)
BASIS = Basis(
    left_out={3: "sow-young"},
    pairs_out={"roan-to-roan": 2},
    risks_unknown=1,
    in_doubt={2: Doubted(sire=0.4)},
    alike=0.2,
    outlook=Outlook(SHARE, SHARE),
    colour=ColourBasis({"albino": 3}, 4, 0.01),
    off=0.02,
    unknown=1,
    sires_as_written=True,
)
FOUND = SeasonResult(
    BASIS,
    plan=PLAN,
    proven=False,
    least_related=True,
    rests=(UnmatedSow(3, "sow-young"), UnmatedSow(4, "boars", boars=(2,), instead=1)),
    why={1: PairReason("full", 5, 0.3)},
    costs=(LimitCost("pens", 0, 0.0, 0.1, 0.2),),
    care=(WelfareCost(("satin", "satin-pups"), 1, 0, 2, 0.1, 0.2),),
    others=(PLAN,),
)
NONE = SeasonResult(
    BASIS, obstacles=(Obstacle("held-forbidden", 0, None, 1, 2, ("asked",), 0.25),), proven=True
)


@pytest.mark.parametrize("result", [FOUND, NONE], ids=["found", "none"])
def test_it_is_read_back_as_it_was_written(result):
    assert SeasonResult.of(json.loads(json.dumps(result.as_data()))) == result


def test_what_is_at_its_default_is_not_written():
    assert FOUND.as_data()["rests"][0] == {"sow": 3, "why": "sow-young"}
    assert FOUND.as_data()["rests"][1] == {"sow": 4, "why": "boars", "boars": [2], "instead": 1}


def test_a_plan_of_before_lacks_what_came_later():
    pair = {"sow": 1, "boar": 2, "pups": 2.9, "one": 1.4, "two": 0.7, "inbreeding": 0.01}
    plan = {"value": 1.4, "bound": 1.4, "proven": True, "coancestry": 0.1, "pairs": [pair]}
    kept = plan | {"rests": [], "why": {"1": {"why": "best"}}, "costs": [], "others": [plan]}
    result = SeasonResult.of(kept)
    assert result.plan.pairs[0].showable == 0.0
    assert result.basis == Basis()
    assert (result.care, result.least_related) == ((), None)
    assert result.why == {1: PairReason("best")}


def test_a_pedigree_that_contradicted_itself_in_a_plan_of_before():
    result = SeasonResult.of({"none": [{"limit": "pedigree"}], "proven": True})
    assert result.obstacles == (Obstacle("pedigree", 0),)
    assert result.plan is None
