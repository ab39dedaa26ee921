"""Find impossible and unlikely records."""

from django.core.management.base import BaseCommand
from django.utils import timezone

from herdbook.book.models import Animal
from herdbook.book.rules.audit import examine
from herdbook.book.rules.findings import REFUSE


class Command(BaseCommand):
    help = (
        "Search the whole book for impossible records (exit status 1) and for unlikely ones that "
        "were never confirmed. Changes nothing."
    )

    def handle(self, *args, **options):
        impossible = 0
        for found in examine(Animal.objects.all(), today=timezone.localdate()):
            cannot_be = found.finding.kind == REFUSE
            impossible += cannot_be
            mark = "wrong" if cannot_be else "odd"
            self.stdout.write(f"{mark}: {found.row}: {found.finding.message}")
        if impossible:
            self.stderr.write(f"{impossible} records are impossible.")
            raise SystemExit(1)
        self.stdout.write("No impossible records.")
