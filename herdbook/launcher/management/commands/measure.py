"""`measure`: runs the benchmarks in a process of their own; nothing here imports them."""

import subprocess
import sys
from typing import Any

from django.core.management.base import BaseCommand, CommandParser

from herdbook.bootstrap import PROJECT


class Command(BaseCommand):
    help = "Runs the benchmarks beside general-purpose libraries, and keeps their results."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("name", nargs="*", help="a benchmark to run; default: all")

    def handle(self, *args: Any, **options: Any) -> None:
        command = [sys.executable, "-m", "tests.benchmarks", *options["name"]]
        sys.exit(subprocess.run(command, check=False, cwd=PROJECT).returncode)
