"""The pedigree sheet as plain values: what a caller fills in, and the one shape both prints take.

A caller makes a `Sheet` and hands it to `pedigree_sheet.pedigree_sheet_pdf`, or to the template
`papers/pedigree_sheet.html` as `sheet`. Both print `Sheet.as_data()`, so they cannot differ in
a word. Dates and ages come as ready text, since only the caller knows their precision.
"""

import itertools
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any, Literal, get_args

from django.utils.translation import get_language

from .dose_statement import DoseStatement
from .normalise import Tidied
from .wording import dose as wording
from .wording import sheet

GENERATIONS = 4
WEIGHTS_SHOWN = 8
Sex = Literal["boar", "sow", ""]

# 's' the sire, 'd' the dam, 'sd' the sire's dam ...: thirty paths, the nearest first.
PATHS = tuple(
    "".join(steps)
    for generation in range(1, GENERATIONS + 1)
    for steps in itertools.product("sd", repeat=generation)
)


@dataclass(frozen=True)
class SheetAnimal(Tidied):
    """The animal that the sheet is about; '' for what is not known.

    name: with its stud prefix. told_apart: how it is identified among its littermates, and how
    surely.
    """

    name: str
    sex: Sex = ""
    number: str = ""
    tag: str = ""
    born: str = ""
    coat: str = ""
    points: str = ""
    eyes: str = ""
    told_apart: str = ""

    def __post_init__(self) -> None:
        super().__post_init__()
        if self.sex not in get_args(Sex):
            raise ValueError(f"a sex is boar, sow or '', not {self.sex!r}")


@dataclass(frozen=True)
class Ancestor(Tidied):
    """One box. or_names: further animals that may be this ancestor instead ('A or B').

    An ancestor behind a choice is best left out, unless all of the choice share it.
    """

    name: str
    or_names: tuple[str, ...] = ()
    number: str = ""
    born: str = ""
    colours: str = ""
    dose: DoseStatement | None = None

    def __post_init__(self) -> None:
        super().__post_init__()
        if not self.called:
            raise ValueError("an ancestor needs a name or a number; leave an unknown one out")

    @property
    def called(self) -> str:
        """The name or names; an ancestor without a name goes by its number."""
        return wording.one_of(tuple(name for name in (self.name, *self.or_names) if name)) or (
            self.number
        )

    @property
    def uncertain(self) -> bool:
        """Whether more than one animal may stand in this box."""
        return bool(self.name and any(self.or_names))


@dataclass(frozen=True)
class Inbreeding:
    """Wright's coefficient (0 to 1; None where it was not worked out) over all known generations.

    full_generations: generations back without a gap; deepest_generation: the longest known line.
    as_written: with possible sires as entered, where all records make it another figure.
    """

    coefficient: float | None
    full_generations: int = 0
    deepest_generation: int = 0
    as_written: float | None = None

    def __post_init__(self) -> None:
        if self.coefficient is not None and not 0 <= self.coefficient <= 1:
            raise ValueError(f"an inbreeding coefficient lies in 0 to 1, not {self.coefficient!r}")
        if not 0 <= self.full_generations <= self.deepest_generation:
            raise ValueError("the full generations cannot outnumber the longest known line")


@dataclass(frozen=True)
class Weighing(Tidied):
    """One weight in grams; day and age as ready text."""

    day: str
    weight_g: int
    age: str = ""

    def __post_init__(self) -> None:
        super().__post_init__()
        if not isinstance(self.weight_g, int) or self.weight_g <= 0:
            raise ValueError(f"a weight is a whole number of grams, not {self.weight_g!r}")


