"""Which engine made a figure: what is said today can be told from what was said before.

`METHOD` is raised by hand when a way of reckoning changes what is said; the tables and rates move
the mark by themselves.
"""

from __future__ import annotations

import hashlib

from genetics.core import curves, details, evidence, littermates

# 2: pups counted together, and taken for each other; 3: a pup that may have been taken for a
# littermate may have been taken for any other animal too; 4: herds exact that were refined;
# 5: counts in large registers; 6: a book teaches spreads as well as medians, and by counts;
# 7: nameless pups counted hold in a dear family too, where nothing is known of the others
METHOD = 7
TABLES = (curves, evidence, details, littermates)


def engine_version(*rates: float) -> str:
    """A mark such as '1-3f2a9c04' of the method, of all tables of `TABLES` and of the rates that
    the caller sets beside them: the founders' frequency, how often a sire is wrong."""
    tables = [
        (module.__name__, name, value)
        for module in TABLES
        for name, value in sorted(vars(module).items())
        if name.strip("_").isupper()
    ]
    digest = hashlib.sha256(repr((rates, tables)).encode()).hexdigest()
    return f"{METHOD}-{digest[:8]}"
