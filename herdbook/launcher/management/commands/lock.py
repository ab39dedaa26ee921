"""`lock`: rewrites the lock files, each from its .in file."""

import sys
from typing import Any

from django.core.management.base import BaseCommand, CommandParser

from herdbook.launcher.exceptions import LockResolutionError
from herdbook.launcher.locks import relock


class Command(BaseCommand):
    help = "Rewrites every lock file from its .in file, also that of the benchmarks' peers."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--upgrade", action="store_true", help="take newer versions too")

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            relock(upgrade=options["upgrade"])
        except LockResolutionError as error:
            sys.exit(f"The packages do not resolve; the lock files are unchanged.\n{error}")
