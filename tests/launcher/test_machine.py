"""What tests need of the machine: found by trying it, installed by apt, or reported missing."""

import sys

import pytest

from herdbook.launcher import checks, machine
from herdbook.launcher.report import Report

NO_LIBATOMIC = (
    "node: error while loading shared libraries: libatomic.so.1: cannot open shared object file"
)


@pytest.fixture
def installed(monkeypatch):
    """A root on Debian with a browser, PostgreSQL and graphviz; yields what apt is asked for."""
    asked = []
    monkeypatch.setattr(machine, "is_root", lambda: True)
    monkeypatch.setattr(machine, "find_browser", lambda: "/usr/bin/chromium")
    monkeypatch.setattr(machine, "find_postgresql", lambda: "/usr/lib/postgresql/15/bin")
    monkeypatch.setattr(machine.shutil, "which", lambda program: f"/usr/bin/{program}")
    monkeypatch.setattr(machine, "apt_install", lambda *packages: asked.extend(packages) or True)
    return asked


def driver_that_says(sentence, status):
    program = f"import sys; sys.stderr.write({sentence!r}); sys.exit({status})"
    return [sys.executable, "-c", program]


def test_it_installs_nothing_where_nothing_is_missing(installed):
    machine.install_what_is_missing()

    assert installed == []


def test_it_installs_the_library_that_playwright_does_not_start_without(installed, monkeypatch):
    monkeypatch.setattr(machine, "DRIVER", driver_that_says(NO_LIBATOMIC, 127))

    machine.install_what_is_missing()

    assert installed == ["libatomic1"]


def test_it_installs_no_library_for_another_fault_of_playwright(installed, monkeypatch):
    monkeypatch.setattr(machine, "DRIVER", driver_that_says("node: out of memory", 134))

    machine.install_what_is_missing()

    assert installed == []


def test_it_installs_nothing_for_an_ordinary_user(installed, monkeypatch):
    monkeypatch.setattr(machine, "is_root", lambda: False)
    monkeypatch.setattr(machine, "DRIVER", driver_that_says(NO_LIBATOMIC, 127))

    machine.install_what_is_missing()

    assert installed == []


def test_it_installs_letters_with_a_browser(installed, monkeypatch):
    monkeypatch.setattr(machine, "find_browser", lambda: None)

    machine.install_what_is_missing()

    assert installed == ["chromium", "fonts-dejavu-core"]


def test_this_playwright_starts():
    assert machine.fault_of_playwright() == ""


def test_the_report_says_why_playwright_does_not_start(installed, monkeypatch):
    monkeypatch.setattr(machine, "DRIVER", driver_that_says(NO_LIBATOMIC, 127))
    monkeypatch.setattr(checks, "find_browser", lambda: "/usr/bin/chromium")
    report = Report()

    checks.run_tests_in_browser(report)

    assert report.could_not_run == [
        f"tests in a browser (Playwright does not start: {NO_LIBATOMIC})"
    ]
