"""The rows of a pedigree file."""

import datetime
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class AnimalRow:
    """One animal as its row gives it.

    `number` is the row as a spreadsheet shows it. `sires` and `dams` are ids of this file, with
    weights that sum to one; empty is unknown. `sex` is as written, or else as the animal is used
    in the file. `likelihood` stands for dose 0, 1 and 2, on any scale.
    """

    number: int
    id: str
    sires: tuple[str, ...] = ()
    sire_weights: tuple[float, ...] = ()
    dams: tuple[str, ...] = ()
    dam_weights: tuple[float, ...] = ()
    litter: str = ""
    sex: str = ""
    born: datetime.date | None = None
    points: str = ""
    seen: datetime.date | None = None
    likelihood: tuple[float, float, float] | None = None
    name: str = ""
    coat: str = ""
    point_colour: str = ""
    eye_colour: str = ""
    coat_type: str = ""
    breeder: str = ""
