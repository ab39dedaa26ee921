"""What the book has taught is kept when worked out, used when told to, and put back."""

import ast
from pathlib import Path

import numpy as np
import pytest

from genetics.calibration import parameter_fits
from genetics.core.estimation import ecm
from genetics.core.estimation.likelihood import Parameters
from genetics.core.penetrance.onset_parameters import CURVES
from genetics.doses.explanation import why
from genetics.doses.progeny_test import proof_of, weeks_of
from genetics.figures.refresh import compute_figures, ensure_current
from genetics.matings.lookup import look_up
from genetics.models import Figure, Fit, FitUse, Job, Reckoning, Said
from genetics.snapshot.parameters import TABLE, current_parameters
from genetics.snapshot.reading import read_book
from herdbook.book.models import LitterCount
from herdbook.book.partial_date import PartialDate
from tests.factories import AnimalFactory, LitterFactory, LookFactory


@pytest.fixture
def pup(cast, today):
    """An unmarked pup of eight weeks, of a boar and a sow of whom nothing is known."""
    boar = AnimalFactory(herd=cast.herd, sex="boar", name="Teal")
    sow = AnimalFactory(herd=cast.herd, sex="sow", name="Plover")
    litter = LitterFactory(herd=cast.herd, dam=sow, boars=[boar], born=PartialDate(2026, 9, 30))
    pup = AnimalFactory(herd=cast.herd, litter=litter, sex="sow", name="Dunlin")
    LookFactory(animal=pup, on="2026-11-24", stage="none", warmth="mild")
    return pup


def a_fit(frequency=0.5, later=2.0):
    return Fit.objects.create(
        made_at="2026-11-25T12:00Z",
        revision=0,
        engine="1-00000000",
        frequency=frequency,
        medians=[later * one.median_days for one in CURVES.milestones],
        lines=[],
        effect={"moved": 0, "most": 0.0, "animal": None, "against": None},
        settled=True,
        animals=0,
        left_out=0,
    )


def test_the_error_of_a_spread_is_told_in_the_days_between():
    fitted = ecm.Fit(Parameters(0.25), 0.1, (1.0,) * 5, (0.2,) * 5, 4, (3.0,) * 5, (), True, ())
    told = [
        line["error"] for line in parameter_fits._lines(fitted) if line.get("measure") == "spread"
    ]
    for one, error in zip(CURVES.milestones, told, strict=True):
        wide, narrow = (
            np.diff(one._replace(spread=one.spread * np.exp(step)).usual_days)[0]
            for step in (1e-5, -1e-5)
        )
        assert error == pytest.approx(0.2 * (wide - narrow) / 2e-5)


def figure(animal):
    ensure_current()
    return Figure.objects.get(animal=animal).chances


def test_it_works(cast, pup):
    fit = parameter_fits.fit_parameters(cast.owner)
    assert fit.settled
    assert fit.user == cast.owner
    assert (fit.animals, fit.left_out) == (9, 0)
    assert [line["table"] for line in fit.lines] == [
        0.25,
        *(table for one in CURVES.milestones for table in (one.median_days, one.usual_days)),
    ]
    assert fit.lines[0]["fitted"] == fit.frequency
    assert all(line["error"] > 0 for line in fit.lines)
    assert fit.lines[0]["rests_on"] > 0
    # One unmarked pup says a little, and moves nothing.
    assert fit.frequency == pytest.approx(0.25, abs=0.01)
    assert 0 < fit.effect["most"] < 0.02
    assert current_parameters().parameters == TABLE
    parameter_fits.use(fit, cast.owner)
    used = current_parameters().parameters.curves.milestones
    assert [(one.median_days, one.spread) for one in used] == [
        *zip(fit.medians, fit.spreads, strict=True)
    ]
    assert fit.spreads != [one.spread for one in CURVES.milestones]
    assert fit.lines[2]["fitted"] == used[0].usual_days


def test_pups_counted_together_have_their_say(cast, pup):
    before = parameter_fits.fit_parameters(cast.owner)
    LitterCount.objects.create(
        herd=cast.herd, litter=pup.litter, on="2026-11-10", nameless=4, coming=4, warmth="mild"
    )
    after = parameter_fits.fit_parameters(cast.owner)
    assert after.frequency > before.frequency + 0.01
    assert after.lines[1]["rests_on"] > before.lines[1]["rests_on"]


def test_a_job_is_told_how_far_it_has_come(cast, pup):
    job = Job.objects.create(kind=parameter_fits.JOB)
    parameter_fits.fit_parameters(cast.owner, job)
    assert 0.5 < job.progress < 1
    assert job.note


