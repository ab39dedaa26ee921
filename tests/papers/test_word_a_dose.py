"""A dose in words, with its grounds."""

import pytest

from herdbook.papers.dose_statement import (
    BoughtAs,
    CoatHides,
    DoseStatement,
    Look,
    ParentDoses,
    Young,
)
from herdbook.papers.wording import dose


def test_it_works():
    proved = DoseStatement("proved", 2, 0.9971, (Young(marked=14, mates="self"),))
    assert dose.dose_headline(proved) == "Overmarked (two doses), proved by offspring"
    assert dose.dose_chance(proved) == "Chance: 99.7%."
    assert dose.dose_grounds(proved) == "Mated to selfs: 14 judged pups (14 clean marked)."
    assert dose.dose_short(proved) == "overmarked, proved"


def test_what_the_seller_saw_is_said_to_be_seen():
    seen = DoseStatement("seen", 1, 0.97, (Look("full", "5 months", "3 November 2026"),))
    assert dose.dose_headline(seen) == "Clean marked (one dose), as seen by the seller"
    assert dose.dose_chance(seen) == "Chance by all records: 97%."
    assert dose.dose_grounds(seen) == ("Clean marked, points full at 5 months (3 November 2026).")


def test_a_likely_dose_is_probable_and_another_not_yet_certain():
    for likely in (0.83, 0.67):
        assert dose.dose_headline(DoseStatement("probable", 1, likely)) == (
            "Probably clean marked (one dose)"
        )
    for even in (0.5, 0.503):
        assert dose.dose_headline(DoseStatement("probable", 1, even)).startswith("Most likely")
    assert dose.dose_headline(DoseStatement("probable", 0, 0.5)) == (
        "Most likely self (no dose), not yet certain"
    )


def test_an_unknown_dose_is_stated_as_such():
    unknown = DoseStatement("unknown", grounds=(CoatHides("black"),))
    assert dose.dose_headline(unknown) == "Dose not known"
    assert dose.dose_chance(unknown) == ""
    assert dose.dose_grounds(unknown) == "Points cannot be seen on its black coat."
    assert dose.dose_grounds(DoseStatement("unknown")) == ("No record tells which dose it has.")


@pytest.mark.parametrize(
    ("ground", "words"),
    [
        (Look("none", "3 weeks"), "no points at 3 weeks"),
        (Young(selfs=1), "from all matings: 1 judged pup (1 self)"),
        (
            Young(selfs=2, marked=3, overmarked=1, mates="marked"),
            "mated to clean marked mates: 6 judged pups (2 selfs, 3 clean marked, 1 overmarked)",
        ),
        (ParentDoses(2, None), "from its parents: sire overmarked (two doses), dam dose not known"),
        (BoughtAs("overmarked"), "bought as overmarked"),
        ("a remark of the breeder's", "a remark of the breeder's"),
    ],
)
def test_each_ground_has_its_words(ground, words):
    assert dose.ground_words(ground) == words


@pytest.mark.parametrize(
    "values",
    [
        {"kind": "proved", "dose": 1, "chance": 0.9899, "grounds": ("x",)},
        {"kind": "proved", "dose": 1, "chance": 0.995},
        {"kind": "proved", "dose": 1},
        {"kind": "probable", "dose": 1},
        {"kind": "probable", "dose": 3, "chance": 0.5},
        {"kind": "probable", "dose": 1, "chance": 1.5},
        {"kind": "seen"},
        {"kind": "unknown", "dose": 1},
        {"kind": "certain", "dose": 1},
    ],
)
def test_it_refuses_a_statement_that_contradicts_itself(values):
    with pytest.raises(ValueError, match="."):
        DoseStatement(**values)


def test_it_refuses_young_that_nobody_judged():
    with pytest.raises(ValueError, match="no young were judged"):
        Young()


def test_a_figure_that_is_not_exact_says_what_it_may_be_off_by():
    about = DoseStatement("probable", 1, 0.834, error=0.08)
    assert dose.dose_chance(about) == "Chance: about 83%, give or take 8% (not exact)."
    assert dose.dose_short(about) == "clean marked, about 83%"
    seen = DoseStatement("seen", 2, 0.9996, (Look("overmarked"),), error=0.002)
    assert dose.dose_chance(seen) == "By all records: over 99.9%, give or take 0.2% (not exact)."


def test_what_is_not_exact_proves_only_what_stays_proved_at_its_worst():
    young = (Young(marked=14, mates="self"),)
    assert DoseStatement("proved", 2, 0.999, young, error=0.005).error == 0.005
    with pytest.raises(ValueError, match="proved begins"):
        DoseStatement("proved", 2, 0.993, young, error=0.005)
    with pytest.raises(ValueError, match="between 0 and 1"):
        DoseStatement("probable", 2, 0.993, young, error=-0.1)
