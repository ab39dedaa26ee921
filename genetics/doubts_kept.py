"""What came of weighing a herd's records, and how it is kept: as plain data, by the book's keys."""

from __future__ import annotations

from dataclasses import dataclass

from herdbook.book.models import Animal, Litter, Look


@dataclass(frozen=True)
class WrongParent:
    """A litter whose written sire (or all of several) or dam may be wrong.

    ``others``: who of the herd it may be instead, each with its chance, the likeliest first;
    what is left of ``chance`` is somebody from elsewhere. None where that is too tangled to say.
    """

    litter: Litter
    chance: float
    others: tuple[tuple[Animal, float], ...] | None = None


@dataclass(frozen=True)
class WrongLook:
    """A look that may have been misread, or made at another animal."""

    look: Look
    chance: float


@dataclass(frozen=True)
class TakenForEachOther:
    """Two littermates, what was seen of either of which may have been seen of the other."""

    first: Animal
    second: Animal
    chance: float


@dataclass(frozen=True)
class WrongColour:
    """An animal whose words for one gene of `loci.toml` may be wrong."""

    animal: Animal
    gene: str
    chance: float


@dataclass(frozen=True)
class CannotBe:
    """A pup that its parents cannot have: ``gene`` is one of `loci.toml`."""

    gene: str
    pup: Animal
    parents: tuple[Animal, ...]


@dataclass(frozen=True)
class Doubts:
    """What to look at again in a herd, the most doubtful first.

    ``contradicting``: animals whose records cannot all be true. ``unweighed``: how many animals
    of the herd are without a figure, so that their records were not weighed; ``approximate``: how
    many have one that is not exact; ``faults`` tells what
    keeps the book's pedigree from being one.
    """

    sires: tuple[WrongParent, ...] = ()
    dams: tuple[WrongParent, ...] = ()
    looks: tuple[WrongLook, ...] = ()
    mix_ups: tuple[TakenForEachOther, ...] = ()
    colours: tuple[WrongColour, ...] = ()
    misfits: tuple[CannotBe, ...] = ()
    contradicting: tuple[Animal, ...] = ()
    unweighed: int = 0
    approximate: int = 0
    faults: tuple[str, ...] = ()


def as_plain(found: Doubts) -> dict:
    """As numbers, strings, lists and dictionaries; chances to the last digit."""
    return {
        "sires": [_plain_parent(doubt) for doubt in found.sires],
        "dams": [_plain_parent(doubt) for doubt in found.dams],
        "looks": [[doubt.look.pk, doubt.chance] for doubt in found.looks],
        "mix_ups": [[doubt.first.pk, doubt.second.pk, doubt.chance] for doubt in found.mix_ups],
        "colours": [[doubt.animal.pk, doubt.gene, doubt.chance] for doubt in found.colours],
        "misfits": [
            [misfit.gene, misfit.pup.pk, [parent.pk for parent in misfit.parents]]
            for misfit in found.misfits
        ],
        "contradicting": [animal.pk for animal in found.contradicting],
        "unweighed": found.unweighed,
        "approximate": found.approximate,
        "faults": list(found.faults),
    }


def from_plain(plain: dict) -> Doubts:
    """The same, its rows fetched from the book in three queries.

    Raises KeyError for a row that is no longer in the book: it was kept of another revision.
    """
    parents = [*plain["sires"], *plain["dams"]]
    litters = Litter.objects.with_family().in_bulk([key for key, _, _ in parents])
    looks = Look.objects.select_related("animal__litter").in_bulk(
        [key for key, _ in plain["looks"]]
    )
    named = {key for _, _, others in parents for key, _ in others or ()}
    named |= {key for _, pup, others in plain["misfits"] for key in (pup, *others)}
    named |= {key for *pair, _ in plain["mix_ups"] for key in pair}
    named |= {key for key, _, _ in plain["colours"]}
    animals = Animal.objects.select_related("litter").in_bulk([*named, *plain["contradicting"]])

    def parent(row: list) -> WrongParent:
        key, chance, others = row
        named = None if others is None else tuple((animals[one], share) for one, share in others)
        return WrongParent(litters[key], chance, named)

    return Doubts(
        tuple(map(parent, plain["sires"])),
        tuple(map(parent, plain["dams"])),
        tuple(WrongLook(looks[key], chance) for key, chance in plain["looks"]),
        tuple(
            TakenForEachOther(animals[first], animals[second], chance)
            for first, second, chance in plain["mix_ups"]
        ),
        tuple(WrongColour(animals[key], gene, share) for key, gene, share in plain["colours"]),
        tuple(
            CannotBe(gene, animals[pup], tuple(animals[key] for key in keys))
            for gene, pup, keys in plain["misfits"]
        ),
        tuple(animals[key] for key in plain["contradicting"]),
        plain["unweighed"],
        plain["approximate"],
        tuple(plain["faults"]),
    )


def _plain_parent(doubt: WrongParent) -> list:
    others = doubt.others
    named = None if others is None else [[animal.pk, share] for animal, share in others]
    return [doubt.litter.pk, doubt.chance, named]
