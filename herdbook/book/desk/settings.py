"""What a breeder sets for the herd at the desk: its limits, and what weighs in a ranking."""

from ..models import Herd, Limits, RankingWeights
from ..models.base import HerdRow
from .writing import Change, change


def set_limits(*, user, herd: Herd, values: dict, version: int, submission_key: str = "") -> Limits:
    """Write a herd's limits; ``version`` is that of the row read, 0 where there was none.

    Raises Refused, AlreadyWritten or ChangedMeanwhile.
    """
    with change(
        user=user, herd=herd, action="set limits", submission_key=submission_key
    ) as writing:
        return _set(writing, Limits, herd, values, version)


def set_ranking_weights(
    *, user, herd: Herd, values: dict, version: int, submission_key: str = ""
) -> RankingWeights:
    """Keep what weighs in a herd's rankings; ``version`` is as in :func:`set_limits`.

    Raises Refused, AlreadyWritten or ChangedMeanwhile.
    """
    with change(
        user=user, herd=herd, action="set ranking weights", submission_key=submission_key
    ) as writing:
        return _set(writing, RankingWeights, herd, values, version)


def _set(writing: Change, model: type[HerdRow], herd: Herd, values: dict, version: int) -> HerdRow:
    """Write over the herd's one row of this model, or make it."""
    row = model.objects.filter(herd=herd).first()
    if row is None:
        row = writing.add(model(herd=herd, **values))
    else:
        row = writing.update(row, values, version=version)
    writing.about(row.public_id)
    return row
