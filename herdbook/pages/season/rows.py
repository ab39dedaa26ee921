"""The rows of a plan's page, from what was kept and the animals as they are today."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from genetics.matings.sow_growth import growth_of_sows
from genetics.models import SeasonPlan
from genetics.season.request import Wishes
from genetics.season.result import FoundPlan, PairReason, PlannedPair, SeasonResult
from herdbook.book.models import Animal, Limits
from herdbook.book.rules.genes import cautions_of_genes
from herdbook.book.rules.mating_cautions import Caution, Lightest
from herdbook.book.rules.matings import mating_cautions, with_mating_records

from ..matings.ranking import pair_address
from . import reasons, wording


@dataclass(frozen=True)
class PairRow:
    """One pair of the plan. ``number`` is its place in what was kept."""

    number: int
    sow: Animal
    boar: Animal
    address: str
    expected: PlannedPair
    cautions: tuple[Caution, ...]
    why: str
    is_kept: bool


@dataclass(frozen=True)
class Change:
    """A sow whose boar differs between the plan and another one; None where she has none."""

    sow: Animal
    here: Animal | None
    there: Animal | None


@dataclass(frozen=True)
class OtherPlan:
    """Another plan: its place in what was kept, what it gives, how it differs, and its pairs."""

    number: int
    gives: str
    coancestry: float
    changes: list[Change]
    pairs: list[PairRow]


@dataclass(frozen=True)
class Unmated:
    """Sows without a boar for one reason."""

    why: str
    sows: list[Animal]


def animals_of(plan: SeasonPlan, wishes: Wishes, result: SeasonResult | None) -> dict[int, Animal]:
    """Every animal that the plan's page names, by key."""
    keys = {key for pair in (*wishes.held, *wishes.forbidden) for key in pair}
    keys |= set(wishes.resting)
    if result is not None:
        keys |= {key for key in _named_in(result) if key is not None}
    here = Animal.objects.filter(herd=plan.herd, pk__in=keys)
    return {one.pk: one for one in with_mating_records(here).select_related("figure", "herd")}


def _named_in(result: SeasonResult) -> Iterator[int | None]:
    for unmated in result.rests:
        yield from (unmated.sow, unmated.instead, *unmated.boars)
    for plan in (*result.others, *([result.plan] if result.plan else [])):
        for pair in plan.pairs:
            yield from (pair.sow, pair.boar)
    yield from (reason.boar for reason in result.why.values())
    for one in result.obstacles:
        yield from (one.sow, one.boar)


class Rows:
    """The pairs of a plan's page as rows, from what all of them have in common."""

    def __init__(
        self,
        plan: SeasonPlan,
        wishes: Wishes,
        result: SeasonResult,
        limits: Limits,
        animals: dict[int, Animal],
    ) -> None:
        self.wishes, self.result, self.limits, self.animals = wishes, result, limits, animals
        self.days = {"boar_in": wishes.boar_in.isoformat(), "boar_out": wishes.boar_out.isoformat()}
        self.growth = growth_of_sows(plan.herd)

    def of_plan(self, plan: FoundPlan) -> list[PairRow]:
        """Those of the plan itself, each with its reason."""
        return self._rows(plan, self.result.why)

    def of_others(self, plan: FoundPlan) -> list[OtherPlan]:
        """The other plans: how they differ, and whole."""
        return [
            OtherPlan(
                number,
                wording.worth(other.value, self.wishes),
                other.coancestry,
                self._changes(plan.boar_of, other.boar_of),
                self._rows(other, {}),
            )
            for number, other in enumerate(self.result.others)
        ]

    def _changes(self, here: dict[int, int], there: dict[int, int]) -> list[Change]:
        return [
            Change(
                self.animals[sow],
                self.animals.get(here.get(sow, 0)),
                self.animals.get(there.get(sow, 0)),
            )
            for sow in sorted(here.keys() | there.keys())
            if here.get(sow) != there.get(sow) and sow in self.animals
        ]

    def unmated(self) -> list[Unmated]:
        """The sows without a boar, by reason."""
        found: dict[str, list[Animal]] = {}
        for one in self.result.rests:
            if one.sow in self.animals:
                why = reasons.rest(one, self.animals, self.wishes)
                found.setdefault(why, []).append(self.animals[one.sow])
        return [Unmated(why, sows) for why, sows in found.items()]

    def _rows(self, plan: FoundPlan, why: Mapping[int, PairReason]) -> list[PairRow]:
        """Each pair with its cautions of today, those of pedigree and genes as of the plan; pairs
        of animals that are gone are left out."""
        rows = [
            self._row(number, pair, why.get(pair.sow))
            for number, pair in enumerate(plan.pairs)
            if pair.sow in self.animals and pair.boar in self.animals
        ]
        return sorted(rows, key=lambda row: (row.boar.full_name, row.boar.pk, row.sow.full_name))

    def _row(self, number: int, pair: PlannedPair, why: PairReason | None) -> PairRow:
        sow, boar = self.animals[pair.sow], self.animals[pair.boar]
        return PairRow(
            number,
            sow,
            boar,
            pair_address(sow, boar, self.days),
            pair,
            self._cautions(sow, boar, pair),
            reasons.why(why, self.animals, self.wishes) if why else "",
            is_kept=(sow.pk, boar.pk) in self.wishes.held,
        )

    def _lightest(self, sow: Animal) -> Lightest | None:
        return self.growth.lightest(sow, self.wishes.together) if self.growth else None

    def _cautions(self, sow: Animal, boar: Animal, pair: PlannedPair) -> tuple[Caution, ...]:
        return (
            *mating_cautions(
                sow,
                boar,
                self.wishes.together,
                self.limits,
                inbreeding=pair.inbreeding,
                lightest=self._lightest(sow),
                doubted=self.result.basis.in_doubt,
            ),
            *cautions_of_genes(sow, boar, lethal=pair.lethal, satin=pair.satin),
        )
