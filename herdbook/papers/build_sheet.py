"""Fill in a sheet from the book: an animal's records and figures, as the papers take them."""

from collections.abc import Iterator
from datetime import date
from typing import cast

from django.utils import formats
from django.utils.translation import gettext as _

from genetics.doses.explanation import bears_on
from genetics.doses.progeny_test import JUDGED_SELF_DAYS, JudgedYoung, judged_young, proved_by_young
from genetics.figures.ancestors import read_ancestors
from genetics.models import Figure
from herdbook.book.coat_type import CoatType, coat_type_words
from herdbook.book.formatting import age_on, uncertain
from herdbook.book.models import Animal, Look
from herdbook.book.models.animal import State
from herdbook.book.models.look import Stage

from .dose_statement import (
    PROVED_FROM,
    BoughtAs,
    CoatHides,
    DoseStatement,
    Ground,
    ParentDoses,
    Phenotype,
    Young,
)
from .dose_statement import Look as LookGround
from .dose_statement import Stage as StageSeen
from .sheet import GENERATIONS, Ancestor, Inbreeding, Sex, Sheet, SheetAnimal, Weighing

# The dose that a grown animal's stage shows.
_DOSE_SHOWN = {Stage.NONE: 0, Stage.FULL: 1, Stage.OVERMARKED: 2}
_SEEN_FROM = 0.9
# How an animal of each dose looks.
_PHENOTYPES: tuple[Phenotype, ...] = ("self", "marked", "overmarked")


def sheet_of(animal: Animal, *, today: date) -> Sheet:
    """The pedigree sheet of an animal as recorded now; figures must be up to date."""
    animal = read_ancestors([animal.pk], GENERATIONS)[animal.pk]
    figure = _figure(animal)
    return Sheet(
        animal=SheetAnimal(
            name=animal.full_name if animal.name else "",
            sex=cast(Sex, animal.sex),
            number=animal.number,
            tag=animal.tag,
            born=animal.born.words() if animal.born else "",
            coat=_coat(animal),
            points=animal.get_point_colour_display() if animal.point_colour else "",
            eyes=animal.get_eye_colour_display() if animal.eye_colour else "",
            told_apart=_told_apart(animal),
        ),
        dose=dose_statement(animal),
        inbreeding=Inbreeding(
            None if figure is None else figure.inbreeding,
            0 if figure is None else figure.full_generations,
            0 if figure is None else figure.deepest_generation,
            None if figure is None else figure.inbreeding_as_written,
        ),
        issued_on=formats.date_format(today, "j F Y"),
        ancestors=dict(_ancestors(animal, "")),
        breeder=animal.breeder,
        seller=_seller(animal),
        buyer=animal.went_to if animal.state == State.SOLD else "",
        weights=tuple(
            Weighing(
                formats.date_format(weighing.on, "j M Y"),
                weighing.weight_g,
                age_on(animal, weighing.on),
            )
            for weighing in animal.weighings.all()
        ),
    )


def dose_statement(animal: Animal) -> DoseStatement:
    """An animal's dose, how it is known, and on what grounds.

    Proved by offspring: the chance, with wrong records allowed for and less its possible error, is
    99 per cent or more, also without the animal's own checks and what it was bought as, and is
    less without its young: two pups beside a check prove nothing. Seen: a check at an age that
    shows the dose, and the calculation agrees. Else probable.
    """
    figure = _figure(animal)
    if figure is None or figure.likeliest is None or figure.chances is None:
        return DoseStatement("unknown", grounds=tuple(_hidden(animal)))
    dose, error = figure.likeliest, figure.error or 0.0
    chance = uncertain(figure.chances)[dose]
    young = judged_young(animal)
    sure = chance - error >= PROVED_FROM
    if young.total and sure and proved_by_young(animal, dose, PROVED_FROM):
        return DoseStatement("proved", dose, chance, tuple(_grounds(animal, young)), error)
    look = _telling_look(animal)
    if look is not None and chance >= _SEEN_FROM and _DOSE_SHOWN.get(Stage(look.stage)) == dose:
        return DoseStatement("seen", dose, chance, (_look_ground(animal, look),), error)
    grounds = tuple(_grounds(animal, young))
    if not grounds:
        return DoseStatement("unknown")
    return DoseStatement("probable", dose, chance, grounds, error)


def _figure(animal: Animal) -> Figure | None:
    return getattr(animal, "figure", None)


