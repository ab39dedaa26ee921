"""Animals at the desk: bought or known from paper, corrected, sold, lent, died."""

from collections.abc import Collection
from datetime import date

from ..dates import PartialDate
from ..entries import AnimalEntry
from ..models import Animal, Herd, Litter
from ..models.litter import Source
from ..rules.animals import animal_findings
from ..rules.litters import parents_findings
from .litters import add_litter, same_parents, update_litter
from .writing import change, hear, keep_answers


def record_animal(
    *,
    user,
    herd: Herd,
    entry: AnimalEntry,
    today: date,
    answered: Collection[str] = (),
    submission_key: str = "",
) -> Animal:
    """Write an animal that was not born here, with a litter of its own known from paper.

    Raises Refused, Asked or AlreadyWritten; then nothing is written.
    """
    with change(
        user=user, herd=herd, action="record animal", submission_key=submission_key
    ) as writing:
        found = [
            *animal_findings(entry.values, born=entry.parents.born, today=today),
            *parents_findings(entry.parents, today=today),
        ]
        asked = hear(found, answered)
        litter = add_litter(writing, herd, entry.parents, Source.PAPER)
        animal = writing.add(Animal(herd=herd, litter=litter, **entry.values))
        writing.about(animal.public_id)
        keep_answers(writing, asked)
    return animal


def correct_animal(
    *,
    user,
    animal: Animal,
    entry: AnimalEntry,
    version: int,
    litter_version: int | None = None,
    today: date,
    answered: Collection[str] = (),
    submission_key: str = "",
) -> Animal:
    """Write over an animal's own columns, and its parentage where its litter is from paper.

    A litter born at home is corrected on its own page, for all its pups at once. Littermates
    from paper share their parents: ``litter_version`` is the version that these were read at,
    None where the caller has just read them. Raises Refused, Asked, AlreadyWritten or
    ChangedMeanwhile.
    """
    with change(
        user=user, herd=animal.herd, action="correct animal", submission_key=submission_key
    ) as writing:
        litter = Litter.objects.get(pk=animal.litter_id)
        from_paper = litter.source == Source.PAPER
        born = entry.parents.born if from_paper else litter.born
        found = [*animal_findings(entry.values, born=born, today=today, animal=animal)]
        if from_paper:
            found += parents_findings(entry.parents, today=today, litter=litter)
        asked = hear(found, answered)
        animal = writing.update(animal, entry.values, version=version)
        if from_paper and not same_parents(litter, entry.parents):
            update_litter(writing, litter, entry.parents, litter_version)
        writing.about(animal.public_id)
        keep_answers(writing, asked)
    return animal


def move_animal(
    *,
    user,
    animal: Animal,
    state: str,
    on: PartialDate | None,
    went_to: str = "",
    version: int,
    today: date,
    submission_key: str = "",
) -> Animal:
    """Write that an animal was sold, lent, died, or came back.

    Raises Refused, AlreadyWritten or ChangedMeanwhile.
    """
    values = {"state": state, "left_on": on, "went_to": went_to}
    with change(
        user=user, herd=animal.herd, action="move animal", submission_key=submission_key
    ) as writing:
        hear(animal_findings(values, born=animal.born, today=today, animal=animal), ())
        animal = writing.update(animal, values, version=version)
        writing.about(animal.public_id)
    return animal
