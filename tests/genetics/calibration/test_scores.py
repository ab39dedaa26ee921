"""What was said is set beside what came true: the truth is a breeder's, not the calculation's."""

import datetime

import pytest
from django.utils import timezone

from genetics.calibration import scores
from genetics.calibration.scores import proved_doses, score_of
from genetics.models import Said
from herdbook.book.partial_date import PartialDate
from tests.factories import AnimalFactory, LitterFactory, LookFactory

BORN = PartialDate(2026, 1, 1)
GROWN = datetime.date(2026, 7, 1)


def born(cast, **values):
    litter = LitterFactory(
        herd=cast.herd,
        born=BORN,
        source="home",
        dam=values.pop("dam", None),
        boars=values.pop("boars", ()),
    )
    return AnimalFactory(herd=cast.herd, litter=litter, **values)


def say(animal, chances, on=datetime.date(2026, 2, 1)):
    noon = timezone.make_aware(datetime.datetime.combine(on, datetime.time(12)))
    none, one, two = chances
    Said.objects.create(
        animal=animal,
        said_at=noon,
        revision=1,
        dose0=none,
        dose1=one,
        dose2=two,
        method="exact",
        error=0.0,
        engine="1-00000000",
    )


@pytest.mark.parametrize(("stage", "dose"), [("none", 0), ("full", 1), ("overmarked", 2)])
def test_it_works(cast, stage, dose):
    pup = born(cast)
    LookFactory(animal=pup, on=GROWN, stage=stage)
    assert proved_doses()[pup.pk] == (dose, GROWN)


@pytest.mark.parametrize(
    "values",
    [
        {"on": datetime.date(2026, 5, 1), "stage": "none"},
        {"on": GROWN, "stage": "coming"},
        {"on": GROWN, "stage": "none", "warmth": "hot"},
        {"on": GROWN, "stage": "overmarked", "warmth": "cold"},
    ],
)
def test_it_refuses_a_look_that_proves_nothing(cast, values):
    pup = born(cast)
    LookFactory(animal=pup, **values)
    assert pup.pk not in proved_doses()


def test_it_refuses_looks_that_do_not_agree(cast):
    pup = born(cast)
    LookFactory(animal=pup, on=GROWN, stage="none")
    LookFactory(animal=pup, on=datetime.date(2026, 8, 1), stage="full")
    assert pup.pk not in proved_doses()


def test_it_refuses_a_black_animal(cast):
    pup = born(cast, coat="black")
    LookFactory(animal=pup, on=GROWN, stage="none")
    assert pup.pk not in proved_doses()


@pytest.mark.parametrize(
    ("marked", "selfs", "dose"),
    [(7, 0, 2), (6, 0, None), (2, 2, 1), (6, 1, None), (0, 7, 0), (0, 6, None)],
)
def test_young_from_a_self_prove_their_parent(cast, marked, selfs, dose):
    sow = born(cast, sex="sow")
    LookFactory(animal=sow, on=GROWN, stage="none")
    boar = born(cast, sex="boar", coat="black")
    for number in range(marked + selfs):
        pup = born(cast, dam=sow, boars=[boar])
        LookFactory(
            animal=pup,
            on=GROWN + datetime.timedelta(days=number),
            stage="full" if number < marked else "none",
        )
    assert proved_doses().get(boar.pk) == (None if dose is None else (dose, GROWN))


def test_young_from_a_mate_who_is_no_self_prove_nothing(cast):
    sow = born(cast, sex="sow")
    LookFactory(animal=sow, on=GROWN, stage="full")
    boar = born(cast, sex="boar", coat="black")
    for _ in range(8):
        LookFactory(animal=born(cast, dam=sow, boars=[boar]), on=GROWN, stage="full")
    assert boar.pk not in proved_doses()


def test_only_what_was_said_before_it_was_proved_is_scored(cast, monkeypatch):
    monkeypatch.setattr(scores, "ENOUGH", 1)
    pup, waiting = born(cast), born(cast)
    LookFactory(animal=pup, on=GROWN, stage="full")
    say(pup, (0.2, 0.7, 0.1))
    say(pup, (0.0, 1.0, 0.0), on=GROWN)
    say(waiting, (0.2, 0.7, 0.1))
    score = score_of(cast.herd)
    assert (score.animals, score.said, score.waiting) == (1, 1, 1)
    # By hand: 0.2^2 + 0.3^2 + 0.1^2, and 1 - (0.2^2 + 0.7^2 + 0.1^2).
    assert score.brier == pytest.approx(0.14)
    assert score.expected == pytest.approx(0.46)
    assert [(band.low, band.said, band.came_true) for band in score.bands] == [
        (0.05, 1, 0.0),
        (0.2, 1, 0.0),
        (0.6, 1, 1.0),
    ]


def test_the_same_chances_by_another_method_count_once(cast):
    pup = born(cast)
    LookFactory(animal=pup, on=GROWN, stage="full")
    for _ in range(2):
        say(pup, (0.2, 0.7, 0.1))
    say(pup, (0.1, 0.8, 0.1))
    assert score_of(cast.herd).said == 2


def test_few_animals_have_no_score(cast):
    pup = born(cast)
    LookFactory(animal=pup, on=GROWN, stage="full")
    say(pup, (0.2, 0.7, 0.1))
    score = score_of(cast.herd)
    assert (score.animals, score.brier, score.bands) == (1, None, ())


def test_another_herds_animals_are_not_scored(cast, other_herd):
    pup = born(cast)
    LookFactory(animal=pup, on=GROWN, stage="full")
    say(pup, (0.2, 0.7, 0.1))
    score = score_of(other_herd[1])
    assert (score.animals, score.waiting) == (0, 0)