def _grounds(animal: Animal, young: JudgedYoung) -> Iterator[Ground]:
    """The grounds that bear on the animal, its young first, since they count most."""
    kinds = bears_on(animal)
    if "litter" in kinds and young.total:
        yield Young(
            selfs=young.selfs,
            marked=young.marked,
            overmarked=young.overmarked,
            mates="" if young.mates_dose is None else _PHENOTYPES[young.mates_dose],
        )
    yield from _hidden(animal)
    looks = list(animal.looks.all())
    if "own" in kinds and looks:
        yield _look_ground(animal, looks[-1])
    if not animal.litter.has_known_parent and animal.bought_as:
        yield BoughtAs(cast(Phenotype, animal.bought_as))
    boars = animal.litter.candidate_boars
    if animal.litter.has_known_parent:
        yield ParentDoses(
            _likeliest(boars[0]) if len(boars) == 1 else None, _likeliest(animal.litter.dam)
        )
    if "littermates" in kinds:
        yield _("its littermates were checked")
    if "count" in kinds:
        yield _("it was counted with its littermates, not one by one")
    if kinds.get("litter"):
        yield _("its own pups were counted, not one by one")


def _hidden(animal: Animal) -> Iterator[Ground]:
    if animal.coat and not animal.shows_points:
        yield CoatHides(animal.get_coat_display())


def _likeliest(animal: Animal | None) -> int | None:
    figure = None if animal is None else _figure(animal)
    return None if figure is None else figure.likeliest


def _telling_look(animal: Animal) -> Look | None:
    """The last check of an animal whose coat shows points, at an age that shows the dose."""
    looks = list(animal.looks.all()) if animal.shows_points else []
    if not looks:
        return None
    age = animal.age_days(looks[-1].on)
    unmarked = looks[-1].stage == Stage.NONE
    return None if unmarked and (age is None or age < JUDGED_SELF_DAYS) else looks[-1]


def _look_ground(animal: Animal, look: Look) -> LookGround:
    stage = cast(StageSeen, look.stage)
    return LookGround(stage, age_on(animal, look.on), formats.date_format(look.on, "j F Y"))


def _ancestors(animal: Animal, path: str) -> Iterator[tuple[str, Ancestor]]:
    """Every known ancestor by its path; those behind a choice of sires are left out."""
    if len(path) == GENERATIONS:
        return
    boars = animal.litter.candidate_boars
    if boars:
        yield path + "s", _ancestor(boars[0], boars[1:])
        if len(boars) == 1:
            yield from _ancestors(boars[0], path + "s")
    if animal.litter.dam is not None:
        yield path + "d", _ancestor(animal.litter.dam, [])
        yield from _ancestors(animal.litter.dam, path + "d")


def _ancestor(animal: Animal, others: list[Animal]) -> Ancestor:
    if others:
        return Ancestor(animal.label, or_names=tuple(other.label for other in others))
    colours = (_coat(animal), _points(animal))
    figure = _figure(animal)
    return Ancestor(
        animal.full_name,
        number=animal.number,
        born=animal.born.words() if animal.born else "",
        colours=", ".join(colour for colour in colours if colour),
        dose=_probably(figure) if figure is not None and _is_likely(figure) else None,
    )


def _is_likely(figure: Figure) -> bool:
    return figure.chances is not None and max(figure.chances) >= 0.5


def _probably(figure: Figure) -> DoseStatement:
    chance = max(uncertain(figure.chances or ()))
    return DoseStatement("probable", figure.likeliest, chance, error=figure.error or 0.0)


def _coat(animal: Animal) -> str:
    """'red', 'red, satin': a buyer must know of satin and roan, which can hurt the young."""
    kind = "" if animal.coat_type == CoatType.PLAIN else coat_type_words(animal.coat_type)
    colour = animal.get_coat_display() if animal.coat else ""
    if kind and not colour:
        colour = _("colour not known")
    return ", ".join(word for word in (colour, kind) if word)


def _points(animal: Animal) -> str:
    if not animal.point_colour:
        return ""
    return _("%(colour)s points") % {"colour": animal.get_point_colour_display()}


def _told_apart(animal: Animal) -> str:
    if not animal.told_apart:
        return animal.told_apart_note
    parts = [animal.get_told_apart_display(), animal.told_apart_note]
    words = ": ".join(part for part in parts if part)
    return f"{words} ({animal.get_sureness_display()})"


def _seller(animal: Animal) -> str:
    herd = animal.herd
    return ", ".join(part for part in (herd.keeper or herd.name, herd.address) if part)