def test_every_figure_is_made_with_what_is_used(cast, pup, today):
    before = figure(pup)
    boar, sow = pup.litter.sires.get().boar, pup.litter.dam
    matings = look_up(sow, boar).mating.chances
    prior, weeks, proof = why(pup).prior, weeks_of(pup, today), proof_of(boar)

    fit = a_fit()
    parameter_fits.use(fit, cast.owner)

    after = figure(pup)
    # The gene is commoner, and points come later: an unmarked pup of eight weeks is less sure.
    assert after[0] < before[0] - 0.1
    assert read_book().parameters.frequency == 0.5
    assert look_up(sow, boar).mating.chances[0] < matings[0] - 0.1
    assert why(pup).prior[0] < prior[0] - 0.1
    new = weeks_of(pup, today)
    np.testing.assert_allclose(new.chances[0], after, rtol=1e-9)
    assert new.still_unmarked[3] < weeks.still_unmarked[3] - 0.1
    assert [one.proof.proved.tolist() for one in proof_of(boar)] != [
        one.proof.proved.tolist() for one in proof
    ]


def test_figures_follow_a_use_and_going_back(cast, pup):
    before = figure(pup)
    first, second = a_fit(), a_fit(frequency=0.6)
    parameter_fits.use(first, cast.owner)
    with_first = figure(pup)
    parameter_fits.use(second, cast.owner)
    with_second = figure(pup)
    assert len({before, with_first, with_second}) == 3

    assert parameter_fits.earlier() == first
    parameter_fits.use(parameter_fits.earlier(), cast.owner)
    assert figure(pup) == pytest.approx(with_first, abs=1e-12)

    parameter_fits.use(None, cast.owner)
    assert figure(pup) == pytest.approx(before, abs=1e-12)
    assert [use.fit for use in FitUse.objects.order_by("pk")] == [first, second, first, None]


def test_without_an_earlier_one_it_goes_back_to_the_table(cast, pup):
    parameter_fits.use(a_fit(), cast.owner)
    assert parameter_fits.earlier() is None


def test_what_was_said_names_the_fit(cast, pup):
    ensure_current()
    fit = a_fit()
    parameter_fits.use(fit, cast.owner)
    ensure_current()
    newest, oldest = pup.said.all()
    assert (oldest.fit, newest.fit) == (None, fit)
    assert Said.objects.filter(fit=fit).count() < Said.objects.count()


def test_figures_that_were_begun_before_a_use_are_made_again(cast, pup, monkeypatch):
    ensure_current()
    before = figure(pup)
    fit = a_fit()

    def meanwhile(**how):
        reading = read_book(**how)
        FitUse.objects.create(fit=fit, used_at="2026-11-25T12:00Z")
        return reading

    monkeypatch.setattr("genetics.figures.refresh.read_book", meanwhile)
    compute_figures()
    monkeypatch.undo()
    assert Figure.objects.get(animal=pup).chances == pytest.approx(before, abs=1e-12)
    assert str(Reckoning.objects.get().engine).endswith("table")
    assert figure(pup) != pytest.approx(before, abs=1e-3)


def test_nothing_goes_past_the_one_door():
    """Only what names the table or starts from it may know the table's own frequency."""
    may = {"parameters.py", "refresh.py", "parameter_fits.py"}
    there = Path(parameter_fits.__file__).parents[1]
    modules = [one for one in there.rglob("*.py") if "core" not in one.parts]
    assert len(modules) > 30
    for module in modules:
        names = {
            node.id
            for node in ast.walk(ast.parse(module.read_text()))
            if isinstance(node, ast.Name)
        }
        assert module.name in may or "FREQUENCY" not in names, module.name


def test_a_fit_from_before_spreads_were_learned_is_used_with_those_of_the_table(cast, pup):
    parameter_fits.use(a_fit(), cast.owner)
    assert [
        (one.median_days, one.spread) for one in current_parameters().parameters.curves.milestones
    ] == [(2 * one.median_days, one.spread) for one in CURVES.milestones]


@pytest.mark.parametrize("ages", ["medians", "spreads"])
def test_a_fit_of_other_milestones_is_not_used(cast, pup, ages):
    fit = a_fit()
    setattr(fit, ages, fit.medians[:3])
    fit.save()
    parameter_fits.use(fit, cast.owner)
    assert current_parameters().parameters == TABLE


def test_only_an_owner_may_use_it(cast, other_herd, django_user_model):
    assert parameter_fits.may_use(cast.owner)
    assert parameter_fits.may_use(other_herd[0])
    assert not parameter_fits.may_use(django_user_model.objects.create(username="guest"))
