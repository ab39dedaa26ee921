"""Inbreeding by sgkit: `sires` and `dams` in; `inbreeding` and processor `seconds` out."""

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
    register = xarray.Dataset({"parent": (["samples", "parents"], parents)})
    sgkit.pedigree_inbreeding(register).stat_pedigree_inbreeding.load()  # this one compiles
    seconds = []
    while len(seconds) < TIMES or sum(seconds) < FOR_S:
        begun = time.process_time()
        inbreeding = sgkit.pedigree_inbreeding(register).stat_pedigree_inbreeding.values
        seconds.append(time.process_time() - begun)
    np.savez(found, inbreeding=inbreeding, seconds=min(seconds))


main(*sys.argv[1:])
