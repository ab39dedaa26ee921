"""Runs the benchmarks that have a `measure`, and writes NAME.md for each beside its module.

    python -m tests.benchmarks [NAME ...]

runs those named, or all. The libraries that they run beside ours are installed once, in an
environment of their own.
"""

import sys
from importlib import import_module

from tests.benchmarks.measuring import HERE, report


def find_benchmarks() -> list[str]:
    """The modules here that have a `measure`; the others are run by themselves."""
    return sorted(
        file.stem for file in HERE.glob("*.py") if "\ndef measure(" in file.read_text("utf-8")
    )


def page_of(name: str) -> str:
    module = import_module(f"tests.benchmarks.{name}")
    text = f"Made by `python manage.py measure {name}`.\n\n{module.__doc__}"
    return report(name.capitalize(), text, module.PEER, module.measure())


def main(names: list[str]) -> None:
    known = find_benchmarks()
    unknown = [name for name in names if name not in known]
    if unknown:
        sys.exit(f"There is no benchmark {', '.join(unknown)}: there are {', '.join(known)}.")
    for name in names or known:
        print(f"Measuring {name} …", file=sys.stderr)
        path = HERE / f"{name}.md"
        path.write_text(page_of(name), encoding="utf-8")
        print(path.relative_to(HERE.parent))


if __name__ == "__main__":
    main(sys.argv[1:])
