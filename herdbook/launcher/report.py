"""The results of the checks: each step's outcome, the test counts, and what could not run."""

import os
import subprocess
import sys
import tempfile
import xml.etree.ElementTree
from collections import Counter
from collections.abc import Mapping
from pathlib import Path

from herdbook.bootstrap import PROJECT


class Report:
    """Runs steps and keeps their results. A step that fails does not stop the next."""

    def __init__(self) -> None:
        self.failed: list[str] = []
        self.could_not_run: list[str] = []
        self.notes: list[str] = []
        self.counts: Counter[str] = Counter()

    def run(self, step: str, *command: str, env: Mapping[str, str] | None = None) -> None:
        """Runs this Python with the arguments `command`, its output shown as it comes."""
        print(f"\n== {step}", flush=True)
        arguments = [sys.executable, *command]
        outcome = subprocess.run(arguments, check=False, cwd=PROJECT, env=os.environ | (env or {}))
        if outcome.returncode != 0:
            self.failed.append(step)

    def run_tests(self, step: str, *options: str, env: Mapping[str, str] | None = None) -> None:
        """Runs pytest and counts what it says it ran."""
        with tempfile.TemporaryDirectory() as folder:
            told = Path(folder, "tests.xml")
            self.run(step, "-m", "pytest", *options, f"--junit-xml={told}", env=env)
            if told.exists():
                self.count(step, told)

    def count(self, step: str, told: Path) -> None:
        for suite in xml.etree.ElementTree.parse(told).iter("testsuite"):
            number = {name: int(suite.get(name, 0)) for name in ("tests", "skipped")}
            failed = int(suite.get("failures", 0)) + int(suite.get("errors", 0))
            self.counts["failed"] += failed
            self.counts["skipped"] += number["skipped"]
            self.counts["passed"] += number["tests"] - number["skipped"] - failed
        for reason, tests in skipped_tests(told).items():
            first = f"{len(tests)} tests, the first {tests[0]}" if len(tests) > 1 else tests[0]
            self.could_not_run.append(f"{step}: {first} ({reason})")

    def close(self) -> int:
        """Prints the results, last those steps that could not run; returns the exit status.

        In CI (CI=true) what could not run is a failure.
        """
        print()
        for note in self.notes:
            print(f"Note: {note}")
        for step in self.failed:
            print(f"FAILED: {step}")
        for step in self.could_not_run:
            print(f"Could not run: {step}")
        print("{passed} passed, {failed} failed, {skipped} skipped".format_map(self.counts))
        in_ci = os.environ.get("CI") == "true"
        return 1 if self.failed or (in_ci and self.could_not_run) else 0


def skipped_tests(told: Path) -> dict[str, list[str]]:
    """The names of the tests that pytest skipped, under the reason that they gave."""
    names: dict[str, list[str]] = {}
    for case in xml.etree.ElementTree.parse(told).iter("testcase"):
        for skipped in case.iter("skipped"):
            name = f"{case.get('classname')}.{case.get('name')}"
            names.setdefault(str(skipped.get("message")), []).append(name)
    return names
