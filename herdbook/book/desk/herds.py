"""The herd itself at the desk: its name, its stud prefix, who keeps it."""

from ..models import Herd
from .writing import change


def describe_herd(
    *, user, herd: Herd, values: dict, version: int, submission_key: str = ""
) -> Herd:
    """Write a herd's name, stud prefix, keeper and address over what stood there.

    Names that animals already have stay as they are. Raises Refused, AlreadyWritten or
    ChangedMeanwhile.
    """
    with change(
        user=user, herd=herd, action="describe herd", submission_key=submission_key
    ) as writing:
        herd = writing.update(herd, values, version=version)
        writing.about(herd.public_id)
    return herd
