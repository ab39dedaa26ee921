"""`test`: all checks; `test --quick`: those for daily work."""

import sys
from typing import Any

from django.core.management.base import BaseCommand, CommandParser

from herdbook.launcher import checks
from herdbook.launcher.machine import install_what_is_missing
from herdbook.launcher.report import Report


class Command(BaseCommand):
    help = "Runs every check; as root on Debian it first installs what they need."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument(
            "--quick",
            action="store_true",
            help="no browser, no PostgreSQL, nothing slow, nothing that needs the internet",
        )

    def handle(self, *args: Any, **options: Any) -> None:
        quick = options["quick"]
        report = Report()
        if not quick:
            install_what_is_missing()
        checks.check_the_text(report)
        if not quick:
            checks.check_locks(report)
            checks.audit(report)
            checks.run_tests_on_postgresql(report)
            checks.run_tests_in_browser(report)
        checks.run_tests_on_sqlite(report, quick=quick)
        sys.exit(report.close())
