"""`take-in FILE`: imports a pedigree file into the book; a preview first, written on request."""

import argparse
from datetime import date
from typing import NoReturn

from django.core.management.base import BaseCommand
from django.db import DatabaseError
from django.utils import timezone
from django.utils.translation import gettext as _

from herdbook.book.exceptions import ConfirmationNeededError
from herdbook.book.models import Herd, Membership, User
from herdbook.book.models.animal import RED_SERIES, Coat, State
from herdbook.book.services.change_set import Submission
from herdbook.exchange.cell_parsers import read_date
from herdbook.exchange.exceptions import CellError, CommandRefusedError, FaultyFileError
from herdbook.exchange.fault_list import shown
from herdbook.exchange.file_command import FAULTY, read_bytes
from herdbook.exchange.import_summary import outline
from herdbook.exchange.importer import plan_take_in, take_in
from herdbook.exchange.pedigree_file import read_pedigree_file
from herdbook.exchange.plan import Choices, Plan


class Command(BaseCommand):
    help = (
        "Shows what importing a pedigree file into a herd would do, and does it with --write: "
        "every row or none. A fault ends with exit status 2 and a line for each on standard error."
    )

    def add_arguments(self, parser: argparse.ArgumentParser) -> None:
        parser.add_argument(
            "file",
            metavar="FILE",
            help="a pedigree file (CSV with commas, UTF-8), or - for standard input",
        )
        parser.add_argument("--herd", metavar="NAME", help="required if the book has several herds")
        parser.add_argument(
            "--state",
            choices=[State.IN_HERD.value, State.PAPER.value],
            default=State.IN_HERD.value,
            help="where the animals are: in the herd, or pedigree only (default %(default)s)",
        )
        parser.add_argument(
            "--since",
            metavar="DATE",
            help="--state applies to those born on this date or later (2021-03-01); the others, "
            "and those without a date of birth, are pedigree only",
        )
        parser.add_argument(
            "--coat",
            choices=[coat.value for coat in Coat if coat in RED_SERIES],
            default=Coat.WHITE.value,
            help="the body colour of animals with points and no coat (default %(default)s)",
        )
        parser.add_argument("--write", action="store_true", help="save it in the book")
        parser.add_argument(
            "--it-is-so",
            action="store_true",
            help="with --write: answer yes to all questions; the answers are kept",
        )

    def handle(self, *args, **options) -> None:
        try:
            self._take_in(options)
        except FaultyFileError as faulty:
            self._refuse(*map(str, faulty.faults))
        except CommandRefusedError as refused:
            self._refuse(*refused.lines)
        except ConfirmationNeededError as asked:
            self._refuse(
                *(finding.message for finding in asked.findings),
                _("Nothing was saved. Correct the file, or answer yes to all with --it-is-so."),
            )

    def _take_in(self, options: dict) -> None:
        data, herd = read_bytes(options["file"]), _herd(options["herd"])
        choices = Choices(options["state"], _since(options["since"]), options["coat"])
        today = timezone.localdate()
        plan = plan_take_in(read_pedigree_file(data), herd=herd, choices=choices, today=today)
        self._say(plan, choices)
        if not options["write"]:
            self.stdout.write(_("Nothing is saved yet. Add --write to import it."))
            return
        answered = [finding.code for finding in plan.questions] if options["it_is_so"] else ()
        submission = Submission(_owner(herd), today, answered=answered)
        take_in(submission, herd=herd, data=data, choices=choices)
        self.stdout.write(_("Imported into %(herd)s.") % {"herd": herd})

    def _say(self, plan: Plan, choices: Choices) -> None:
        for line in outline(plan, choices):
            self.stdout.write(line)
        if plan.questions:
            self.stdout.write(_("Please check this:"))
        for finding in plan.questions:
            self.stdout.write(f"- {finding.message}")

    def _refuse(self, *lines: str) -> NoReturn:
        for line in lines:
            self.stderr.write(line)
        raise SystemExit(FAULTY)


def _since(text: str | None) -> date | None:
    try:
        return None if text is None else read_date(text)
    except CellError as fault:
        raise CommandRefusedError(*(f"--since: {message}" for message in fault.messages)) from None


def _herd(name: str | None) -> Herd:
    """The herd of that name, or the only one."""
    try:
        herds = list(Herd.objects.order_by("pk"))
    except DatabaseError:
        raise CommandRefusedError(
            _("There is no herd-book here yet. 'manage.py start' makes one.")
        ) from None
    found = [herd for herd in herds if name is None or herd.name == name]
    if len(found) == 1:
        return found[0]
    names = ", ".join(shown(herd.name) for herd in herds)
    if not herds:
        raise CommandRefusedError(_("The herd-book has no herd yet. 'manage.py start' makes one."))
    if not found:
        raise CommandRefusedError(
            _("No herd is called %(name)s. The herds are %(names)s.")
            % {"name": shown(name or ""), "names": names}
        )
    raise CommandRefusedError(
        _("Which herd? Give --herd with one of %(names)s.") % {"names": names}
    )


def _owner(herd: Herd) -> User | None:
    """The author of the change: the herd's owner."""
    first = Membership.objects.filter(herd=herd).select_related("user").order_by("pk").first()
    return first.user if first else None
