"""One small invented family that all tests share, each animal with the reason it exists."""

from dataclasses import dataclass

from herdbook.book.models import Animal, Herd, Litter, User
from herdbook.book.partial_date import PartialDate

from .factories import AnimalFactory, HerdFactory, LitterFactory, MembershipFactory


@dataclass(frozen=True)
class Cast:
    """The Thornmoor herd on 25 November 2026, as its owner keeps it."""

    owner: User
    herd: Herd
    #: The overmarked stud boar: two doses, so every pup by him has one at least.
    bramble: Animal
    #: A self sow: put to Bramble, she gives one-dose pups only.
    wren: Animal
    #: A marked sow, bought without papers.
    tansy: Animal
    #: Bramble and Wren's litter of March 2026, born at home.
    march_litter: Litter
    #: Their son: one dose by parentage, unproved.
    rook: Animal
    #: Their daughter.
    sorrel: Animal
    #: A boar lent out, so that he is in no list of the pens.
    flint: Animal


def make_cast() -> Cast:
    """Write the family into the database."""
    membership = MembershipFactory(
        user__username="ansel", herd__name="Thornmoor", herd__keeper="Ansel Quillby"
    )
    herd = membership.herd

    def founder(name, sex, born, **values):
        litter = LitterFactory(herd=herd, born=born, source="paper")
        return AnimalFactory(herd=herd, litter=litter, name=name, sex=sex, **values)

    bramble = founder(
        "Bramble", "boar", PartialDate(2024, 5, 2), bought_as="overmarked", number="1"
    )
    wren = founder("Wren", "sow", PartialDate(2025, 2, 10), bought_as="self", number="2")
    tansy = founder("Tansy", "sow", PartialDate(2025, 6), bought_as="marked", number="3")
    flint = founder("Flint", "boar", PartialDate(2024), state="on_loan", number="4")
    march_litter = LitterFactory(
        herd=herd,
        dam=wren,
        boars=[bramble],
        born=PartialDate(2026, 3, 14),
        born_alive=2,
        born_dead=0,
        source="home",
    )
    rook = AnimalFactory(herd=herd, litter=march_litter, name="Rook", sex="boar", number="5")
    sorrel = AnimalFactory(herd=herd, litter=march_litter, name="Sorrel", sex="sow", number="6")
    return Cast(
        owner=membership.user,
        herd=herd,
        bramble=bramble,
        wren=wren,
        tansy=tansy,
        march_litter=march_litter,
        rook=rook,
        sorrel=sorrel,
        flint=flint,
    )


def make_other_herd() -> tuple[User, Herd]:
    """Another breeder in the same book, who must see nothing of the cast."""
    herd = HerdFactory(name="Saltmarsh", stud_prefix="Saltmarsh", keeper="Odile Marrish")
    return MembershipFactory(user__username="odile", herd=herd).user, herd
