"""The herd itself at the desk: its name, its stud prefix, who keeps it."""

from ..models import Herd
from .change_set import Submission, change


def describe_herd(submission: Submission, *, herd: Herd, values: dict) -> Herd:
    """Write a herd's name, stud prefix, keeper and address over what stood there.

    Names that animals already have stay as they are. Raises RecordRefusedError, AlreadyWrittenError
    or EditConflictError.
    """
    with change(submission, herd, "describe herd") as writing:
        herd = writing.update(herd, values, version=submission.version)
        writing.about(herd.public_id)
    return herd
