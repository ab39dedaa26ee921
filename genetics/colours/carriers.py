"""What an animal may carry unseen, for every gene of `loci.toml` that its family shows a sign of.

Worked out for the whole book at once, from the words for coat, points, eyes and coat type, and kept
by the book's revision. Where nobody in a family shows what a gene does, nor is of a class that
always carries it, its animals are not told that they may carry it: that would be the founders'
frequency and nothing else.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import asdict, dataclass, replace
from functools import cached_property

import numpy as np
from django.db import transaction
from numpy.typing import NDArray

from genetics import jobs
from genetics.core.exceptions import PedigreeError
from genetics.core.inheritance.loci import Gene, Words, genes, merged
from genetics.core.pedigree.litter import Litter as CoreLitter
from genetics.core.posterior.dose import Dose
from genetics.core.posterior.genotypes import genotype_posterior
from genetics.figures.refresh import ERRORS, engine
from genetics.models import Carried, Job
from genetics.snapshot.appearance import appearance_likelihood, appearances, words_of
from genetics.snapshot.kept import book_revision
from genetics.snapshot.reading import Reading, read_book
from herdbook.book.models import Animal

# A chance of carrying that is smaller than this is next to nothing.
WORTH_TELLING = 0.02

JOB = "reckon the colours"

# A book of this many is worked out while the page waits; more than this is a job. Fewer than for
# doses, since each gene is worked out: 150 animals of one family took 2 s for three genes.
AT_ONCE = 200


@dataclass(frozen=True)
class Kin:
    """What the nearest kin show of a gene: whether dam or a possible sire bears its sign, how many
    pups do, of how many whose looks say either, and how many littermates do. ``own``,
    ``dam_carries`` and ``sire_carries``: whose own looks are those of carriers alone, as cream of
    white. ``never_shown``: nobody of its family shows it, but some are carriers by their looks."""

    dam: bool = False
    sire: bool = False
    pups: int = 0
    pups_noted: int = 0
    littermates: int = 0
    own: bool = False
    dam_carries: bool = False
    sire_carries: bool = False
    never_shown: bool = False

    @property
    def shown_by_the_nearest(self) -> bool:
        """Whether a parent, pup or littermate shows it."""
        return bool(self.dam or self.sire or self.pups or self.littermates)


@dataclass(frozen=True)
class MayCarry:
    """The chance that an animal carries what a gene shows when doubled, and what it rests on.

    ``doubled``: the chance that it has it doubled and hidden, where its own looks say nothing of
    the gene: the points of a self, whatever their colour, do not come. ``error`` is an estimate of
    how far the chance may be off, 0 where it is exact. Chance and error are None where the family
    is too tangled for a figure.
    """

    gene: str
    chance: float | None
    error: float | None
    kin: Kin
    doubled: float = 0.0


@dataclass(frozen=True)
class Looks:
    """The whole book as pedigree and words, for any gene."""

    reading: Reading
    words: Sequence[dict[str, set[str]]]
    lived: NDArray[np.bool_]

    def likelihood(self, gene: Gene) -> NDArray[np.float64]:
        """Likelihood (n, g) of all that is written of each animal's looks."""
        return appearance_likelihood(gene, self.words, self.lived)

    def reckon(self, gene: Gene, *, asked: Collection[int] | None = None) -> Dose:
        """Genotypes of every animal, of `merged` alleles; `asked` are those to take pains over.

        Every word may be wrong, so no family is impossible.
        """
        fewer = merged(gene)
        return genotype_posterior(
            self.reading.assumed,
            fewer,
            self.likelihood(fewer),
            errors=ERRORS,
            approximate=True,
            asked=asked,
        )

    @cached_property
    def pups(self) -> dict[int, list[int]]:
        """The pups of each animal that is their only possible parent of its sex."""
        found: dict[int, list[int]] = {}
        for litter in self.reading.recorded.litters:
            for side in (litter.sires, litter.dams):
                if len(side) == 1:
                    found.setdefault(side[0], []).extend(litter.pups)
        return found

    def signs(self, gene: Gene) -> NDArray[np.bool_]:
        """Which animals (n,) bear a sign of the gene."""
        return np.array([gene.bears_sign(words) for words in self.words], dtype=bool)

    def must_carry(self, gene: Gene) -> NDArray[np.bool_]:
        """Which animals (n,) are by their words of a class that always carries the gene."""
        return np.array([gene.must_carry(words) for words in self.words], dtype=bool)

    def in_question(self, gene: Gene) -> NDArray[np.bool_]:
        """Which animals (n,) are of a family in which somebody shows the gene or must carry it."""
        family = self.reading.assumed.family_of
        telling: NDArray[np.bool_] = self.signs(gene) | self.must_carry(gene)
        return np.isin(family, family[telling])

    def noted(self, gene: Gene) -> NDArray[np.bool_]:
        """Of which animals (n,) the words say anything of the gene."""
        return np.array([gene.said(words) is not None for words in self.words], dtype=bool)


def read_looks() -> Looks:
    """Read the whole book. Raises PedigreeError where its pedigree contradicts itself.

    Possible sires keep the weights that they have without colours: each gene weighs them by its own
    words, which would else speak twice.
    """
    reading = read_book(colours={})
    return Looks(reading, *appearances(reading))


