"""`start`: opens the herd-book in a browser, and keeps it open until Ctrl-C."""

import argparse
import sys
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandParser
from django.db import DatabaseError
from django.utils import timezone

from genetics.jobs import end_interrupted
from herdbook.book.services.opening import open_book
from herdbook.launcher.demo import clear_old_demo, fill_demo
from herdbook.launcher.exceptions import StartError
from herdbook.launcher.home import make_home
from herdbook.launcher.migrating import bring_up_to_date
from herdbook.launcher.serving import HOST, listen, only_server, serve


def port(text: str) -> int:
    if not text.isascii() or not text.isdigit() or int(text) > 65535:
        raise argparse.ArgumentTypeError("a port is a number up to 65535 (0 takes any free one)")
    return int(text)


class Command(BaseCommand):
    help = "Opens the herd-book in your browser, and keeps it open until Ctrl-C."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--port", type=port, default=8000, help="the port (default 8000)")
        parser.add_argument("--no-browser", action="store_true", help="do not open a browser")
        parser.add_argument("--demo", action="store_true", help="a herd to try out, new each day")

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            start(options["port"], browser=not options["no_browser"])
        except StartError as error:
            sys.exit(str(error))
        except DatabaseError as error:
            sys.exit(f"The database does not answer as it should: {str(error).strip()}")


def start(port: int, *, browser: bool) -> None:
    make_home(settings.HOME)
    with only_server(settings.HOME) as tell_others, listen(port) as listening:
        today = timezone.localdate()
        if settings.DEMO:
            clear_old_demo(settings.HOME, today)
        bring_up_to_date(settings.HOME / "backups")
        end_interrupted()
        owner = open_book()
        if settings.DEMO:
            fill_demo(owner, today)
        address = f"http://{HOST}:{listening.getsockname()[1]}"
        tell_others(address)
        serve(listening, address, browser=browser)
