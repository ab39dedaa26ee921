"""The rows of a plan's page, from what was kept and the animals as they are today."""

from dataclasses import dataclass
from typing import Any

from genetics.growing import growth_of_sows
from genetics.models import SeasonPlan
from genetics.season_wishes import Wishes
from herdbook.book.cautions import Caution, Doubted
from herdbook.book.models import Animal, Limits
from herdbook.book.rules.genes import cautions_of_genes
from herdbook.book.rules.matings import mating_cautions, with_mating_records

from ..matings.ranking import pair_address
from . import reasons, words


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
    """Another plan: what it gives and what it does in place of the first one's pairs."""

    gives: str
    coancestry: float
    instead: list[tuple[Animal, Animal | None, Animal | None]]


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


def pair_rows(
    plan: SeasonPlan, wishes: Wishes, limits: Limits, animals: dict[int, Animal]
) -> list[PairRow]:
    """The pairs, each with what speaks against it today, papers and genes by what was found with
    the plan; pairs of animals that went are gone."""
    days = {"boar_in": wishes.boar_in.isoformat(), "boar_out": wishes.boar_out.isoformat()}
    growth = growth_of_sows(plan.herd)
    in_doubt = {int(key): Doubted(**one) for key, one in plan.found.get("in_doubt", {}).items()}
    rows = []
    for number, pair in enumerate(plan.found["pairs"]):
        sow, boar = animals.get(pair["sow"]), animals.get(pair["boar"])
        if sow is None or boar is None:
            continue
        reason = plan.found["why"][str(sow.pk)]
        rows.append(
            PairRow(
                number,
                sow,
                boar,
                pair_address(sow, boar, days),
                pair["pups"],
                pair.get("showable", 0.0),
                pair["one"],
                pair["two"],
                pair.get("in_colour", 0.0),
                pair["inbreeding"],
                (
                    *mating_cautions(
                        sow,
                        boar,
                        wishes.together,
                        limits,
                        inbreeding=pair["inbreeding"],
                        lightest=growth and growth.lightest(sow, wishes.together),
                        doubted=in_doubt,
                    ),
                    *cautions_of_genes(
                        sow, boar, lethal=pair.get("lethal", 0.0), satin=pair.get("satin", 0.0)
                    ),
                ),
                reasons.why(reason, animals, wishes),
                "hold" if (sow.pk, boar.pk) in wishes.held else "",
            )
        )
    return sorted(rows, key=lambda row: (row.boar.full_name, row.boar.pk, row.sow.full_name))


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


def other_plans(plan: SeasonPlan, wishes: Wishes, animals: dict[int, Animal]) -> list[OtherPlan]:
    """The other plans by how they differ: a sow, her boar here and her boar there."""
    first = _boar_of(plan.found)
    rows = []
    for other in plan.found["others"]:
        theirs = _boar_of(other)
        changed = [
            (animals[sow], animals.get(first.get(sow)), animals.get(theirs.get(sow)))
            for sow in sorted(first.keys() | theirs.keys())
            if first.get(sow) != theirs.get(sow) and sow in animals
        ]
        gives = words.worth(other["value"], wishes)
        rows.append(OtherPlan(gives, other["coancestry"], changed))
    return rows


def _boar_of(found: dict[str, Any]) -> dict[int, int]:
    return {pair["sow"]: pair["boar"] for pair in found["pairs"]}
