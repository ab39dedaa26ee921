"""Pages for one animal's weighings, looks and judgements: written, put right, taken out alike."""

from dataclasses import dataclass
from typing import Any

from django.db.models import QuerySet

from herdbook.book.models import Animal, Judgement, Look, Weighing
from herdbook.book.services.change_set import Submission
from herdbook.book.services.observations import (
    Observation,
    correct_observation,
    record_observations,
    remove_observation,
)

from ..common.entry_form import EntryForm, RemoveView, WriteView, written_of
from . import forms


@dataclass(frozen=True)
class Kind:
    """One kind of observation: its rows, and its form with the columns that it writes."""

    model: type[Observation]
    form_class: type[forms.ObservationForm]
    columns: tuple[str, ...]

    @property
    def name(self) -> str:
        return self.model._meta.model_name


LOOK = Kind(Look, forms.LookForm, ("on", "stage", *forms.COLUMNS))
WEIGHING = Kind(Weighing, forms.WeighingForm, ("on", "weight_g", "remarks"))
JUDGEMENT = Kind(Judgement, forms.JudgementForm, ("on", "verdict", "by", "remarks"))


class ObservationView(WriteView):
    """What the three pages of a kind have in common."""

    kind: Kind = LOOK

    @property
    def form_class(self) -> type[forms.ObservationForm]:
        return self.kind.form_class

    @property
    def template_name(self) -> str:
        return f"observations/{self.kind.name}.html"

    @property
    def rows(self) -> QuerySet:
        return self.kind.model.objects.select_related("animal__litter", "herd")

    @property
    def animal(self) -> Animal:
        return self.row.animal

    def next_page(self, written: Any) -> Animal:
        return self.animal

    def context(self) -> dict[str, Any]:
        return {"animal": self.animal, self.kind.name: self.row}


class RecordView(ObservationView):
    """Write what an animal weighed, what its points look like, or what a person makes of it."""

    rows = Animal.objects.with_parents()

    @property
    def animal(self) -> Animal:
        return self.row

    def form_arguments(self) -> dict[str, Any]:
        return {"herd": self.animal.herd}

    def write(self, submission: Submission, form: forms.ObservationForm) -> list[Observation]:
        return record_observations(submission, entries=[form.entry(self.animal)])

    def context(self) -> dict[str, Any]:
        last = self.kind.model.objects.filter(animal=self.animal).last()
        return {"animal": self.animal, "last": last}


class CorrectView(ObservationView):
    """Put an observation right; what was written before stays in history."""

    def form_arguments(self) -> dict[str, Any]:
        initial = written_of(self.row, self.kind.columns)
        return {"herd": self.row.herd, "written": self.row, "initial": initial}

    def write(self, submission: Submission, form: forms.ObservationForm) -> Observation:
        return correct_observation(submission, row=self.row, entry=form.entry(self.animal))


class RemoveObservationView(RemoveView, ObservationView):
    """Take out an observation that never was."""

    template_name = "observations/remove.html"
    back = "animal"

    def write(self, submission: Submission, form: EntryForm) -> Animal:
        return remove_observation(submission, row=self.row)

    def context(self) -> dict[str, Any]:
        return {"animal": self.animal, "row": self.row, "kind": self.kind.name}
