"""Animals at the desk: bought or known from paper, corrected, sold, lent, died."""

from ..inputs import AnimalEntry
from ..models import Animal, Herd, Litter
from ..models.litter import Source
from ..partial_date import PartialDate
from ..rules.animals import animal_findings
from ..rules.litters import parents_findings
from .change_set import Submission, change
from .litters import add_litter, same_parents, update_litter


def record_animal(submission: Submission, *, herd: Herd, entry: AnimalEntry) -> Animal:
    """Write an animal that was not born here, with a litter of its own known from paper.

    Raises RecordRefusedError, ConfirmationNeededError or AlreadyWrittenError; then nothing is
    written.
    """
    with change(submission, herd, "record animal") as writing:
        found = [
            *animal_findings(entry.values, born=entry.parents.born, today=submission.today),
            *parents_findings(entry.parents, today=submission.today),
        ]
        writing.require_confirmed(found)
        litter = add_litter(writing, herd, entry.parents, Source.PAPER)
        animal = writing.add(Animal(herd=herd, litter=litter, **entry.values))
        writing.about(animal.public_id)
    return animal


def correct_animal(
    submission: Submission, *, animal: Animal, entry: AnimalEntry, litter_version: int | None = None
) -> Animal:
    """Write over an animal's own columns, and its parentage where its litter is from paper.

    A litter born at home is corrected on its own page, for all its pups at once. Littermates from
    paper share their parents: ``litter_version`` is the version that these were read at, None where
    the caller has just read them. Raises RecordRefusedError, ConfirmationNeededError,
    AlreadyWrittenError or EditConflictError.
    """
    with change(submission, animal.herd, "correct animal") as writing:
        litter = Litter.objects.get(pk=animal.litter_id)
        from_paper = litter.source == Source.PAPER
        born = entry.parents.born if from_paper else litter.born
        found = [*animal_findings(entry.values, born=born, today=submission.today, animal=animal)]
        if from_paper:
            found += parents_findings(entry.parents, today=submission.today, litter=litter)
        writing.require_confirmed(found)
        animal = writing.update(animal, entry.values, version=submission.version)
        if from_paper and not same_parents(litter, entry.parents):
            update_litter(writing, litter, entry.parents, litter_version)
        writing.about(animal.public_id)
    return animal


def move_animal(
    submission: Submission, *, animal: Animal, state: str, on: PartialDate | None, went_to: str = ""
) -> Animal:
    """Write that an animal was sold, lent, died, or came back.

    Raises RecordRefusedError, AlreadyWrittenError or EditConflictError.
    """
    values = {"state": state, "left_on": on, "went_to": went_to}
    with change(submission, animal.herd, "move animal") as writing:
        writing.require_confirmed(
            animal_findings(values, born=animal.born, today=submission.today, animal=animal)
        )
        animal = writing.update(animal, values, version=submission.version)
        writing.about(animal.public_id)
    return animal
