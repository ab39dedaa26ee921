"""`key`: a new link to sign in to the herd-book that `start` has open."""

import sys
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand

from herdbook.launcher.serving import running_address, say_open, sign_in_address


class Command(BaseCommand):
    help = "Prints a new sign-in link for the owner; it works once, within ten minutes."
    requires_system_checks: list[str] = []

    def handle(self, *args: Any, **options: Any) -> None:
        address = running_address(settings.HOME)
        if not address:
            sys.exit("The herd-book is not open: 'manage.py start' opens it and prints a link.")
        say_open(sign_in_address(address))
