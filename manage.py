#!/usr/bin/env python3
"""The way in: sets itself up on a fresh machine, then hands over to Django."""

import os
import sys


def main():
    if sys.version_info < (3, 11):  # noqa: UP036 (an older Python must read this far)
        sys.exit(
            "The herd-book needs Python 3.11 or newer, and this is Python {}.{}: install a newer "
            "one and run the same command with it.".format(*sys.version_info)
        )
    from herdbook.bootstrap import enter

    enter(sys.argv)

    if "--demo" in sys.argv:  # any command with --demo works on the demo book
        sys.argv.remove("--demo")
        os.environ["HERDBOOK_DEMO"] = "1"
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "herdbook.settings")
    from django.core.management import execute_from_command_line

    execute_from_command_line(sys.argv)


if __name__ == "__main__":
    main()
