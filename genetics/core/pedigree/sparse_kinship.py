"""Animals and litters as nodes with their parents' nodes before them, for registers of any size.

Kinship is K = T D T': T follows the parents, each by the chance that an allele comes from it, and
D is diagonal, what each node has of its own (Henderson CR 1976, A simple method for computing the
inverse of a numerator relationship matrix, Biometrics 32:69-83). For one parent s,

    x = T' e_s, going up from s, and then K e_s = T D x, coming down again,

so a column of kinships costs one walk up and one walk down the ancestors that are asked about,
whatever the register's size (Colleau JJ 2002, An indirect approach to the extensive calculation of
relationship coefficients, Genet Sel Evol 34:409-421). D of a node follows from the inbreeding of
its parents, and inbreeding from the kinship of sire and dam: columns are made for one sire after
the other, parents first, each asked about all the dams he was ever put to (Sargolzaei M, Iwaisaki
H, Colleau JJ 2005, A fast algorithm for computing inbreeding coefficients in large populations, J
Anim Breed Genet 122:325-331). A column of a sire needs D of his ancestors alone, so one a sire is
enough, however long he serves; one of several possible sires or dams is asked about the others
too. (All three cited from memory.)

Where a parent is uncertain the walk goes on to every candidate by its weight, and the expectations
of `kinship.py` come out the same, for they too have this form. With w the weights of a litter's
candidates on one side, K their kinships, a side's `selves` sum w(s) K(s, s) and its `between`
w' K w (an unknown parent: 1/2 and 0), the pups of a litter share one node of its own with

    D = 1/4 (selves - between of the sires) + 1/4 (selves - between of the dams),

and each pup has D = 1/2 - 1/4 (selves of the sires) - 1/4 (selves of the dams). Where nothing is
uncertain the first is zero, and pups follow from their parents without that node.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import ParamSpec, TypeVar

import numpy as np
from numpy.typing import NDArray

from genetics.core.numerics.kernels import Kernel
from genetics.core.pedigree.arrays import Figures, Numbers, Parentage
from genetics.core.pedigree.kinship_columns import columns_of_kinship, inbreeding_of_litters
from genetics.core.pedigree.node_order import arrange, link

COMPILED_FROM = 2_000  # animals; for fewer Python is done before the compiler is imported
AT_ONCE = 64  # columns of kinship, so that a table for all of a large register fits in memory

Given = ParamSpec("Given")
Found = TypeVar("Found")


@dataclass(frozen=True)
class Lineage:
    """The nodes of n animals, parents first, with what each has of its own.

    `node_of` (n,) is each animal's node. Node k comes from the nodes
    `parents[first[k]:first[k + 1]]` by `shares`, and `own` holds D above. `inbreeding` (n,) is
    the expected coefficient F of each animal.
    """

    node_of: Numbers
    first: Numbers
    parents: Numbers
    shares: Figures
    own: Figures
    inbreeding: Figures

    @classmethod
    def of(cls, parentage: Parentage) -> Lineage:
        """Arrange the nodes and work out every animal's inbreeding."""
        animals, start, weights = len(parentage.litter_of), parentage.start, parentage.weights
        arranged = _sized(arrange, animals)(parentage.litter_of, start, parentage.candidates)
        node_of, shared_node, litter_at, kind, level_at, with_young, width = arranged
        candidates = node_of[parentage.candidates]
        links = _sized(link, animals)(shared_node, litter_at, kind, start, candidates, weights)
        inbred, own = _sized(inbreeding_of_litters, animals)(
            litter_at, kind, level_at, *links, with_young, width, start, candidates, weights
        )
        inbreeding = np.append(inbred, 0.0)[parentage.litter_of]  # a founder's -1 takes the last
        return cls(node_of, *links, own, inbreeding)

    def kinship(self, animals: NDArray[np.integer], others: NDArray[np.integer]) -> Figures:
        """Expected kinship (r, c) of each of `animals` with each of `others`."""
        table = np.empty((len(animals), len(others)))
        for begin in range(0, len(others), AT_ONCE):
            some = others[begin : begin + AT_ONCE]
            table[:, begin : begin + AT_ONCE] = self._columns(
                animals, some, np.arange(len(some)), np.ones(len(some))
            )
        return table

    def mean_kinship(self, animals: NDArray[np.integer], group: NDArray[np.integer]) -> Figures:
        """Mean (r,) of the kinships of each of `animals` with the members of `group`."""
        weights = np.full(len(group), 1 / len(group))
        return self._columns(animals, group, np.zeros(len(group)), weights)[:, 0]

    def _columns(
        self,
        animals: NDArray[np.integer],
        of: NDArray[np.integer],
        column_of: NDArray[np.generic],
        weights: Figures,
    ) -> Figures:
        if not len(animals) or not len(of):
            return np.zeros((len(animals), len(of)))
        return _sized(columns_of_kinship, len(self.node_of))(
            self.first,
            self.parents,
            self.shares,
            self.own,
            self.node_of[of],
            column_of.astype(np.int32),
            weights,
            int(column_of.max()) + 1,
            self.node_of[animals],
        )


def _sized(kernel: Kernel[Given, Found], animals: int) -> Callable[Given, Found]:
    return kernel if animals > COMPILED_FROM else kernel.plain
