"""What came of weighing a herd's records, and how it is kept: as plain data, by the book's keys."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

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
    """A look that may have been misread or, if it is an animal's only one, made at another."""

    look: Look
    chance: float


@dataclass(frozen=True)
class WrongLooks:
    """An animal whose looks, so many of them, may all have been made at another: one slip."""

    animal: Animal
    looks: int
    chance: float


@dataclass(frozen=True)
class TakenForEachOther:
    """Two littermates, what was seen of either of which may have been seen of the other."""

    first: Animal
    second: Animal
    chance: float


@dataclass(frozen=True)
class Speaking:
    """Kin that speak against what is written of an animal: ``kind`` is one of
    `genetics.core.explanation.conflicting_relatives`."""

    kind: str
    kin: tuple[Animal, ...]


@dataclass(frozen=True)
class WrongColour:
    """An animal whose words for one gene of `loci.toml` may be wrong, and who speaks against them,
    the strongest first; nobody where that is more distant relatives."""

    animal: Animal
    gene: str
    chance: float
    against: tuple[Speaking, ...] = ()


@dataclass(frozen=True)
class Showed:
    """What an animal's points tell by: a stage with the day of that look, or what it was bought as,
    without a day."""

    word: str
    on: date | None = None


@dataclass(frozen=True)
class MendelianInconsistency:
    """A pup that its parents cannot have: ``gene`` is one of `loci.toml`.

    ``showed``: what the points of the pup and then of each parent tell by, None for one that tells
    nothing; empty for other genes, of which the words are the animals' own.
    """

    gene: str
    pup: Animal
    parents: tuple[Animal, ...]
    showed: tuple[Showed | None, ...] = ()


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
    all_looks: tuple[WrongLooks, ...] = ()
    mix_ups: tuple[TakenForEachOther, ...] = ()
    colours: tuple[WrongColour, ...] = ()
    misfits: tuple[MendelianInconsistency, ...] = ()
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
        "all_looks": [[doubt.animal.pk, doubt.looks, doubt.chance] for doubt in found.all_looks],
        "mix_ups": [[doubt.first.pk, doubt.second.pk, doubt.chance] for doubt in found.mix_ups],
        "colours": [
            [doubt.animal.pk, doubt.gene, doubt.chance, _plain_against(doubt)]
            for doubt in found.colours
        ],
        "misfits": [
            [
                misfit.gene,
                misfit.pup.pk,
                [parent.pk for parent in misfit.parents],
                [one and [one.word, one.on and one.on.isoformat()] for one in misfit.showed],
            ]
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
    named |= {key for _, pup, others, _ in plain["misfits"] for key in (pup, *others)}
    named |= {key for *pair, _ in plain["mix_ups"] for key in pair}
    named |= {key for kind in ("all_looks", "colours") for key, *_ in plain[kind]}
    named |= {key for *_, against in plain["colours"] for _, kin in against for key in kin}
    animals = Animal.objects.select_related("litter").in_bulk([*named, *plain["contradicting"]])

    def parent(row: list) -> WrongParent:
        key, chance, others = row
        named = None if others is None else tuple((animals[one], share) for one, share in others)
        return WrongParent(litters[key], chance, named)

    return Doubts(
        tuple(map(parent, plain["sires"])),
        tuple(map(parent, plain["dams"])),
        tuple(WrongLook(looks[key], chance) for key, chance in plain["looks"]),
        tuple(WrongLooks(animals[key], *told) for key, *told in plain["all_looks"]),
        tuple(
            TakenForEachOther(animals[first], animals[second], chance)
            for first, second, chance in plain["mix_ups"]
        ),
        tuple(
            WrongColour(
                animals[key],
                gene,
                share,
                tuple(Speaking(kind, tuple(animals[one] for one in kin)) for kind, kin in against),
            )
            for key, gene, share, against in plain["colours"]
        ),
        tuple(
            MendelianInconsistency(
                gene,
                animals[pup],
                tuple(animals[key] for key in keys),
                tuple(one and _showed(*one) for one in showed),
            )
            for gene, pup, keys, showed in plain["misfits"]
        ),
        tuple(animals[key] for key in plain["contradicting"]),
        plain["unweighed"],
        plain["approximate"],
        tuple(plain["faults"]),
    )


def _showed(word: str, on: str | None) -> Showed:
    return Showed(word, None if on is None else date.fromisoformat(on))


def _plain_against(doubt: WrongColour) -> list:
    return [[one.kind, [animal.pk for animal in one.kin]] for one in doubt.against]


def _plain_parent(doubt: WrongParent) -> list:
    others = doubt.others
    named = None if others is None else [[animal.pk, share] for animal, share in others]
    return [doubt.litter.pk, doubt.chance, named]
