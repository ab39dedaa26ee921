"""What the page of a plan shows, from what was kept and the animals as they are today."""

from __future__ import annotations

from dataclasses import dataclass, replace

from genetics.models import SeasonPlan
from genetics.season.request import BORN, KeyPairs, Wishes
from genetics.season.result import Basis, FoundPlan, SeasonResult
from genetics.snapshot.kept import book_revision
from herdbook.book.models import Animal, Limits
from herdbook.book.rules.mating_cautions import TimeTogether

from . import costs, reasons, rows, wording
from .costs import CareRow
from .wording import Fact


@dataclass(frozen=True)
class NamedPair:
    """A pair that the breeder keeps or rules out; ``number`` is its place in what was asked."""

    number: int
    sow: Animal
    boar: Animal


@dataclass(frozen=True)
class NoPlan:
    """Why there is no plan."""

    heading: str
    reasons: list[str]


@dataclass(frozen=True)
class PlanShown:
    """A plan that was found."""

    plan: FoundPlan
    basis: Basis
    glance: list[Fact]
    verdict: str
    least_related: str
    not_judged: str
    pairs: list[rows.PairRow]
    not_kept: list[NamedPair]
    all_kept: bool
    unmated: list[rows.Unmated]
    pairs_out: str
    costs: list[Fact]
    care: list[CareRow]
    unit: str
    others: list[rows.OtherPlan]
    colour: str
    colour_basis: list[Fact]


@dataclass(frozen=True)
class PlanPage:
    """The whole page: ``shown`` and ``no_plan`` are None while the plan is being worked out."""

    plan: SeasonPlan
    together: TimeTogether
    settings: list[Fact]
    kept: list[NamedPair]
    ruled_out: list[NamedPair]
    resting: list[Animal]
    let_in: list[str]
    is_stale: bool
    counts_born: bool
    no_plan: NoPlan | None = None
    shown: PlanShown | None = None


def page_of(plan: SeasonPlan, wishes: Wishes) -> PlanPage:
    """All that the page of a plan shows."""
    result = None if plan.found is None else SeasonResult.of(plan.found)
    animals = rows.animals_of(plan, wishes, result)
    kept = _named(wishes.held, animals)
    page = PlanPage(
        plan,
        wishes.together,
        wording.asked(wishes),
        kept,
        _named(wishes.forbidden, animals),
        [animals[key] for key in wishes.resting if key in animals],
        wording.let_in(wishes),
        is_stale=plan.revision != book_revision(),
        counts_born=wishes.counted == BORN,
    )
    if result is None:
        return page
    if result.plan is None:
        return replace(page, no_plan=_no_plan(result, wishes, animals))
    of_page = rows.Rows(plan, wishes, result, Limits.of(plan.herd), animals)
    return replace(page, shown=_shown(result.plan, result, wishes, of_page, kept))


def _no_plan(result: SeasonResult, wishes: Wishes, animals: dict[int, Animal]) -> NoPlan:
    told = [reasons.obstacle(one, animals, wishes) for one in result.obstacles]
    return NoPlan(reasons.no_plan(result), told)


def _shown(
    found: FoundPlan,
    result: SeasonResult,
    wishes: Wishes,
    of_page: rows.Rows,
    kept: list[NamedPair],
) -> PlanShown:
    pairs = {(pair.sow, pair.boar) for pair in found.pairs}
    outlook = result.basis.outlook
    return PlanShown(
        found,
        result.basis,
        wording.glance(found, wishes),
        wording.bound(found, wishes),
        wording.least_related(result),
        wording.not_judged(outlook, wishes) if outlook else "",
        of_page.of_plan(found),
        [one for one in kept if (one.sow.pk, one.boar.pk) not in pairs],
        pairs <= set(wishes.held),
        of_page.unmated(),
        wording.pairs_out(result.basis.pairs_out),
        [costs.cost(one) for one in result.costs],
        [costs.care(one) for one in result.care],
        wording.unit(wishes),
        of_page.of_others(found),
        wording.colour(wishes),
        wording.colour_basis(result.basis.colour),
    )


def _named(pairs: KeyPairs, animals: dict[int, Animal]) -> list[NamedPair]:
    return [
        NamedPair(number, animals[sow], animals[boar])
        for number, (sow, boar) in enumerate(pairs)
        if sow in animals and boar in animals
    ]
