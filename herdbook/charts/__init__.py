"""Pedigree charts: plain values in, SVG and its key out.

Graphviz lays out, in a child process with a time limit; nothing here reads the database.
"""

from herdbook.charts.ancestors import ancestors_chart
from herdbook.charts.animals import Ancestor, Animal, Chart, KeyEntry
from herdbook.charts.exceptions import (
    ChartTooLargeError,
    DrawingError,
    DrawingTimeoutError,
    NoEngineError,
)
from herdbook.charts.graphviz import find_engine
from herdbook.charts.relationship import MOST_PATHS, Route, relationship_chart
from herdbook.charts.symbols import Sex

__all__ = [
    "MOST_PATHS",
    "Ancestor",
    "Animal",
    "DrawingError",
    "Chart",
    "KeyEntry",
    "NoEngineError",
    "Route",
    "Sex",
    "DrawingTimeoutError",
    "ChartTooLargeError",
    "ancestors_chart",
    "find_engine",
    "relationship_chart",
]
