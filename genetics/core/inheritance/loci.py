"""The genes that the book expects, as data: `loci.toml`, read and checked once.

A gene has alleles, the classes of appearance that its genotypes make, and what the book's words
say of those classes. A word leaves one class or several open: with m the rate at which a class is
misrecorded and a set A left open, the chance of the words given a genotype of class c is

    (1 - m) [c in A] + m P(A),

a wrong record being that of another animal, drawn from the founders' shares of the classes. So a
rare word is seldom a slip, and a single animal of whom nothing else is known has what was written
with a chance of 1 - m or more, however rare it is.
"""

from __future__ import annotations

import tomllib
from collections.abc import Collection, Mapping
from dataclasses import dataclass, replace
from functools import cache, cached_property
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from genetics.core.inheritance.mendel import genotypes, hardy_weinberg

Table = NDArray[np.float64]
Words = Mapping[str, Collection[str]]  # a field of the book: what stands in it, empty for nothing

FILE = Path(__file__).with_name("loci.toml")
FIELDS = ("coat", "point_colour", "eye_colour", "coat_type")
ANY = "any"


@dataclass(frozen=True)
class Rule:
    """Words that, standing in these fields together, leave only some classes open."""

    when: dict[str, tuple[str, ...]]
    classes: tuple[int, ...]

    def holds(self, words: Words) -> bool:
        """Whether each field has one of the rule's words; 'any' is satisfied by whatever stands."""
        return all(
            words.get(field) and (ANY in wanted or not set(wanted).isdisjoint(words[field]))
            for field, wanted in self.when.items()
        )


@dataclass(frozen=True)
class Gene:
    """One locus. Genotypes are numbered as in `mendel.genotypes`, classes in the file's order.

    `class_of` (g,) gives each genotype's class; `carried` the genotypes of another class than
    `shown` (None where nothing is hidden) with an allele that makes it when doubled; `signs` the
    classes that bear its name; `lives` (g,) the chance to be weaned.
    """

    key: str
    alleles: tuple[str, ...]
    classes: tuple[str, ...]
    class_of: tuple[int, ...]
    rules: tuple[Rule, ...]
    misrecorded: float
    frequencies: Table
    carried: tuple[int, ...]
    shown: str | None
    signs: tuple[str, ...]
    lives: Table
    dominance: str
    source: str
    standing: str
    disputed: str

    @cached_property
    def pool(self) -> Table:
        """Shares (g,) of the genotypes among founders, by Hardy and Weinberg."""
        return hardy_weinberg(self.frequencies)

    @cached_property
    def names(self) -> tuple[str, ...]:
        """The genotypes' names, as 'B/b'."""
        return tuple("/".join(self.alleles[a] for a in pair) for pair in _pairs(self.alleles))

    def said(self, words: Words) -> tuple[int, ...] | None:
        """The classes that an animal's words leave open; None where they say nothing."""
        for rule in self.rules:
            if rule.holds(words):
                return rule.classes
        return None

    def shows(self, words: Words) -> str | None:
        """The one class that the words name; None where they leave more open or say nothing."""
        said = self.said(words)
        return self.classes[said[0]] if said is not None and len(said) == 1 else None

    def bears_sign(self, words: Words) -> bool:
        """Whether the words name classes that all bear the carried allele's name."""
        said = self.said(words)
        return said is not None and all(self.classes[one] in self.signs for one in said)

    def must_carry(self, words: Words) -> bool:
        """Whether the words leave open only genotypes that carry what the class `shown` shows."""
        said = self.said(words)
        return said is not None and all(
            one in self.carried for one, number in enumerate(self.class_of) if number in said
        )

    def likelihood(self, words: Words) -> Table:
        """Likelihood (g,) of an animal's words at each genotype; ones where they say nothing."""
        said = self.said(words)
        if said is None:
            return np.ones(len(self.class_of))
        open_to = np.isin(self.class_of, said)
        other = float(self.pool[open_to].sum())
        return np.where(open_to, 1 - self.misrecorded, 0.0) + self.misrecorded * other

    @property
    def carried_shows(self) -> bool:
        """Whether those that carry it show it themselves, as of roan: then it is not unseen."""
        return any(self.classes[self.class_of[one]] in self.signs for one in self.carried)

    def phenotypes(self, chances: Table) -> Table:
        """Chances (..., k) of the classes, from chances (..., g) of the genotypes."""
        table = np.zeros((len(self.class_of), len(self.classes)))
        table[np.arange(len(self.class_of)), list(self.class_of)] = 1
        by_class: Table = chances @ table
        return by_class

    def carries(self, chances: Table) -> Table:
        """Chance (...) of carrying what the class `shown` shows, from chances (..., g)."""
        summed: Table = chances[..., list(self.carried)].sum(axis=-1)
        return summed


