"""Running graphviz: which binary, for how long, on how many nodes.

The engine is a child process, so a chart that it cannot finish costs a time limit and nothing else.
"""

import os
import shutil
import subprocess
import sysconfig

from django.utils.translation import gettext as _

from herdbook.charts.exceptions import (
    ChartTooLargeError,
    DrawingError,
    DrawingTimeoutError,
    NoEngineError,
)

SECONDS = 10
MOST_NODES = 400


def find_engine() -> str:
    """The path of the graphviz binary to run.

    HERDBOOK_DOT names one outright. Else a system `dot` is taken if there is one, else the binary
    that graphviz-pure installs beside this Python. Raises NoEngineError where none can be run.
    """
    named = os.environ.get("HERDBOOK_DOT")
    if named:
        found = shutil.which(named)
    else:
        beside_python = sysconfig.get_path("scripts")
        found = (
            shutil.which("dot")
            or shutil.which("graphviz-pure", path=beside_python)
            or shutil.which("graphviz-pure")
        )
    if not found:
        raise NoEngineError(
            _("Charts cannot be drawn: no graphviz program was found. Run the set-up again.")
        )
    return found


def check_size(nodes: int, most: int = MOST_NODES) -> None:
    """Raise ChartTooLargeError if a chart of so many nodes is more than we draw."""
    if nodes > most:
        raise ChartTooLargeError(
            _(
                "This chart would have %(nodes)d boxes and joins, but at most %(most)d can be "
                "drawn. Choose fewer generations."
            )
            % {"nodes": nodes, "most": most}
        )


def run(source: str, *, layout: str, engine: str | None = None, seconds: float = SECONDS) -> str:
    """Give the SVG text that graphviz draws from `source`, which is DOT.

    `layout` is graphviz's own word: `dot` to let it place the nodes, `neato` where the source
    places them (it is then run so that it moves nothing). Raises NoEngineError, DrawingTimeoutError
    after `seconds`, and DrawingError with the engine's own words when it fails.
    """
    command = [engine or find_engine(), f"-K{layout}", "-Tsvg"]
    if layout == "neato":
        command.append("-n2")
    try:
        done = subprocess.run(
            command, input=source.encode(), capture_output=True, timeout=seconds, check=False
        )
    except subprocess.TimeoutExpired as error:
        raise DrawingTimeoutError(
            _("The chart took longer than %(seconds)g s to draw and was stopped.")
            % {"seconds": seconds}
        ) from error
    except OSError as error:
        raise NoEngineError(
            _("Charts cannot be drawn: the graphviz program %(program)s does not run.")
            % {"program": command[0]}
        ) from error
    if done.returncode != 0:
        words = done.stderr.decode(errors="replace").strip() or f"exit status {done.returncode}"
        raise DrawingError(_("The chart could not be drawn: %(words)s") % {"words": words})
    return done.stdout.decode()
