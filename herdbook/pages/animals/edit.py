"""Pages that write an animal: bought or from paper, corrected, moved."""

from typing import Any

from django.urls import reverse

from herdbook.book.models import Animal
from herdbook.book.services.animals import correct_animal, move_animal, record_animal
from herdbook.book.services.change_set import Submission

from ..common.entry_form import WriteView, public_id_of
from .forms import AnimalForm, MoveForm


class RecordAnimal(WriteView):
    """Write down an animal that was not born here."""

    form_class = AnimalForm
    template_name = "animals/record.html"

    def form_arguments(self) -> dict[str, Any]:
        state = self.request.GET.get("state")
        return {"herd": self.row, "initial": {"state": state} if state else {}}

    def write(self, submission: Submission, form: AnimalForm) -> Animal:
        return record_animal(submission, herd=self.row, entry=form.entry())

    def next_page(self, written: Any) -> str:
        return reverse("animal", args=[public_id_of(written)])


class CorrectAnimal(WriteView):
    """Put an animal's facts right; what was written before stays in its history."""

    rows = Animal.objects.with_parents()
    form_class = AnimalForm
    template_name = "animals/correct.html"

    def form_arguments(self) -> dict[str, Any]:
        return {"herd": self.row.herd, "animal": self.row}

    def write(self, submission: Submission, form: AnimalForm) -> Animal:
        opened_on = form.litter_opened_on
        return correct_animal(
            submission, animal=self.row, entry=form.entry(), litter_version=opened_on
        )

    def context(self) -> dict[str, Any]:
        return {"animal": self.row}


class MoveAnimal(WriteView):
    """Write that an animal was sold or lent, died, or came back."""

    rows = Animal.objects.with_parents()
    form_class = MoveForm
    template_name = "animals/move.html"

    def form_arguments(self) -> dict[str, Any]:
        return {"animal": self.row}

    def write(self, submission: Submission, form: MoveForm) -> Animal:
        said = {name: form.cleaned_data[name] for name in ("state", "on", "went_to")}
        return move_animal(submission, animal=self.row, **said)

    def context(self) -> dict[str, Any]:
        return {"animal": self.row}
