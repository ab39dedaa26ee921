"""What the report of the checks counts and names."""

import pytest

from herdbook.launcher.report import Report

INVENTED = """
import pytest

def test_passes(): pass

def test_fails(): assert False

@pytest.mark.parametrize("number", range(89))
def test_draws(number): pytest.skip("no dot is installed here")

def test_waits(): pytest.skip("no moon tonight")
"""


@pytest.fixture(scope="module")
def report(tmp_path_factory):
    """The report on a run of the invented tests."""
    folder = tmp_path_factory.mktemp("invented")
    file = folder / "test_invented.py"
    file.write_text(INVENTED)
    report = Report()
    alone = ["-p", "no:cacheprovider", "-p", "no:django", f"--rootdir={folder}", "-c", "/dev/null"]
    report.run_tests("invented", *alone, str(file))
    return report


def test_it_works(report):
    assert report.counts == {"passed": 1, "failed": 1, "skipped": 90}


def test_a_failure_names_its_step(report):
    assert report.failed == ["invented"]


def test_what_was_skipped_is_named_with_its_reason_a_line_each_reason(report):
    assert report.could_not_run == [
        "invented: 89 tests, the first test_invented.test_draws[0] (no dot is installed here)",
        "invented: test_invented.test_waits (no moon tonight)",
    ]


def test_what_could_not_run_fails_in_ci_alone(monkeypatch):
    report = Report()
    report.could_not_run.append("tests in a browser")

    monkeypatch.setenv("CI", "false")
    assert report.close() == 0
    monkeypatch.setenv("CI", "true")
    assert report.close() == 1
