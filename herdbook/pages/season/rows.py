"""The rows of a plan's page, from what was kept and the animals as they are today."""

from dataclasses import dataclass
from typing import Any

from genetics.matings.sow_growth import growth_of_sows
from genetics.models import SeasonPlan
from genetics.season.request import Wishes
from herdbook.book.models import Animal, Limits
from herdbook.book.rules.genes import cautions_of_genes
from herdbook.book.rules.mating_cautions import Caution, Doubted
from herdbook.book.rules.matings import mating_cautions, with_mating_records

from ..matings.ranking import pair_address
from . import reasons, wording


@dataclass(frozen=True)
class PairRow:
    """One pair of the plan. ``number`` is its place in what was kept; ``choice`` what is ticked."""

    number: int
    sow: Animal
    boar: Animal
    address: str
    pups: float
    showable: float
    one: float
    two: float
    in_colour: float
    inbreeding: float
    cautions: tuple[Caution, ...]
    why: str
    choice: str


@dataclass(frozen=True)
class OtherPlan:
    """Another plan: its place in what was kept, what it gives, what it does in place of the first
    one's pairs, and all of its pairs."""

    number: int
    gives: str
    coancestry: float
    instead: list[tuple[Animal, Animal | None, Animal | None]]
    pairs: list[PairRow]


def animals_of(plan: SeasonPlan, wishes: Wishes) -> dict[int, Animal]:
    """Every animal that the plan's page names, by key."""
    found = plan.found or {}
    keys = {key for pair in (*wishes.held, *wishes.forbidden) for key in pair}
    keys |= set(wishes.resting)
    for row in found.get("rests", ()):
        keys |= {row["sow"], row.get("instead", row["sow"]), *row.get("boars", ())}
    for one in (found, *found.get("others", ())):
        keys |= {pair[name] for pair in one.get("pairs", ()) for name in ("sow", "boar")}
    keys |= {reason["boar"] for reason in found.get("why", {}).values() if "boar" in reason}
    keys |= {one[name] for one in found.get("none", ()) for name in ("sow", "boar") if name in one}
    here = Animal.objects.filter(herd=plan.herd, pk__in=keys)
    return {one.pk: one for one in with_mating_records(here).select_related("figure", "herd")}


class Rows:
    """The pairs of a plan's page as rows, from what all of them have in common."""

    def __init__(
        self, plan: SeasonPlan, wishes: Wishes, limits: Limits, animals: dict[int, Animal]
    ) -> None:
        self.plan, self.wishes, self.limits, self.animals = plan, wishes, limits, animals
        self.days = {"boar_in": wishes.boar_in.isoformat(), "boar_out": wishes.boar_out.isoformat()}
        self.growth = growth_of_sows(plan.herd)
        doubts = plan.found.get("in_doubt", {})
        self.in_doubt = {int(key): Doubted(**one) for key, one in doubts.items()}

    def of_plan(self) -> list[PairRow]:
        """Those of the plan itself, each with why."""
        return self._rows(self.plan.found, self.plan.found["why"])

    def of_others(self) -> list[OtherPlan]:
        """The other plans: how they differ, a sow, her boar here and her boar there, and whole."""
        first = _boar_of(self.plan.found)
        rows = []
        for number, other in enumerate(self.plan.found["others"]):
            theirs = _boar_of(other)
            changed = [
                (self.animals[sow], self.animals.get(first.get(sow)), self.animals.get(there))
                for sow in sorted(first.keys() | theirs.keys())
                if first.get(sow) != (there := theirs.get(sow)) and sow in self.animals
            ]
            gives = wording.worth(other["value"], self.wishes)
            whole = self._rows(other, {})
            rows.append(OtherPlan(number, gives, other["coancestry"], changed, whole))
        return rows

    def _rows(self, found: dict[str, Any], why: dict[str, dict[str, Any]]) -> list[PairRow]:
        """Each pair with what speaks against it today, papers and genes by what was found with the
        plan; pairs of animals that went are gone."""
        rows = [
            self._row(number, pair, why.get(str(pair["sow"])))
            for number, pair in enumerate(found["pairs"])
            if pair["sow"] in self.animals and pair["boar"] in self.animals
        ]
        return sorted(rows, key=lambda row: (row.boar.full_name, row.boar.pk, row.sow.full_name))

    def _row(self, number: int, pair: dict[str, Any], why: dict[str, Any] | None) -> PairRow:
        sow, boar = self.animals[pair["sow"]], self.animals[pair["boar"]]
        return PairRow(
            number,
            sow,
            boar,
            pair_address(sow, boar, self.days),
            pair["pups"],
            pair.get("showable", 0.0),
            pair["one"],
            pair["two"],
            pair.get("in_colour", 0.0),
            pair["inbreeding"],
            self._cautions(sow, boar, pair),
            reasons.why(why, self.animals, self.wishes) if why else "",
            "hold" if (sow.pk, boar.pk) in self.wishes.held else "",
        )

    def _cautions(self, sow: Animal, boar: Animal, pair: dict[str, Any]) -> tuple[Caution, ...]:
        return (
            *mating_cautions(
                sow,
                boar,
                self.wishes.together,
                self.limits,
                inbreeding=pair["inbreeding"],
                lightest=self.growth and self.growth.lightest(sow, self.wishes.together),
                doubted=self.in_doubt,
            ),
            *cautions_of_genes(
                sow, boar, lethal=pair.get("lethal", 0.0), satin=pair.get("satin", 0.0)
            ),
        )


def rests(
    plan: SeasonPlan, wishes: Wishes, animals: dict[int, Animal]
) -> list[tuple[str, list[Animal]]]:
    """The sows that go to nobody, by why."""
    found: dict[str, list[Animal]] = {}
    for one in plan.found["rests"]:
        if one["sow"] in animals:
            why = reasons.rest(one, animals, wishes)
            found.setdefault(why, []).append(animals[one["sow"]])
    return list(found.items())


def _boar_of(found: dict[str, Any]) -> dict[int, int]:
    return {pair["sow"]: pair["boar"] for pair in found["pairs"]}
