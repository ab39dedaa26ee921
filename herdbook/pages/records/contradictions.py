"""What was seen of whom, where records contradict each other: in words."""

from collections import Counter
from collections.abc import Sequence

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from genetics.core.explanation.conflicting_relatives import OF_DAM, OF_SIRE, PARENTS, SIBS
from genetics.record_errors.results import MendelianInconsistency, Showed, Speaking, WrongColour
from herdbook.book.models import Animal
from herdbook.book.models.animal import BoughtAs, Sex
from herdbook.book.models.look import Stage

from ..common.formatting import age_on
from ..common.gene_names import CARRIED

# Groups of kin that are named against one word; the strongest stand first.
MOST_GROUPS = 2


def cannot_be(misfit: MendelianInconsistency) -> str:
    """Why these parents cannot have this pup: what it showed, and what they are and by what."""
    parents = _(" and ").join(animal.label for animal in misfit.parents)
    words = {"parents": parents, "coat": misfit.pup.get_coat_display()}
    if misfit.gene == "chocolate":
        return (
            _(
                "is recorded as black, but two chocolate parents (%(parents)s) cannot have black "
                "pups. One record is wrong"
            )
            % words
        )
    if misfit.gene == "extension":
        return (
            _(
                "is recorded as %(coat)s, but two red-series parents (%(parents)s) cannot have "
                "dark pups. One record is wrong"
            )
            % words
        )
    if misfit.gene in CARRIED:
        words["what"] = str(CARRIED[misfit.gene])
        return (
            _(
                "is recorded without %(what)s, but two parents that show it (%(parents)s) cannot "
                "have such pups. One record is wrong"
            )
            % words
        )
    return _by_points(misfit)


def _by_points(misfit: MendelianInconsistency) -> str:
    pup, *parents = misfit.showed
    seen = [
        _("%(who)s (%(seen)s)") % {"who": animal.label, "seen": _seen(animal, showed)}
        if showed
        else animal.label
        for animal, showed in zip(misfit.parents, parents, strict=True)
    ]
    said = _("is recorded as %(seen)s, but %(parents)s cannot have such pups. One record is wrong")
    return said % {"seen": _seen(misfit.pup, pup), "parents": _(" and ").join(seen)}


def _seen(animal: Animal, showed: Showed | None) -> str:
    """'unmarked at 8 months', 'bought as overmarked'."""
    if showed is None:
        return _("such")
    if showed.on is None:
        return _("bought as %(what)s") % {"what": BoughtAs(showed.word).label}
    stage = Stage(showed.word)
    seen = _("unmarked") if stage == Stage.NONE else stage.label
    age = age_on(animal, showed.on)
    if age:
        return _("%(stage)s at %(age)s") % {"stage": seen, "age": age}
    return _("%(stage)s on %(day)s") % {
        "stage": seen,
        "day": f"{showed.on.day} {showed.on:%B %Y}",
    }


def colour_written(animal: Animal, gene: str) -> str:
    """The word that stands in the book of an animal and tells of a gene; '' where none does."""
    if gene == "chocolate":
        return animal.get_point_colour_display() if animal.point_colour else _coat(animal)
    if gene == "pink eye":
        return animal.get_eye_colour_display() if animal.eye_colour else ""
    if gene in ("extension", "albino"):
        return _coat(animal)
    return animal.coat_type_words


def _coat(animal: Animal) -> str:
    return animal.get_coat_display() if animal.coat else ""


def spoken_against(doubt: WrongColour) -> str:
    """'its parents (golden, golden); its 9 full sibs (8 golden, 1 cream)'."""
    if not doubt.against:
        return _("more distant relatives")
    told = doubt.against[:MOST_GROUPS]
    return "; ".join(_group(group, doubt.gene) for group in told)


def _group(group: Speaking, gene: str) -> str:
    if group.kind == PARENTS:
        return _(", and ").join(_parent(animal, gene) for animal in group.kin)
    number = len(group.kin)
    kinds = {
        SIBS: ngettext("its full sib", "its %(n)d full sibs", number),
        OF_SIRE: ngettext("its sire's pup by another", "its sire's %(n)d pups by others", number),
        OF_DAM: ngettext("its dam's pup by another", "its dam's %(n)d pups by others", number),
    }
    who = kinds.get(group.kind, ngettext("its own pup", "its own %(n)d pups", number))
    return f"{who % {'n': number}} ({_counted(group.kin, gene)})"


def _parent(animal: Animal, gene: str) -> str:
    words = {"who": animal.label, "colour": colour_written(animal, gene)}
    if animal.sex == Sex.BOAR:
        return _("its sire %(who)s, %(colour)s") % words
    return _("its dam %(who)s, %(colour)s") % words


def _counted(animals: Sequence[Animal], gene: str) -> str:
    """'8 golden, 1 cream', the most first."""
    counts = Counter(colour_written(animal, gene) for animal in animals)
    if len(animals) == 1:
        return next(iter(counts))
    return ", ".join(f"{number} {colour}" for colour, number in counts.most_common())
