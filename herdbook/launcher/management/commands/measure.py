"""`measure`: runs the benchmarks beside general-purpose libraries, and keeps what they found."""

from importlib import import_module
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from benchmarks.measuring import HERE, report


class Command(BaseCommand):
    help = (
        "Runs the benchmarks and writes benchmarks/NAME.md for each. The libraries that they run "
        "beside ours are installed once, in an environment of their own."
    )
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("name", nargs="*", help="a benchmark to run; all where none is named")

    def handle(self, *args: Any, **options: Any) -> None:
        known = find_benchmarks()
        strangers = [name for name in options["name"] if name not in known]
        if strangers:
            raise CommandError(
                f"There is no benchmark {', '.join(strangers)}: there are {', '.join(known)}."
            )
        for name in options["name"] or known:
            self.stderr.write(f"Measuring {name} …")
            path = HERE / f"{name}.md"
            path.write_text(page_of(name), encoding="utf-8")
            self.stdout.write(str(path.relative_to(HERE.parent)))


def find_benchmarks() -> list[str]:
    """The modules in benchmarks that have a `measure`; the others are not for this command."""
    return sorted(
        file.stem for file in HERE.glob("*.py") if "\ndef measure(" in file.read_text("utf-8")
    )


def page_of(name: str) -> str:
    module = import_module(f"benchmarks.{name}")
    text = f"Made by `python manage.py measure {name}`.\n\n{module.__doc__}"
    return report(name.capitalize(), text, module.PEER, module.measure())
