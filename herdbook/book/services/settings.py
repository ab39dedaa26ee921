"""What a breeder sets for the herd at the desk: its limits, and what weighs in a ranking."""

from typing import TypeVar

from django.db.models import QuerySet

from ..models import Herd, Limits, RankingWeights
from ..models.base import HerdRow
from .change_set import Submission, change

Row = TypeVar("Row", bound=HerdRow)


def set_limits(submission: Submission, *, herd: Herd, values: dict) -> Limits:
    """Write a herd's limits. Raises RecordRefusedError, AlreadyWrittenError or
    EditConflictError."""
    return _set(submission, "set limits", Limits, herd, values)


def set_ranking_weights(submission: Submission, *, herd: Herd, values: dict) -> RankingWeights:
    """Keep what weighs in a herd's rankings. Raises what :func:`set_limits` raises."""
    return _set(submission, "set ranking weights", RankingWeights, herd, values)


def _set(submission: Submission, action: str, model: type[Row], herd: Herd, values: dict) -> Row:
    """Write over the herd's one row of this model, or make it."""
    with change(submission, herd, action) as writing:
        rows: QuerySet[Row] = QuerySet(model)
        row = rows.filter(herd=herd).first()
        if row is None:
            row = writing.add(model(herd=herd, **values))
        else:
            row = writing.update(row, values, version=submission.version)
        writing.about(row.public_id)
    return row
