"""The errors of the launcher, under one root."""


class LauncherError(Exception):
    """The root of the launcher's errors."""


class StartError(LauncherError):
    """The message is what the keeper reads: the fault, and what to do."""


class LockResolutionError(LauncherError):
    """The message is the resolver's output."""
