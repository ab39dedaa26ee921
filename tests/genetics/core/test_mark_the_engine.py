"""What was said can be told from what other tables said."""

import subprocess
import sys
from importlib import import_module

import pytest

from genetics.core import curves, details, evidence, littermates, loci
from genetics.core.version import METHOD, TABLES, engine_version

CONSTANTS = [
    (module, name) for module in TABLES for name in vars(module) if name.strip("_").isupper()
]
# Paths of a machine; names for the type checker; an odd number that mixes bits, and a number that
# tells kinds of things apart in an array; when kinship, which no dose rests on, is compiled.
NO_FIGURES = {"compiled", "parentage", "carrying", "clusters", "lineage"}


def test_it_works():
    assert engine_version(0.25).startswith(f"{METHOD}-")
    assert engine_version(0.25) == engine_version(0.25)
    assert (curves, "MILESTONES") in CONSTANTS
    assert (evidence, "MISJUDGED") in CONSTANTS
    assert (details, "NOTED") in CONSTANTS
    assert (littermates, "MIX_UPS") in CONSTANTS


@pytest.mark.parametrize(("module", "name"), CONSTANTS)
def test_another_table_is_another_engine(module, name, monkeypatch):
    before = engine_version(0.25)
    monkeypatch.setattr(module, name, (getattr(module, name), "a little other"))
    assert engine_version(0.25) != before


def test_one_figure_of_a_table_is_enough(monkeypatch):
    before = engine_version(0.25)
    first, *rest = curves.MILESTONES
    monkeypatch.setattr(curves, "MILESTONES", (first._replace(median_days=43.0), *rest))
    assert engine_version(0.25) != before


def test_one_figure_of_the_loci_is_enough(monkeypatch, tmp_path):
    before = engine_version(0.25)
    told = loci.FILE.read_text("utf-8")
    file = tmp_path / "loci.toml"
    monkeypatch.setattr(loci, "FILE", file)
    file.write_text(told, "utf-8")
    assert engine_version(0.25) == before, "wherever it stands"
    file.write_text(told.replace("misrecorded = 0.03", "misrecorded = 0.04", 1), "utf-8")
    assert engine_version(0.25) != before


def test_every_module_that_makes_doses_has_its_say():
    """In a fresh interpreter: whatever the reckoning of doses and genotypes loads."""
    code = (
        "import sys; from genetics.core import dose, genotype, littermates, tallies, details; "
        "print(*(name for name in sys.modules if name.startswith('genetics.core.')))"
    )
    loaded = subprocess.run(
        [sys.executable, "-c", code], check=True, capture_output=True, text=True
    ).stdout.split()
    told = {module.__name__ for module in TABLES} | {f"genetics.core.{one}" for one in NO_FIGURES}
    assert len(loaded) > len(TABLES)
    for module in map(import_module, set(loaded) - told):
        assert not _of_its_own(module), module.__name__


def _of_its_own(module):
    """The constants that no module of the mark has by the same name and value."""
    known = [(name, getattr(of, name)) for of, name in CONSTANTS]
    return [
        name
        for name, value in vars(module).items()
        if name.strip("_").isupper() and not any(name == n and value is of for n, of in known)
    ]


def test_another_rate_is_another_engine():
    assert engine_version(0.25) != engine_version(0.26)


def test_the_mark_is_the_same_in_another_process():
    code = "from genetics.core.version import engine_version; print(engine_version(0.25))"
    told = subprocess.run([sys.executable, "-c", code], check=True, capture_output=True, text=True)
    assert told.stdout.strip() == engine_version(0.25)
