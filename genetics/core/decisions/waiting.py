"""How long to wait for points on a pup that shows none.

A pup that is still unmarked is a self the more surely the older it gets. Whoever keeps it pays for
each week; whoever lets it go may lose one that would have pointed.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from genetics.core.penetrance.likelihood import MISJUDGED, MIXED_UP
from genetics.core.penetrance.observation import Observation, Seen, as_seen
from genetics.core.penetrance.onset_parameters import CURVES, Curves
from genetics.core.penetrance.scaled_likelihood import marginal_likelihood

Table = NDArray[np.float64]

WEEK_DAYS = 7


@dataclass(frozen=True)
class Weeks:
    """A pup seen unmarked so far, followed for as long as it stays so.

    `ages_days` (w,): its age today, then at each look to come. `chances` (w, 3): of each dose if
    the looks up to then, and that one, all find it unmarked. `still_unmarked` (w,): the chance,
    as things stand today, that they do; the first is 1.
    """

    ages_days: Table
    chances: Table
    still_unmarked: Table


@dataclass(frozen=True)
class Waiting:
    """What waiting costs and when it stops paying, for the looks of a `Weeks`.

    `stop` (w,): whether to let the pup go, if it is unmarked at that look. `costs` (w,): what is
    to be expected from there on for one who acts best. `until`: the first look at which to stop.
    """

    stop: NDArray[np.bool_]
    costs: Table
    until: int


def weeks_unmarked(
    prior: Table,
    seen: Sequence[Seen],
    age_days: float,
    coming_days: Sequence[float],
    *,
    behind: Table | None = None,
    warmth: str = "",
    misjudged: float = MISJUDGED,
    mixed_up: float = MIXED_UP,
    curves: Curves = CURVES,
) -> Weeks:
    """The chances of an unmarked pup today and at each look to come.

    `prior` (3,): chances of its dose by all records but its own looks; `seen`: the looks so far,
    all of which found no points; `age_days`: its age today; `coming_days`: its ages at the looks
    to come, ascending, and `warmth` that of the weeks before them, where it is known. Its looks
    share its own pace, as in `observation_likelihood`. `behind` (3, 3): given its dose (rows), the
    chances of that of the pup which all its looks are made at, where that may be a littermate.
    Raises ValueError for ages that go backwards, for a look that found points and for a pup that
    cannot be unmarked.
    """
    before, whose = as_seen(seen), np.eye(3) if behind is None else behind
    if any(look.stage != "none" for look in before):
        raise ValueError("a pup that has shown points is not waited for")
    coming = [Observation("none", days, warmth) for days in coming_days]
    ages = [*(look.age_days for look in before), age_days, *coming_days]
    if any(later < earlier for earlier, later in zip(ages, ages[1:], strict=False)):
        raise ValueError("looks are given from the earliest to the latest")
    joint = np.array(
        [
            prior * (whose @ _chance([*before, *coming[:more]], misjudged, mixed_up, curves))
            for more in range(len(coming_days) + 1)
        ]
    )
    whole = joint.sum(axis=1)
    if whole[0] == 0:
        raise ValueError("a pup of these chances cannot be unmarked")
    return Weeks(
        np.array([age_days, *coming_days], float), joint / whole[:, None], whole / whole[0]
    )


def when_to_stop(
    weeks: Weeks, *, keep_cost: float, lost_one_dose: float, lost_two_doses: float = 0.0
) -> Waiting:
    """The check at which waiting for points stops paying, by backward induction.

    The keeper checks at each age of `weeks`. A pup that shows points is kept for what it is and
    costs nothing more here. One that shows none is either let go as a self, which loses
    `lost_one_dose` if it has one dose and `lost_two_doses` if two, or kept to the next check for
    `keep_cost` a week; after the last check it goes. With p(d) its chances at check i and q that of
    being unmarked still at the next,

        V(i) = min( p(1) lost1 + p(2) lost2,  keep (weeks to the next check) + q V(i + 1) ).

    A self that is once misread as marked is kept at no cost: too rare to move the day.

    Parameters
    ----------
    weeks : Weeks
        The checks to come, with the chances at each.
    keep_cost : float
        Of keeping the pup a week; costs are in any one currency, and only their ratios matter.
    lost_one_dose, lost_two_doses : float
        The loss if a pup of one or two doses is let go as a self.

    Returns
    -------
    Waiting

    Raises
    ------
    ValueError
        For a negative cost.

    References
    ----------
    Bellman R 1957, Dynamic Programming, Princeton University Press (from memory).
    """
    if min(keep_cost, lost_one_dose, lost_two_doses) < 0:
        raise ValueError("a cost is nothing or more")
    let_go = weeks.chances @ np.array([0.0, lost_one_dose, lost_two_doses])
    keeping = keep_cost * np.diff(weeks.ages_days) / WEEK_DAYS
    goes_on = weeks.still_unmarked[1:] / weeks.still_unmarked[:-1]
    costs = let_go.copy()
    stop = np.ones(len(let_go), dtype=bool)
    for look in range(len(let_go) - 2, -1, -1):
        wait = keeping[look] + goes_on[look] * costs[look + 1]
        stop[look] = let_go[look] <= wait
        costs[look] = min(let_go[look], wait)
    return Waiting(stop, costs, int(np.flatnonzero(stop)[0]))


def _chance(
    looks: Sequence[Observation], misjudged: float, mixed_up: float, curves: Curves
) -> Table:
    """Chance (3,) of these looks at each dose, mix-ups with them."""
    chances = marginal_likelihood(looks, misjudged=misjudged, curves=curves)
    table: Table = (1 - mixed_up) * chances + mixed_up * chances.mean()
    return table
