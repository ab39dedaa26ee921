"""How the parents are related, in words and as a chart, and the ancestors of their litter."""

from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from django.utils.translation import gettext as _

from genetics.figures.ancestors import read_ancestors
from genetics.matings.lookup import LookUp, Way
from herdbook.book.models import Animal, Limits
from herdbook.charts import (
    MOST_PATHS,
    Ancestor,
    Chart,
    DrawingError,
    Route,
    Sex,
    ancestors_chart,
    relationship_chart,
)
from herdbook.charts import Animal as Drawn

from ..animals.ancestry import drawn_ancestors, drawn_animal
from ..common.formatting import chance, coefficient

# So many paths are listed in words; the rest is summed up.
MOST_TOLD = 12

# A path that adds less than this share of the whole would widen the chart and say little.
WORTH_DRAWING = 1 / 20


@dataclass(frozen=True)
class Told:
    """One path in words: through whom, by whom on each side, what it adds."""

    ancestor: str
    sides: str
    adds: str


@dataclass(frozen=True)
class Kinship:
    """The paths in words, those on the chart and those too small for it.

    ``rest`` is what the paths that are not listed add, '' for nothing.
    """

    drawn: tuple[Told, ...]
    too_small: tuple[Told, ...]
    rest: str
    chart: Chart | None
    why_no_chart: str


def tell_kinship(found: LookUp) -> Kinship:
    """All the paths that make the litter inbred, those that add most first."""
    animals = _animals_on(found.ways)
    told = tuple(_tell(way, animals, found) for way in found.ways[:MOST_TOLD])
    left = sum(way.adds for way in found.ways[MOST_TOLD:]) + found.rest
    least = WORTH_DRAWING * found.mating.inbreeding
    drawn = [way for way in found.ways[:MOST_PATHS] if way.adds >= least] or found.ways[:1]
    chart, why_no_chart = None, ""
    if found.ways:
        try:
            chart = relationship_chart(
                litter_to_be(found.mating.inbreeding), animals, _routes(drawn, told)
            )
        except DrawingError as error:
            why_no_chart = str(error)
    return Kinship(
        told[: len(drawn)],
        told[len(drawn) :],
        coefficient(left) if left > 0 else "",
        chart,
        why_no_chart,
    )


def possible_sires_line(found: LookUp) -> str:
    """How possible sires count in the inbreeding, '' where no sire is uncertain."""
    written = found.inbreeding_as_written
    if written is not None:
        return _(
            "Each possible sire counts by how likely all records make him; as recorded it would be "
            "%(percent)s."
        ) % {"percent": coefficient(written)}
    if all(way.chance == 1 for way in found.ways):
        return ""
    if found.by_records:
        return _("Each possible sire counts by how likely all records make him.")
    return _("Each possible sire counts as recorded.")


def inbreeding_line(inbreeding: float, limits: Limits) -> str:
    """Which of the herd's limits a litter's inbreeding is above, in words."""
    percent = Decimal(str(round(inbreeding * 100, 6)))
    for line, words in (
        (limits.inbreeding_exceptional, _("at or above your limit of %(line)s%%: exceptional")),
        (limits.inbreeding_deliberate, _("above your limit of %(line)s%%: only if intended")),
        (limits.inbreeding_comfortable, _("above the %(line)s%% you are comfortable with")),
    ):
        if percent >= line:
            return words % {"line": f"{line.normalize():f}"}
    line = f"{limits.inbreeding_comfortable.normalize():f}"
    return _("below %(line)s%%: within your limit") % {"line": line}


def litter_to_be(inbreeding: float) -> Drawn:
    """The box of a litter that is not born."""
    return Drawn(
        key="litter",
        name=_("The litter"),
        look=_("inbreeding %(percent)s") % {"percent": coefficient(inbreeding)},
    )


def draw_litters_ancestors(found: LookUp, generations: int) -> tuple[Chart | None, str]:
    """The ancestors of the planned litter, or None with a sentence that says why."""
    mating = found.mating
    read = read_ancestors([mating.boar.pk, mating.sow.pk], generations - 1)
    boar, sow = (
        drawn_ancestors(read[one.pk], generations - 1) for one in (mating.boar, mating.sow)
    )
    litter = Ancestor(
        litter_to_be(mating.inbreeding),
        sires=(boar,),
        dam=sow,
        parents_related=mating.inbreeding > 0,
    )
    try:
        return ancestors_chart(litter, generations), ""
    except DrawingError as error:
        return None, str(error)


def _animals_on(ways: tuple[Way, ...]) -> dict[Hashable, Drawn]:
    keys = {key for way in ways[:MOST_TOLD] for key in (*way.sire_side, *way.dam_side)}
    known = Animal.objects.filter(pk__in=[key for key in keys if key > 0])
    known = known.select_related("litter", "figure")
    animals: dict[Hashable, Drawn] = {one.pk: drawn_animal(one) for one in known}
    return animals | {key: _unknown(key) for key in keys if key < 0}


def _unknown(key: int) -> Drawn:
    """An unknown parent, shared by littermates: odd a sire, even a dam."""
    if key % 2:
        return Drawn(key=key, name=_("Unknown sire"), sex=Sex.BOAR)
    return Drawn(key=key, name=_("Unknown dam"), sex=Sex.SOW)


def _tell(way: Way, animals: Mapping[Hashable, Drawn], found: LookUp) -> Told:
    up = [animals[key].known_as() for key in way.sire_side]
    down = [animals[key].known_as() for key in reversed(way.dam_side[:-1])]
    adds = _("adds %(percent)s") % {"percent": coefficient(way.adds)}
    if way.chance < 1:
        words = (
            _("%(adds)s (%(chance)s likely by all records)")
            if found.by_records
            else _("%(adds)s (%(chance)s likely as recorded)")
        )
        adds = words % {"adds": adds, "chance": chance(way.chance)}
    return Told(up[-1], " – ".join([*up, *down]), adds)


def _routes(ways: Sequence[Way], told: tuple[Told, ...]) -> list[Route]:
    return [
        Route(
            way.sire_side,
            way.dam_side,
            _("through %(ancestor)s: %(adds)s") % {"ancestor": words.ancestor, "adds": words.adds},
        )
        for way, words in zip(ways, told, strict=False)
    ]
