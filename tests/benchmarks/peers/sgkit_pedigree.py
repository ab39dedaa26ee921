"""A pedigree by sgkit: `sires`, `dams` and `what`, 'inbreeding' or 'kinship', in; `figures` and
processor `seconds` out."""

import sys
import time

import numpy as np
import sgkit
import xarray

TIMES = 5
FOR_S = 2.0


def main(given, found):
    with np.load(given) as arrays:
        parents = np.column_stack([arrays["sires"], arrays["dams"]])
        what = str(arrays["what"])
    register = xarray.Dataset({"parent": (["samples", "parents"], parents)})

    def figures():
        if what == "kinship":
            return sgkit.pedigree_kinship(register).stat_pedigree_kinship.values
        return sgkit.pedigree_inbreeding(register).stat_pedigree_inbreeding.values

    figures()  # this one compiles
    seconds = []
    while len(seconds) < TIMES or sum(seconds) < FOR_S:
        begun = time.process_time()
        answer = figures()
        seconds.append(time.process_time() - begun)
    np.savez(found, figures=answer, seconds=min(seconds))


main(*sys.argv[1:])