@dataclass(frozen=True)
class Sheet(Tidied):
    """All that stands on one pedigree sheet.

    ancestors: by path, 's' the sire, 'd' the dam, 'sd' the sire's dam, down to 'dddd'; a path
        left out is a blank box. weights: in order of date. cautions: the usual lines unless
        given. Raises ValueError for a path that is no ancestor within four generations.
    """

    animal: SheetAnimal
    dose: DoseStatement
    inbreeding: Inbreeding
    issued_on: str
    ancestors: Mapping[str, Ancestor] = field(default_factory=dict)
    breeder: str = ""
    seller: str = ""
    buyer: str = ""
    weights: tuple[Weighing, ...] = ()
    cautions: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        super().__post_init__()
        strange = sorted(set(self.ancestors) - set(PATHS))
        if strange:
            raise ValueError(f"no ancestor within four generations: {', '.join(strange)}")
        object.__setattr__(self, "ancestors", dict(self.ancestors))

    @property
    def name(self) -> str:
        """What the animal goes by."""
        return self.animal.name or self.animal.number or sheet.labels()["unnamed"]

    def written(self) -> Iterator[tuple[str, str]]:
        """Give every text the caller wrote, with the words that say where it stands."""
        labels = sheet.labels()
        for part in ("name", "number", "tag", "born", "coat", "points", "eyes", "told_apart"):
            yield labels.get(part, labels["animal"]), getattr(self.animal, part)
        for part in ("breeder", "seller", "buyer", "issued_on"):
            yield labels[part], getattr(self, part)
        for path, ancestor in self.ancestors.items():
            texts = (ancestor.name, *ancestor.or_names, ancestor.number, ancestor.born)
            yield sheet.relation(path), " ".join((*texts, ancestor.colours))
        yield labels["dose"], wording.dose_grounds(self.dose)
        for weighing in self.weights:
            yield labels["weights"], f"{weighing.day} {weighing.age}"
        for caution in self.cautions:
            yield labels["cautions"], caution

    def as_data(self) -> dict[str, Any]:
        """Give the sheet as plain JSON values, all words ready, for either print."""
        labels = sheet.labels()
        return {
            "language": get_language() or "en-gb",
            "labels": labels,
            "name": self.name,
            "particulars": self._particulars(labels),
            "people": [
                {"label": labels[part], "value": getattr(self, part)}
                for part in ("breeder", "seller")
            ],
            "buyer": self.buyer,
            "issued_on": self.issued_on,
            "dose": {
                "headline": wording.dose_headline(self.dose),
                "chance": wording.dose_chance(self.dose),
                "grounds": wording.dose_grounds(self.dose),
            },
            "inbreeding": self._inbreeding(),
            "weights": self._weights(),
            "generations": sheet.generation_headings(),
            "rows": self._rows(),
            "unknowns": self._unknowns(),
            "cautions": list(self.cautions or sheet.usual_cautions()),
        }

    def _particulars(self, labels: dict[str, str]) -> list[dict[str, str]]:
        animal = self.animal
        rows = [("number", animal.number or labels["none"]), ("tag", animal.tag or labels["none"])]
        rows.append(("sex", sheet.sex(animal.sex)))
        rows += [
            (part, getattr(animal, part) or labels["not_known"])
            for part in ("born", "coat", "points", "eyes", "told_apart")
        ]
        return [{"label": labels[part], "value": value} for part, value in rows]

    def _inbreeding(self) -> dict[str, str]:
        known = [
            sum(len(path) == generation for path in self.ancestors)
            for generation in range(1, GENERATIONS + 1)
        ]
        uncertain = sum(ancestor.uncertain for ancestor in self.ancestors.values())
        return {
            "figure": sheet.inbreeding_figure(
                self.inbreeding.coefficient, self.inbreeding.deepest_generation
            ),
            "basis": sheet.inbreeding_basis(
                self.inbreeding.full_generations,
                self.inbreeding.deepest_generation,
                known,
                uncertain,
                self.inbreeding.as_written,
            ),
        }

    def _weights(self) -> dict[str, Any]:
        shown = self.weights
        if len(shown) > WEIGHTS_SHOWN:
            shown = (shown[0], *shown[1 - WEIGHTS_SHOWN :])
        return {
            "rows": [[one.day, one.age, f"{one.weight_g} g"] for one in shown],
            "note": sheet.weights_note(len(shown), len(self.weights)),
        }

    def _rows(self) -> list[list[dict[str, Any]]]:
        """Sixteen table rows; each holds the boxes that begin there, with the rows they span."""
        rows: list[list[dict[str, Any]]] = [[] for _row in range(2**GENERATIONS)]
        for path in PATHS:
            span = 2 ** (GENERATIONS - len(path))
            position = int(path.replace("s", "0").replace("d", "1"), 2)
            rows[position * span].append(self._box(path, span))
        return rows

    def _box(self, path: str, span: int) -> dict[str, Any]:
        box: dict[str, Any] = {
            "path": path,
            "generation": len(path),
            "span": span,
            "sex": "boar" if path[-1] == "s" else "sow",
            "known": path in self.ancestors,
            "name": "",
            "details": [],
        }
        if path in self.ancestors:
            ancestor = self.ancestors[path]
            dose = wording.dose_short(ancestor.dose) if ancestor.dose else ""
            number = ancestor.number if ancestor.number != ancestor.called else ""
            details = [ancestor.colours, dose]
            if len(path) < GENERATIONS:  # the smallest boxes have no room for more
                details += [number, ancestor.born]
            box |= {"name": ancestor.called, "details": [one for one in details if one]}
        return box

    def _unknowns(self) -> str:
        missing = [
            words
            for part, words in sheet.particulars_in_words().items()
            if not getattr(self if part == "breeder" else self.animal, part)
        ]
        choices = [
            sheet.choice(path, ancestor.called)
            for path, ancestor in self.ancestors.items()
            if ancestor.uncertain
        ]
        parents = ("s" in self.ancestors, "d" in self.ancestors)
        return sheet.unknowns(missing, parents, choices)
