"""`reckon` on families that exact sums cannot reach, and on animals that have no figure."""

import io
from dataclasses import replace
from itertools import count, product

import numpy as np
import pytest
from django.core.management import call_command

from genetics.core.posterior.dose import IntractableFamily, dose_posterior
from herdbook.exchange.management.commands import reckon as command
from tests.exchange.conftest import as_table
from tests.exchange.test_reckon_command import animal


def every_boar_to_every_sow(count_of, seen):
    """So many boars, each to every one of so many sows, and something seen of each young."""
    boars, sows = ([f"{kind}{n}" for n in range(count_of)] for kind in "BS")
    number = count()
    young = [
        animal(f"Y{next(number)}", seen, sire=boar, dam=sow) for boar, sow in product(boars, sows)
    ]
    return as_table([animal("Alone"), *map(animal, boars), *map(animal, sows), *young])


@pytest.mark.slow
def test_a_family_too_tangled_to_be_exact_is_worked_out_nearly_and_says_so(run):
    done = run("reckon", every_boar_to_every_sow(20, (0.9, 1, 0.95)))
    assert (done.status, done.faults) == (0, [])
    assert (done.rows[0]["method"], done.rows[0]["error"]) == ("exact", "")
    assert {row["method"] for row in done.rows[1:]} <= {"refined", "approximate"}
    assert all(0 < float(row["error"]) < 0.25 for row in done.rows[1:])
    for row in done.rows:
        assert sum(float(row[f"dose{dose}"]) for dose in range(3)) == pytest.approx(1)


@pytest.mark.slow
def test_it_says_so_when_a_family_is_too_tangled_for_any_figure(run):
    """Marked young of one dose only: all boars selfs and all sows not, or the other way round."""
    done = run("reckon", every_boar_to_every_sow(16, (0.2, 1, 0.5)))
    assert done.status == 0
    alone, *others = done.rows
    assert (alone["method"], alone["dose0"], alone["error"]) == ("exact", "0.5625", "")
    assert {row["inbreeding"] for row in others} == {"0"}
    empty = [row for row in others if row["method"] == ""]
    assert {row["id"] for row in empty} >= {f"{kind}{n}" for kind in "BS" for n in range(16)}
    for row in empty:
        assert {row[f"dose{dose}"] for dose in range(3)} | {row["error"]} == {""}
    assert len(done.faults) == 1
    assert done.faults[0].startswith(f"row 3: 'B0' and {len(empty) - 1} relatives are")


def test_animals_without_a_figure_leave_the_others_theirs(tmp_path, monkeypatch):
    """A part of a family for which the approximation fails, made to."""

    def without_the_last(pedigree, *given, **told):
        dose = dose_posterior(pedigree, *given, **told)
        chances, error = dose.chances.copy(), dose.error.copy()
        chances[1:], error[:] = np.nan, (0.0125, np.nan, np.nan)
        method = ("refined", "", "")
        return replace(
            dose,
            chances=chances,
            error=error,
            method=method,
            tangled=(IntractableFamily((1, 2), 1e9),),
        )

    monkeypatch.setattr(command, "dose_posterior", without_the_last)
    path = tmp_path / "herd.csv"
    path.write_text("id,sire\nA,\nB,A\nC,B\n")
    out, err = io.StringIO(), io.StringIO()
    call_command("reckon", str(path), stdout=out, stderr=err)
    assert out.getvalue().splitlines()[1:] == [
        "A,0.5625,0.375,0.0625,0,refined,0.0125",
        "B,,,,0,,",
        "C,,,,0,,",
    ]
    (said,) = err.getvalue().splitlines()
    assert said.startswith("row 3: 'B' and 1 relatives are too complex")
    monkeypatch.setattr(command, "compiler_installed", lambda: False)
    call_command("reckon", str(path), stdout=io.StringIO(), stderr=err)
    assert err.getvalue().splitlines()[2].startswith("Note: numba is not installed")
