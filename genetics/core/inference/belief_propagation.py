"""What families tell each other, passed round until it no longer changes.

Belief propagation on a graph with loops, damped: Pearl J 1988, Probabilistic Reasoning in
Intelligent Systems, ch. 4, with joined variables as in Yedidia JS, Freeman WT, Weiss Y 2005,
Constructing free-energy approximations and generalized belief propagation algorithms, IEEE Trans
Inf Theory 51:2282-2312 (both cited from memory). All messages are renewed at once, tables of one
shape together. Exact on trees; with loops an approximation, and it may fail to settle.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from genetics.core.exceptions import ContradictionError
from genetics.core.inference.cluster_graph import KnotGraph
from genetics.core.inference.factor_graph import Table

DAMPINGS = ((0.2, 200), (0.6, 600))  # share of the old message kept, and rounds to try with it
SETTLED = 1e-8  # the largest change of a message in the last round
SEED = 1866
NEVER = -1e6  # stands for the logarithm of zero
RULED_OUT = NEVER / 10  # below it, a logarithm has a zero in it


@dataclass(frozen=True)
class Beliefs:
    """`shares[k]` of node k's states; `incoming[edge]`: what came to its two ends, scaled.

    `change`: of any message in the last round; `settled`: whether it was small enough.
    """

    shares: list[Table]
    incoming: list[tuple[Table, Table]]
    rounds: int
    change: float
    settled: bool


def pass_messages(graph: KnotGraph, leaning: float = 0.0) -> Beliefs:
    """Pass messages until they settle or patience ends. Raises ContradictionError.

    `leaning`: how strongly the first messages lean, at random but always alike, for some states;
    the opposite number leans the other way. With loops they may settle elsewhere than flat ones.
    Zeros in a message are proof: a state they rule out has weight zero. That a contradiction
    is found is not sure, only that one which is found is one.
    """
    passing = _Passing(graph)
    passing.logs += leaning * np.random.default_rng(SEED).standard_normal(len(passing.logs))
    rounds, change = 0, np.inf
    for damping, most in DAMPINGS:
        for _ in range(most):
            change = passing.renew(damping)
            rounds += 1
            if change < SETTLED:
                return passing.beliefs(rounds, change)
    return passing.beliefs(rounds, change)


@dataclass(frozen=True)
class _Group:
    """Edges whose tables have one shape; where their messages and their nodes' states stand."""

    numbers: list[int]
    tables: Table
    at_u: NDArray[np.int64]
    at_v: NDArray[np.int64]
    to_u: slice
    to_v: slice


class _Passing:
    def __init__(self, graph: KnotGraph) -> None:
        self.graph = graph
        sizes = np.array([len(weight) for weight in graph.weights], dtype=np.int64)
        self.starts = np.concatenate([[0], np.cumsum(sizes)])
        self.own = _logarithm(np.concatenate(graph.weights))
        self.groups: list[_Group] = []
        shapes: dict[tuple[int, ...], list[int]] = {}
        for number, table in enumerate(graph.tables):
            shapes.setdefault(table.shape, []).append(number)
        places: list[NDArray[np.int64]] = []
        end = 0
        for (u_states, v_states), numbers in shapes.items():
            ends = np.array([graph.edges[number] for number in numbers], dtype=np.int64)
            at_u = self.starts[ends[:, 0], None] + np.arange(u_states)
            at_v = self.starts[ends[:, 1], None] + np.arange(v_states)
            middle, start, end = end + at_u.size, end, end + at_u.size + at_v.size
            tables = np.stack([graph.tables[number] for number in numbers])
            to_u, to_v = slice(start, middle), slice(middle, end)
            self.groups.append(_Group(numbers, tables, at_u, at_v, to_u, to_v))
            places += [at_u.ravel(), at_v.ravel()]
        self.places = np.concatenate(places) if places else np.empty(0, dtype=np.int64)
        self.logs = np.zeros(end)

    def totals(self) -> Table:
        """For each state of each node, its own weight and all that came to it, as logarithms."""
        came = np.bincount(self.places, self.logs, len(self.own))
        totals: Table = self.own + came
        return totals

    def renew(self, damping: float) -> float:
        """Renew all messages; returns the largest change."""
        totals = self.totals()
        fresh = np.empty_like(self.logs)
        for group in self.groups:
            old_u = self.logs[group.to_u].reshape(group.at_u.shape)
            old_v = self.logs[group.to_v].reshape(group.at_v.shape)
            from_u = _scaled(totals[group.at_u] - old_u)[:, None, :]
            from_v = _scaled(totals[group.at_v] - old_v)[:, :, None]
            fresh[group.to_v] = _message((from_u @ group.tables)[:, 0, :])
            fresh[group.to_u] = _message((group.tables @ from_v)[:, :, 0])
        change = float(np.abs(np.exp(fresh) - np.exp(self.logs)).max(initial=0.0))
        self.logs = (1 - damping) * fresh + damping * self.logs
        return change

    def beliefs(self, rounds: int, change: float) -> Beliefs:
        totals = self.totals()
        shares = []
        for start, end in zip(self.starts[:-1], self.starts[1:], strict=True):
            row = _scaled(totals[None, start:end])[0]
            shares.append(row / row.sum())
        incoming: list[tuple[Table, Table]] = [(np.empty(0), np.empty(0))] * len(self.graph.edges)
        for group in self.groups:
            to_u = _plain(self.logs[group.to_u]).reshape(group.at_u.shape)
            to_v = _plain(self.logs[group.to_v]).reshape(group.at_v.shape)
            for row_number, number in enumerate(group.numbers):
                incoming[number] = (to_u[row_number], to_v[row_number])
        return Beliefs(shares, incoming, rounds, change, change < SETTLED)


def _logarithm(values: Table) -> Table:
    logs = np.full_like(values, NEVER)
    np.log(values, out=logs, where=values > 0)
    return logs


def _scaled(logs: Table) -> Table:
    """Rows of logarithms as numbers with a maximum of 1. Raises ContradictionError."""
    top = logs.max(axis=1, keepdims=True)
    if (top < RULED_OUT).any():
        raise ContradictionError
    scaled: Table = np.exp(logs - top)
    return scaled


def _message(rows: Table) -> Table:
    """Logarithms of rows, each scaled to a maximum of 1, flat. Raises ContradictionError."""
    top = rows.max(axis=1, keepdims=True)
    if (top <= 0).any():
        raise ContradictionError
    return _logarithm(rows / top).ravel()


def _plain(logs: Table) -> Table:
    """Numbers again; only what has a zero in it becomes zero."""
    plain: Table = np.where(logs < RULED_OUT, 0.0, np.exp(np.maximum(logs, -500.0)))
    return plain