def merged(gene: Gene) -> Gene:
    """The gene with alleles that look alike beside every other taken as one.

    Their frequencies add up, and so do the chances of genotypes that differ in them alone: the
    classes and what is carried come out the same, from fewer states.
    """
    groups: list[list[int]] = []
    for allele in range(len(gene.alleles)):
        alike = (group for group in groups if _look_alike(gene, group[0], allele))
        group = next(alike, None)
        if group is None:
            groups.append([allele])
        else:
            group.append(allele)
    first = {frozenset(pair): number for number, pair in enumerate(_pairs(gene.alleles))}
    kept = [first[frozenset((groups[a][0], groups[b][0]))] for a, b in genotypes(len(groups))]
    return replace(
        gene,
        alleles=tuple(" or ".join(gene.alleles[a] for a in group) for group in groups),
        class_of=tuple(gene.class_of[one] for one in kept),
        carried=tuple(number for number, one in enumerate(kept) if one in gene.carried),
        frequencies=_read_only(np.array([gene.frequencies[group].sum() for group in groups])),
        lives=_read_only(gene.lives[kept]),
    )


def _look_alike(gene: Gene, one: int, other: int) -> bool:
    number = {frozenset(pair): row for row, pair in enumerate(_pairs(gene.alleles))}

    def look(a: int, b: int) -> tuple[int, bool]:
        genotype = number[frozenset((a, b))]
        return gene.class_of[genotype], genotype in gene.carried

    beside = [third for third in range(len(gene.alleles)) if third not in (one, other)]
    return look(one, one) == look(one, other) == look(other, other) and all(
        look(one, third) == look(other, third) for third in beside
    )


@cache
def genes() -> dict[str, Gene]:
    """Every gene of the file by its key, in the file's order."""
    return read_genes(FILE)


def read_genes(path: Path) -> dict[str, Gene]:
    """Read a file of loci. Raises ValueError naming the locus and what is wrong with it."""
    with path.open("rb") as file:
        told = tomllib.load(file)
    found: dict[str, Gene] = {}
    for row in told.get("locus", []):
        key = row.get("key", "")
        if not key or key in found:
            raise ValueError(f"{path.name}: every locus needs a key of its own, and {key!r} is not")
        try:
            found[key] = _gene(row)
        except (KeyError, ValueError) as error:
            raise ValueError(f"{path.name}, locus {key!r}: {error}") from error
    return found


def _pairs(alleles: tuple[str, ...]) -> list[tuple[int, int]]:
    return genotypes(len(alleles))


def _gene(row: dict[str, Any]) -> Gene:
    alleles = tuple(row["alleles"])
    names = ["/".join(alleles[a] for a in pair) for pair in _pairs(alleles)]
    classes = tuple(row["classes"])
    frequencies = np.array(row["frequencies"], dtype=np.float64)
    if len(frequencies) != len(alleles) or not np.isclose(frequencies.sum(), 1):
        raise ValueError("the frequencies want one for each allele, summing to one")
    if (frequencies <= 0).any() or not 0 < row["misrecorded"] < 1 / 2:
        raise ValueError("frequencies are above 0, and a misrecorded share from 0 to a half")
    class_of = _class_of(row["classes"], names)
    shown = row.get("shown")
    signs = tuple(row.get("signs", [] if shown is None else [shown]))
    for name in (*signs, *([] if shown is None else [shown])):
        _number(classes, name)
    lives = np.array([row.get("lives", {}).get(classes[one], 1.0) for one in class_of])
    return Gene(
        key=row["key"],
        alleles=alleles,
        classes=classes,
        class_of=class_of,
        rules=tuple(_rule(rule, classes) for rule in row["words"]),
        misrecorded=row["misrecorded"],
        frequencies=_read_only(frequencies),
        carried=() if shown is None else _carried(alleles, class_of, _number(classes, shown)),
        shown=shown,
        signs=signs,
        lives=_read_only(lives),
        dominance=row["dominance"],
        source=row["source"],
        standing=row["standing"],
        disputed=row.get("disputed", ""),
    )


def _carried(alleles: tuple[str, ...], class_of: tuple[int, ...], shown: int) -> tuple[int, ...]:
    """The genotypes that have an allele they do not show: one that makes the class when doubled."""
    pairs = list(zip(_pairs(alleles), class_of, strict=True))
    makers = {first for (first, second), one in pairs if first == second and one == shown}
    if not makers:
        raise ValueError("no allele, doubled, makes the class that is shown")
    return tuple(
        number
        for number, (pair, one) in enumerate(pairs)
        if one != shown and not makers.isdisjoint(pair)
    )


def _class_of(classes: dict[str, list[str]], names: list[str]) -> tuple[int, ...]:
    numbers = {name: number for number, held in enumerate(classes.values()) for name in held}
    held = [name for genotypes_held in classes.values() for name in genotypes_held]
    if sorted(held) != sorted(names):
        raise ValueError(f"the classes want each of {', '.join(names)} once")
    return tuple(numbers[name] for name in names)


def _rule(rule: dict[str, Any], classes: tuple[str, ...]) -> Rule:
    unknown = set(rule["when"]) - set(FIELDS)
    if unknown:
        raise ValueError(f"no field of the book is called {', '.join(sorted(unknown))}")
    when = {field: tuple(words) for field, words in rule["when"].items()}
    return Rule(when, tuple(_number(classes, name) for name in rule["classes"]))


def _number(names: Collection[str], name: str) -> int:
    if name not in names:
        raise ValueError(f"{name!r} is not one of {', '.join(names)}")
    return list(names).index(name)


def _read_only(values: Table) -> Table:
    values.setflags(write=False)
    return values
