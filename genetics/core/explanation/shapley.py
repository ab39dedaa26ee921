"""How the odds on a dose came about, a factor for each weight of records.

Weights of records that are independent given the dose multiply. The odds on one dose against the
others do not even so, since the records also move the others against each other: what rules out
none makes more of what speaks for two against one. So each weight's share in the change of the
odds is taken as if all records came in at one pace, each a little at a time (Aumann RJ, Shapley LS
1974, Values of non-atomic games, Princeton; for the mean over all orders, of which it is the
limit, Shapley LS 1953, A value for n-person games; both cited from memory). These shares add up to
the change exactly. With the dose asked about as t, the others as d, and p(d) the share of d among
these at each moment,

    change by a group = log w(t) - sum over d of a(d) log w(d),  a(d) = the mean of p(d) on the way,

so that all groups share the a(d), which for two other doses are a logarithm of sums.
"""

from __future__ import annotations

import math

import numpy as np

from genetics.core.inference.factor_graph import Table

MINUTE = 1.1  # a factor nearer to one than this is not told by itself, but with the others'
OUT = 1e-20  # a weight below it is one of nothing that was told in some orders only
FAINT = 1e-100  # stands for a weight of nothing where logarithms are taken


class OddsAttribution:
    """How the odds on the likeliest dose came about, a factor for each weight.

    The path that the odds are followed on goes from the prior to the posterior, with what the
    groups say together as one more weight.
    """

    def __init__(self, prior: Table, posterior: Table, weights: list[Table]) -> None:
        self.dose = int(posterior.argmax())
        self.others = [dose for dose in range(3) if dose != self.dose and prior[dose] > 0]
        logs = [log_of(weight) for weight in weights]
        told = np.array(logs).reshape(-1, 3).sum(axis=0)
        there = (posterior > 0) & (prior > 0)
        rest = np.where(there, log_of(posterior) - log_of(prior) - told, 0.0)
        rest = np.where(there, rest - rest[self.dose], 0.0)
        self.shares = _on_the_way(prior[self.others], (told + rest)[self.others])
        changes = [self.change(log) for log in logs]
        together = self.change(rest)
        whole = sum(map(abs, changes))
        if abs(together) < math.log(MINUTE) and whole > 0:
            changes = [change + together * abs(change) / whole for change in changes]
            together = 0.0
        self.factors = [math.exp(change) for change in changes]
        self.together = math.exp(together)

    def change(self, log: Table) -> float:
        """Of the logarithm of the odds, by a weight given as logarithms."""
        return float(log[self.dose] - self.shares @ log[self.others])

    def factor(self, weight: Table) -> float:
        """In the odds, by a weight that is not in the path by itself."""
        return math.exp(self.change(log_of(weight)))


def _on_the_way(prior: Table, logs: Table) -> Table:
    """The mean share of each other dose among them while all logarithms grow from 0 at one pace:
    the integral over t from 0 to 1 of a logistic curve."""
    if len(prior) < 2:
        return np.ones(len(prior))
    start, change = math.log(prior[0] / prior[1]), float(logs[0] - logs[1])
    if abs(change) < 1e-6:
        first = 1 / (1 + math.exp(-start - change / 2))
    else:
        first = float(np.logaddexp(0, start + change) - np.logaddexp(0, start)) / change
    return np.array([first, 1 - first])


def log_of(weight: Table) -> Table:
    """Of a weight; of a dose of which it says nothing, none."""
    row: Table = np.log(np.maximum(np.nan_to_num(largest_one(weight), nan=1.0), FAINT))
    return row


def marginal_only(prior: Table, weights: list[Table]) -> Table:
    logs = np.array([log_of(weight) for weight in [prior, *weights]]).sum(axis=0)
    row = np.exp(logs - logs.max())
    shares: Table = row / row.sum()
    return shares


def from_log(row: Table) -> Table:
    """A weight, the largest made 1; what was ruled out in any order is."""
    weight: Table = np.exp(row - row.max())
    return np.where(weight < OUT, 0.0, weight)


def between(alone: Table, given: Table) -> Table:
    """The mean of two weights in logarithms; where one says nothing of a dose, the other."""
    both = np.array([largest_one(alone), largest_one(given)])
    known = ~np.isnan(both)
    logs = np.log(np.where(known, np.maximum(both, FAINT), 1))
    mean: Table = np.exp(logs.sum(axis=0) / np.maximum(known.sum(axis=0), 1))
    return np.where((both == 0).any(axis=0), 0.0, mean)


def over(posterior: Table, without: Table) -> Table:
    ratios: Table = np.divide(posterior, without, out=np.full(3, np.nan), where=without > 0)
    return ratios


def largest_one(weight: Table) -> Table:
    top = np.nanmax(weight, initial=0.0)
    row: Table = weight / top if top > 0 else weight
    return row


def spread(weight: Table) -> float:
    """How far a weight tells doses apart."""
    return float(np.ptp(log_of(weight)))