def may_carry(animal: Animal) -> tuple[MayCarry, ...] | None:
    """What an animal may carry, the likeliest first; None where that is still being worked out, or
    cannot be, since the pedigree contradicts itself."""
    mark = {"revision": book_revision(), "engine": engine()}
    kept = Carried.objects.filter(pk=animal.pk, **mark).first()
    if kept is None:
        if Animal.objects.count() > AT_ONCE:
            if jobs.just_failed(JOB) is None:
                jobs.start(JOB, compute_carried, once=True)
            return None
        compute_carried()
        kept = Carried.objects.filter(pk=animal.pk, **mark).first()
    if kept is None:
        return None
    rows = kept.found.items()
    told = [MayCarry(gene, **{**row, "kin": Kin(**row["kin"])}) for gene, row in rows]
    return tuple(sorted(told, key=lambda one: -((one.chance or 0) + one.doubled)))


def hands_on(animals: Sequence[Animal], key: str) -> dict[int, float]:
    """The chance that each animal hands on what a gene carries, by key, as far as it was worked
    out.

    One that bears a sign of the gene is taken at its word: of a gene whose sign is one dose, as
    roan, it hands it on half the time, else always. For a rough look at many pairs; what one pair
    would give is worked out from both together, by `genetics.colours.litter`.
    """
    gene = genes()[key]
    kept = dict(
        Carried.objects.filter(pk__in=[one.pk for one in animals]).values_list("pk", "found")
    )
    return {
        one.pk: _by_sign(gene, words_of(one))
        if gene.bears_sign(words_of(one))
        else _handed_on(kept.get(one.pk, {}).get(key, {}))
        for one in animals
    }


def _by_sign(gene: Gene, words: Words) -> float:
    return 1.0 if gene.shows(words) == gene.shown else 0.5


def _handed_on(row: dict) -> float:
    return (row.get("chance") or 0.0) / 2 + row.get("doubled", 0.0)


def compute_carried(job: Job | None = None) -> None:
    """Work out every gene that the book shows a sign of, and keep what comes of it."""
    revision, by = book_revision(), engine()
    jobs.tell(job, 0.05)
    try:
        looks = read_looks()
    except PedigreeError:
        return
    found: dict[int, dict] = {key: {} for key in looks.reading.keys}
    told = list(genes().values())
    for number, gene in enumerate(told):
        for key, one in _carriers(looks, gene):
            row = asdict(one)
            found[key][row.pop("gene")] = row
        jobs.tell(job, 0.1 + 0.8 * (number + 1) / len(told))
    _keep(
        [
            Carried(animal_id=key, revision=revision, engine=by, found=of)
            for key, of in found.items()
        ]
    )


def _carriers(looks: Looks, gene: Gene) -> Iterator[tuple[int, MayCarry]]:
    """The animals that may carry a gene, by key; none where no animal shows it or must carry it."""
    signs, noted = looks.signs(gene), looks.noted(gene)
    in_question = looks.in_question(gene)
    if not gene.carried or not in_question.any():
        return
    dose = looks.reckon(gene)
    chances = merged(gene).carries(dose.chances)
    doubled = _doubled(gene, dose, noted)
    must = looks.must_carry(gene)
    family = looks.reading.assumed.family_of
    shown = np.isin(family, family[signs])
    for row in np.flatnonzero(~(chances + doubled < WORTH_TELLING) & ~signs & in_question):
        kin = replace(
            _kin(looks, int(row), signs, must & ~signs, noted), never_shown=not shown[row]
        )
        key = looks.reading.keys[row]
        chance, error = (as_figure(table[row]) for table in (chances, dose.error))
        yield key, MayCarry(gene.key, chance, error, kin, float(doubled[row]))


def _doubled(gene: Gene, dose: Dose, noted: NDArray[np.bool_]) -> NDArray[np.float64]:
    """The chance (n,) that each animal of whose looks nothing is noted hides what the gene shows.

    Noughts where there is no figure, and where most bought animals show it anyway, as the red
    series: that is no news.
    """
    fewer = merged(gene)
    shown = [name == gene.shown for name in gene.classes]
    if fewer.phenotypes(fewer.pool)[shown].sum() >= 0.5:
        return np.zeros(len(noted))
    hidden = fewer.phenotypes(dose.chances)[:, shown].sum(axis=1)
    return np.where(noted, 0.0, np.nan_to_num(hidden))


def _kin(
    looks: Looks,
    row: int,
    signs: NDArray[np.bool_],
    must: NDArray[np.bool_],
    noted: NDArray[np.bool_],
) -> Kin:
    pedigree = looks.reading.recorded
    number = int(pedigree.litter_of[row])
    own = pedigree.litters[number] if number != -1 else CoreLitter(())
    pups = [pup for pup in looks.pups.get(row, ()) if noted[pup]]
    return Kin(
        dam=any(bool(signs[dam]) for dam in own.dams),
        sire=any(bool(signs[sire]) for sire in own.sires),
        pups=sum(bool(signs[pup]) for pup in pups),
        pups_noted=len(pups),
        littermates=sum(bool(signs[mate]) for mate in own.pups if mate != row),
        own=bool(must[row]),
        dam_carries=any(bool(must[dam]) for dam in own.dams),
        sire_carries=any(bool(must[sire]) for sire in own.sires),
    )


def as_figure(value: float) -> float | None:
    """A figure as it is kept, where what is missing is null."""
    return None if np.isnan(value) else float(value)


@transaction.atomic
def _keep(rows: list[Carried]) -> None:
    # Rows of animals that were taken out meanwhile went with them.
    there = set(Animal.objects.values_list("pk", flat=True))
    Carried.objects.bulk_create(
        [row for row in rows if row.animal_id in there],
        batch_size=500,
        update_conflicts=True,
        unique_fields=["animal"],
        update_fields=["revision", "engine", "found"],
    )
