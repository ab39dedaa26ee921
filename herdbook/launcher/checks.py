"""The checks of `test`, in their order."""

import json
import subprocess
import sys
import tempfile
from pathlib import Path

from herdbook.bootstrap import PROJECT
from herdbook.launcher.exceptions import LockResolutionError

from .locks import PLATFORMS, faults_of_locks, resolve_on
from .machine import fault_of_playwright, find_browser, find_postgresql
from .postgresql import private_cluster
from .report import Report

QUICK = ["-m", "not browser and not slow", "--hypothesis-profile=quick"]
TWO_AT_ONCE = ["-n", "2", "--dist", "worksteal"]


def check_the_text(report: Report) -> None:
    report.run("style (ruff)", "-m", "ruff", "check")
    report.run("layout (ruff format)", "-m", "ruff", "format", "--check")
    report.run("types (mypy)", "-m", "mypy")
    lint_imports = "from importlinter.cli import lint_imports_command as lint; lint()"
    report.run("rule of dependencies (import-linter)", "-c", lint_imports)
    settings = {"DJANGO_SETTINGS_MODULE": "tests.settings"}
    migrations = ["-m", "django", "makemigrations", "--check", "--dry-run"]
    report.run("migrations are complete", *migrations, env=settings)


def run_tests_on_sqlite(report: Report, *, quick: bool) -> None:
    chosen = QUICK if quick else ["-m", "not browser"]
    report.run_tests("tests, on SQLite", *TWO_AT_ONCE, *chosen)


def run_tests_on_postgresql(report: Report) -> None:
    step = "tests of the database, on PostgreSQL"
    programs = find_postgresql()
    if programs is None:
        report.could_not_run.append(f"{step} (PostgreSQL's server is not installed here)")
        return
    with private_cluster(programs) as database:
        chosen = ["-m", "database and not browser"]
        report.run_tests(step, *TWO_AT_ONCE, *chosen, env={"HERDBOOK_DATABASE": database})


def run_tests_in_browser(report: Report) -> None:
    step = "tests in a browser"
    if find_browser() is None:
        report.could_not_run.append(f"{step} (no Chrome, Chromium or Edge is installed here)")
        return
    if fault := fault_of_playwright():
        report.could_not_run.append(f"{step} (Playwright does not start: {fault})")
        return
    report.run_tests(step, "-m", "browser")


def check_locks(report: Report) -> None:
    """Check that the lock files match their .in files, with the index's hashes, per platform."""
    print("\n== lock files, for " + ", ".join(PLATFORMS.values()), flush=True)
    lock = PROJECT / "requirements.lock"
    try:
        for fault in faults_of_locks():
            report.failed.append(fault)
        for platform in PLATFORMS:
            resolve_on(platform, lock)
    except LockResolutionError as error:
        print(error)
        report.failed.append("lock files: they do not resolve (the reason is above)")
        return
    unseen = [name for name in PLATFORMS.values() if not is_this_platform(name)]
    report.notes.append(
        f"{lock.name} was resolved for {' and '.join(unseen)}, but nothing was installed or run "
        "there: the herd-book is untested there."
    )


def is_this_platform(name: str) -> bool:
    return name.startswith({"linux": "Linux", "darwin": "macOS"}.get(sys.platform, "Windows"))


def audit(report: Report) -> None:
    """Look for known weaknesses of the locked packages, if the index lists them.

    An index without such a list is not our fault: a note states it, and nothing fails.
    """
    step = "known weaknesses (pip-audit)"
    print(f"\n== {step}", flush=True)
    with tempfile.TemporaryDirectory() as folder:
        told = Path(folder, "audit.json")
        command = ["pip_audit", "--requirement", "requirements.lock", "--require-hashes"]
        options = ["--disable-pip", "--progress-spinner=off", "--format=json", f"--output={told}"]
        subprocess.run([sys.executable, "-m", *command, *options], check=False, cwd=PROJECT)
        answer = told.read_text("utf-8") if told.exists() else '{"dependencies": []}'
    packages = json.loads(answer)["dependencies"]
    asked = [package for package in packages if "vulns" in package]
    if len(asked) < max(len(packages), 1):
        report.notes.append(
            f"Not audited: {len(packages) - len(asked)} of {len(packages)} packages, for which the "
            "index here lists no weaknesses."
        )
    for package in asked:
        for weakness in package["vulns"]:
            report.failed.append(f"{package['name']} {package['version']}: {weakness['id']}")
