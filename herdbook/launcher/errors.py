"""Why the herd-book does not start."""


class CannotStart(Exception):
    """The message is the sentence that the keeper reads: what is wrong, and what to do."""
