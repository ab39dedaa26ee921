"""The mark tells the figures of one method and its tables from those of another."""

import subprocess
import sys
from types import ModuleType

import pytest

from genetics.core import version
from genetics.core.inheritance import loci
from genetics.core.peeling import unidentified_pups
from genetics.core.penetrance import likelihood, onset_parameters, pattern_details
from genetics.core.version import METHOD, engine_version, modules_used

CONSTANTS = [
    (module, name)
    for module in modules_used()
    for name in vars(module)
    if name.strip("_").isupper()
]


def in_another_process(code):
    return subprocess.run(
        [sys.executable, "-c", code], check=True, capture_output=True, text=True
    ).stdout.strip()


def test_it_works():
    assert engine_version(0.25).startswith(f"{METHOD}-")
    assert engine_version(0.25) == engine_version(0.25)
    assert (onset_parameters, "MILESTONES") in CONSTANTS
    assert (likelihood, "MISJUDGED") in CONSTANTS
    assert (pattern_details, "NOTED") in CONSTANTS
    assert (unidentified_pups, "MIX_UPS") in CONSTANTS


@pytest.mark.parametrize(("module", "name"), CONSTANTS)
def test_another_table_is_another_engine(module, name, monkeypatch):
    before = engine_version(0.25)
    monkeypatch.setattr(module, name, (getattr(module, name), "a little other"))
    assert engine_version(0.25) != before


def test_one_figure_of_a_table_is_enough(monkeypatch):
    before = engine_version(0.25)
    first, *rest = onset_parameters.MILESTONES
    monkeypatch.setattr(onset_parameters, "MILESTONES", (first._replace(median_days=43.0), *rest))
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


def test_a_module_that_moves_is_the_same_engine(monkeypatch):
    before = engine_version(0.25)
    moved = ModuleType("genetics.core.elsewhere.curves", "Another word about it.")
    vars(moved).update(
        {name: value for name, value in vars(onset_parameters).items() if not name.startswith("__")}
    )
    used = [moved if module is onset_parameters else module for module in modules_used()]
    monkeypatch.setattr(version, "modules_used", lambda: used[::-1])
    assert engine_version(0.25) == before


def test_every_module_that_makes_doses_is_used():
    """In a fresh interpreter, without the public interface that loads all: the core's modules that
    the making of doses and genotypes loads."""
    loaded = in_another_process(
        "import genetics, sys, types; bare = types.ModuleType('genetics.core'); "
        "bare.__path__ = [genetics.__path__[0] + '/core']; sys.modules['genetics.core'] = bare; "
        "from genetics.core.posterior import dose, genotypes; "
        "from genetics.core.peeling import unidentified_pups; "
        "from genetics.core.penetrance import group_counts, pattern_details; "
        "print(*(name for name, module in sys.modules.items() "
        "if name.startswith('genetics.core.') and not hasattr(module, '__path__')))"
    ).split()
    used = {module.__name__ for module in modules_used()}
    assert len(loaded) > 30
    assert not set(loaded) - used


def test_another_rate_is_another_engine():
    assert engine_version(0.25) != engine_version(0.26)


def test_the_mark_is_the_same_in_another_process():
    code = "from genetics.core.version import engine_version; print(engine_version(0.25))"
    assert in_another_process(code) == engine_version(0.25)
