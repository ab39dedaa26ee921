"""How much memory the heavy work on a large book takes at most, and how long, each in a process of
its own that may take no more than 6 GB of addresses beyond what is mapped at its start.

The book is simulated (`tests/benchmarks/registers.py`, seeded): twelve half-years, one herd that
keeps the last two years' animals, body colours by Mendel's law for three genes, seven in ten
written; a check of the points for half of the animals; two possible sires in three litters of a
hundred. 'Figures' is the job that makes doses, inbreeding and the possible sires by colours;
'carried colours', 'doubts' and 'the look ahead' (100 sows and 20 boars, two rules, four seasons)
are the jobs behind those pages. Memory is the largest resident size of the process, libraries and
machine code (about 190 MB) with it.
"""

from __future__ import annotations

import os
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from datetime import date, timedelta
from itertools import islice

import numpy as np

from tests.benchmarks.measuring import Row
from tests.benchmarks.registers import Register, bred

PEER = None
SEED = 1866
SEASONS, SEASON_DAYS = 12, 183
BEGUN = date(2020, 1, 1)
AT_MOST = 6 * 2**30
REACH_MB = {20_000: 1000, 100_000: 2000}
JOBS = ("figures", "carried colours", "doubts", "the look ahead")


def measure() -> Iterator[Row]:
    """Each job on a book of 20,000 animals and on one of 100,000."""
    for animals, reach in REACH_MB.items():
        with tempfile.TemporaryDirectory() as home:
            _in_a_process(home, "write", animals)
            for job in JOBS:
                processor_s, clock_s, most_mb = _in_a_process(home, job, animals)
                met = "met" if most_mb <= reach else "not met"
                memory = f"at most {most_mb:.0f} MB (reach {reach} MB: {met})"
                yield Row(f"{job}, {animals:,} animals: {memory}", processor_s, clock_s=clock_s)


def _in_a_process(home: str, job: str, animals: int) -> tuple[float, float, float]:
    """Processor seconds, seconds by the clock, and the most memory in MB."""
    run = subprocess.run(
        [sys.executable, "-m", __name__, job, str(animals)],
        check=True,
        stdout=subprocess.PIPE,
        text=True,
        env=os.environ | {"HERDBOOK_HOME": home, "DJANGO_SETTINGS_MODULE": "herdbook.settings"},
    )
    processor_s, clock_s, most_mb = map(float, run.stdout.split()[-3:])
    return processor_s, clock_s, most_mb


