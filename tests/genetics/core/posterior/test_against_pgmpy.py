"""Random pedigrees with loops against pgmpy's variable elimination (a general-purpose library).

The network is laid out otherwise than ours: a pup's table runs over all candidates and the choice
at once, and what was seen is a child of the animal.
"""

from itertools import product

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from pgmpy.factors.discrete import TabularCPD
from pgmpy.inference import VariableElimination
from pgmpy.models import DiscreteBayesianNetwork

from genetics.core.posterior.dose import InconsistentEvidenceError, dose_posterior
from tests.genetics.core.small_pedigrees import HANDS_ON, evidence, pedigrees


def pup_given(sire, dam):
    a, b = HANDS_ON[sire], HANDS_ON[dam]
    return (1 - a) * (1 - b), a + b - 2 * a * b, a * b


class Side:
    """The candidates on one side of a litter, a stranger, and the choice among them."""

    def __init__(self, name, candidates, weights, errors):
        self.stranger = f"stranger {name}"
        self.choice = f"choice {name}"
        with_stranger = errors > 0 or not candidates
        self.parents = [f"a{animal}" for animal in candidates]
        self.weights = [(1 - errors) * weight for weight in weights]
        if with_stranger:
            self.parents.append(self.stranger)
            self.weights.append(errors if candidates else 1.0)

    def tables(self, pool):
        yield TabularCPD(self.choice, len(self.weights), [[weight] for weight in self.weights])
        if self.stranger in self.parents:
            yield TabularCPD(self.stranger, 3, [[share] for share in pool])


def as_network(pedigree, likelihood, frequency, errors):
    pool = [(1 - frequency) ** 2, 2 * frequency * (1 - frequency), frequency**2]
    tables = [
        TabularCPD(f"a{founder}", 3, [[share] for share in pool])
        for founder in np.flatnonzero(pedigree.litter_of == -1)
    ]
    for number, litter in enumerate(pedigree.litters):
        sire = Side(f"s{number}", litter.sires, litter.sire_weights, errors if litter.sires else 0)
        dam = Side(f"d{number}", litter.dams, litter.dam_weights, 0)
        tables += [*sire.tables(pool), *dam.tables(pool)]
        tables += [pup_table(f"a{pup}", sire, dam) for pup in litter.pups]
    for animal, row in enumerate(likelihood):
        seen = row / row.max() / 2
        tables.append(TabularCPD(f"seen {animal}", 2, [1 - seen, seen], [f"a{animal}"], [3]))
    network = DiscreteBayesianNetwork(
        [(parent, table.variable) for table in tables for parent in table.variables[1:]]
    )
    network.add_nodes_from([table.variable for table in tables])
    network.add_cpds(*tables)
    return network


def pup_table(pup, sire, dam):
    parents = [*sire.parents, sire.choice, *dam.parents, dam.choice]
    states = [*[3] * len(sire.parents), len(sire.parents), *[3] * len(dam.parents)]
    states.append(len(dam.parents))
    columns = [
        pup_given(cell[cell[len(sire.parents)]], cell[len(sire.parents) + 1 + cell[-1]])
        for cell in product(*[range(count) for count in states])
    ]
    return TabularCPD(pup, 3, np.array(columns).T, parents, states)


@settings(max_examples=25, deadline=None)
@given(pedigrees(most=10), st.data())
def test_it_agrees_with_variable_elimination(pedigree, data):
    likelihood = data.draw(evidence(len(pedigree)))
    frequency = data.draw(st.sampled_from([0.1, 0.4]))
    errors = data.draw(st.sampled_from([0.0, 0.05]))
    try:
        dose = dose_posterior(pedigree, likelihood, frequency=frequency, errors=errors)
    except InconsistentEvidenceError:
        assume(False)
    network = as_network(pedigree, likelihood, frequency, errors)
    told = {f"seen {animal}": 1 for animal in range(len(pedigree))}
    inference = VariableElimination(network)

    def shares(variable):
        found = inference.query([variable], evidence=told, show_progress=False)
        return found.values

    for animal in range(len(pedigree)):
        assert dose.chances[animal] == pytest.approx(shares(f"a{animal}"), abs=1e-10)
    for litter, expected in dose.sire_shares.items():
        assert expected == pytest.approx(shares(f"choice s{litter}"), abs=1e-10)
    for litter, expected in dose.dam_shares.items():
        assert expected == pytest.approx(shares(f"choice d{litter}"), abs=1e-10)
