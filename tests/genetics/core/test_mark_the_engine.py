"""What was said can be told from what other tables said."""

import pytest

from genetics.core import curves, details, evidence, littermates
from genetics.core.version import METHOD, engine_version

CONSTANTS = [
    (module, name)
    for module in (curves, evidence, details, littermates)
    for name in vars(module)
    if name.strip("_").isupper()
]


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


def test_another_rate_is_another_engine():
    assert engine_version(0.25) != engine_version(0.26)