def _write(animals: int) -> None:
    """Fill a new book."""
    from django.core.management import call_command

    from herdbook.book.models import Animal, CandidateSire, Herd, Litter, Look
    from herdbook.book.partial_date import PartialDate

    call_command("migrate", verbosity=0)
    chance = np.random.default_rng(SEED)
    register = bred(chance, animals, SEASONS, max(1, animals // 300))
    herd = Herd.objects.create(name="Simulated", stud_prefix="Simulated", keeper="Nobody")
    seasons = _seasons(register)
    days = [BEGUN + timedelta(days=int(one) * SEASON_DAYS) for one in seasons]
    first = np.flatnonzero(np.diff(register.litters, prepend=-2) != 0)
    litter_of = np.where(register.litters >= 0, register.litters, -1)
    dams = {int(litter_of[row]): int(register.dams[row]) for row in first if litter_of[row] >= 0}
    sires = {int(litter_of[row]): int(register.sires[row]) for row in first if litter_of[row] >= 0}
    born = {int(litter_of[row]): days[row] for row in first if litter_of[row] >= 0}
    founders = np.flatnonzero(litter_of == -1)
    own = {int(row): 1 + len(dams) + place for place, row in enumerate(founders)}
    Litter.objects.bulk_create(
        [
            Litter(pk=1 + number, herd=herd, born=PartialDate.of(born[number]))
            for number in range(len(dams))
        ]
        + [Litter(pk=pk, herd=herd, source="paper") for pk in own.values()],
        batch_size=2000,
    )
    coats, points, types = _looks(chance, register)
    sows = set(register.dams.tolist())
    boars = set(register.sires.tolist())
    rows = (
        Animal(
            pk=1 + row,
            herd=herd,
            litter_id=own[row] if litter_of[row] == -1 else 1 + int(litter_of[row]),
            name=f"Animal {row}",
            number=str(row),
            search_text=f"animal {row}",
            sex="sow" if row in sows or (row not in boars and row % 2) else "boar",
            state="in_herd" if seasons[row] >= SEASONS - 4 else "sold",
            coat=coats[row],
            point_colour=points[row],
            coat_type=types[row],
        )
        for row in range(len(register.sires))
    )
    while some := list(islice(rows, 5000)):
        Animal.objects.bulk_create(some, batch_size=500)
    litters = [Litter(pk=1 + number, dam_id=1 + dam) for number, dam in dams.items()]
    Litter.objects.bulk_update(litters, ["dam"], batch_size=400)
    candidates = []
    used = np.array(list(sires.values()))
    for number, sire in sires.items():
        candidates.append(CandidateSire(herd=herd, litter_id=1 + number, boar_id=1 + sire))
        other = int(used[max(0, number - int(chance.integers(1, 30)))])
        if chance.random() < 0.03 and other != sire:
            candidates.append(CandidateSire(herd=herd, litter_id=1 + number, boar_id=1 + other))
    CandidateSire.objects.bulk_create(candidates, batch_size=2000)
    stages = chance.choice(["none", "full", "overmarked"], len(register.sires), p=[0.6, 0.3, 0.1])
    Look.objects.bulk_create(
        [
            Look(herd=herd, animal_id=1 + row, on=days[row] + timedelta(days=90), stage=stages[row])
            for row in np.flatnonzero(chance.random(len(register.sires)) < 0.5).tolist()
            if litter_of[row] >= 0 and coats[row] in ("red", "cream", "white")
        ],
        batch_size=2000,
    )


def _seasons(register: Register) -> np.ndarray:
    """The season each animal was born in: litters follow one another season by season."""
    born = np.zeros(len(register.sires), dtype=int)
    for row, (sire, dam) in enumerate(zip(register.sires, register.dams, strict=True)):
        if sire >= 0:
            born[row] = 1 + max(born[sire], born[dam])
    place = np.flatnonzero(register.litters >= 0)
    born[place] = np.maximum.accumulate(born[place])
    return np.minimum(born, SEASONS)


def _looks(
    chance: np.random.Generator, register: Register
) -> tuple[list[str], list[str], list[str]]:
    """Body colour, colour of points and coat of each animal, by the genotypes of four genes."""
    from genetics.core.inheritance.loci import genes

    shown = {}
    for key in ("albino", "chocolate", "satin", "rex"):
        gene = genes()[key]
        alleles = np.empty((len(register.sires), 2), dtype=int)
        for row, parents in enumerate(zip(register.sires, register.dams, strict=True)):
            if parents[0] == -1:
                alleles[row] = chance.choice(len(gene.alleles), 2, p=gene.frequencies)
            else:
                alleles[row] = [alleles[one, chance.integers(2)] for one in parents]
        number = {name: place for place, name in enumerate(gene.names)}
        pairs = ["/".join(gene.alleles[one] for one in sorted(pair)) for pair in alleles.tolist()]
        shown[key] = [gene.classes[gene.class_of[number[pair]]] for pair in pairs]
    unsaid = chance.random(len(register.sires)) > 0.7
    coats = [
        "" if no else one.split(",")[0] for one, no in zip(shown["albino"], unsaid, strict=True)
    ]
    points = ["" if no else one for one, no in zip(shown["chocolate"], unsaid, strict=True)]
    types = [
        "satin" if one == "satin" else "rex" if other == "rex" else ""
        for one, other in zip(shown["satin"], shown["rex"], strict=True)
    ]
    return coats, points, types


def _figures() -> None:
    from genetics.figures.refresh import compute_figures

    compute_figures()


def _carried_colours() -> None:
    from genetics.colours.carriers import compute_carried

    compute_carried()


def _doubts() -> None:
    from genetics.record_errors.screening import weigh
    from herdbook.book.models import Herd

    weigh(Herd.objects.get())


def _the_look_ahead() -> None:
    from genetics.herd.projection import ProjectionRequest, breed_on
    from herdbook.book.models import Herd

    asked = ProjectionRequest(("one-dose-to-self", "least-kin"), 4, 20, 100, 10, 40, 0.15)
    breed_on(Herd.objects.get(), asked, BEGUN + timedelta(days=SEASON_DAYS * (SEASONS + 1)))


WORK: dict[str, Callable[[], None]] = dict(
    zip(JOBS, (_figures, _carried_colours, _doubts, _the_look_ahead), strict=True)
)


def _child(job: str, animals: int) -> None:
    resource.setrlimit(resource.RLIMIT_AS, (AT_MOST, AT_MOST))
    import django

    django.setup()
    begun, at = time.process_time(), time.perf_counter()
    if job == "write":
        _write(animals)
    else:
        WORK[job]()
    most_mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(time.process_time() - begun, time.perf_counter() - at, most_mb)


if __name__ == "__main__":
    _child(sys.argv[1], int(sys.argv[2]))
