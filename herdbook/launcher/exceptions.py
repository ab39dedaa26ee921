"""The errors of the launcher, under one root."""


class LauncherError(Exception):
    """The root of the launcher's errors."""


class StartError(LauncherError):
    """The message is the sentence that the keeper reads: what is wrong, and what to do."""


class LockResolutionError(LauncherError):
    """The message is what the resolver said."""
