"""Find what is wrong in the book."""

from django.core.management.base import BaseCommand
from django.utils import timezone

from herdbook.book.models import Animal
from herdbook.book.rules.audit import examine
from herdbook.book.rules.findings import REFUSE


class Command(BaseCommand):
    help = (
        "Look through the whole book for what cannot be (exit status 1) and for what is hard to "
        "believe and was never asked. Changes nothing."
    )

    def handle(self, *args, **options):
        impossible = 0
        for found in examine(Animal.objects.all(), today=timezone.localdate()):
            cannot_be = found.finding.kind == REFUSE
            impossible += cannot_be
            mark = "wrong" if cannot_be else "odd"
            self.stdout.write(f"{mark}: {found.row}: {found.finding.message}")
        if impossible:
            self.stderr.write(f"{impossible} records cannot be as they are written.")
            raise SystemExit(1)
        self.stdout.write("Nothing in the book contradicts itself.")
