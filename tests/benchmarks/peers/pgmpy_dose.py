"""Doses by pgmpy, by variable elimination: `sires`, `dams` (-1 where unknown), `likelihood` and
`frequency` in; `doses` (n, 3) and the quickest run's processor `seconds` out. It may take 6 GB."""

import sys
import time
from itertools import product

import numpy as np
from pgmpy.factors.discrete import DiscreteFactor
from pgmpy.inference import VariableElimination
from pgmpy.models import DiscreteMarkovNetwork

try:
    import resource
except ImportError:  # not on this system: it takes what it wants
    resource = None

TIMES = 2
MEMORY = 6 * 2**30


def network(sires, dams, likelihood, frequency):
    """A factor for each animal: given its parents, with what was seen of it."""
    founder = np.array([(1 - frequency) ** 2, 2 * frequency * (1 - frequency), frequency**2])
    handed = np.zeros((3, 3, 3))
    for pup, sire, dam, a, b in product(range(3), range(3), range(3), (0, 1), (0, 1)):
        chance = (sire / 2 if a else 1 - sire / 2) * (dam / 2 if b else 1 - dam / 2)
        handed[pup, sire, dam] += chance * (a + b == pup)
    model = DiscreteMarkovNetwork()
    model.add_nodes_from(f"a{animal}" for animal in range(len(sires)))
    for animal, (sire, dam) in enumerate(zip(sires, dams, strict=True)):
        names, table = [f"a{animal}"], founder
        if sire != -1:
            names += [f"a{sire}", f"a{dam}"]
            model.add_edges_from([(names[0], names[1]), (names[0], names[2]), (names[1], names[2])])
            table = handed
        weighed = table * likelihood[animal].reshape(-1, *[1] * (table.ndim - 1))
        model.add_factors(DiscreteFactor(names, [3] * len(names), weighed))
    return model


def doses(sires, dams, likelihood, frequency):
    """Every animal's shares, one query each."""
    inference = VariableElimination(network(sires, dams, likelihood, frequency))
    asked = (inference.query([f"a{animal}"], show_progress=False) for animal in range(len(sires)))
    weights = np.array([factor.values for factor in asked])
    return weights / weights.sum(axis=1, keepdims=True)


def main(given, found):
    if resource is not None:
        resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))
    with np.load(given) as loaded:
        arrays = dict(loaded)
    seconds = []
    for _time in range(TIMES):
        begun = time.process_time()
        shares = doses(
            **{name: arrays[name] for name in ("sires", "dams", "likelihood")},
            frequency=float(arrays["frequency"]),
        )
        seconds.append(time.process_time() - begun)
    np.savez(found, doses=shares, seconds=min(seconds))


main(*sys.argv[1:])
