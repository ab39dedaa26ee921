"""The core is pure: it can be used without a web server or a database."""

import pkgutil
import subprocess
import sys
from pathlib import Path

import genetics.core

ROOT = Path(genetics.core.__file__).parents[2]


def test_the_core_imports_nothing_of_the_web():
    modules = [
        module.name for module in pkgutil.walk_packages(genetics.core.__path__, "genetics.core.")
    ]
    assert "genetics.core.posterior.dose" in modules
    script = (
        f"import sys, {', '.join(modules)}\n"
        "print([name for name in sys.modules if name.split('.')[0] in "
        "('django', 'herdbook', 'numba') or name.startswith('genetics.') "
        "and not name.startswith('genetics.core')])"
    )
    ran = subprocess.run(
        [sys.executable, "-c", script], capture_output=True, text=True, check=True, cwd=ROOT
    )
    assert ran.stdout.strip() == "[]"
