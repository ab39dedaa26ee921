"""The errors of the charts, under one root."""


class DrawingError(Exception):
    """A chart could not be drawn; its text is a sentence for the page."""


class NoEngineError(DrawingError):
    """No graphviz binary is there to run."""


class ChartTooLargeError(DrawingError):
    """More boxes were asked for than a chart may have."""


class DrawingTimeoutError(DrawingError):
    """The engine did not finish within its time limit and was stopped."""
