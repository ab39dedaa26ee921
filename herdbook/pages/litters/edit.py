"""Pages that write a litter: at birth, put right later, a pup that was overlooked."""

from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.utils.functional import cached_property
from django.utils.translation import ngettext

from herdbook.book.models import Animal, Litter
from herdbook.book.models.litter import Source
from herdbook.book.services.change_set import Submission
from herdbook.book.services.litters import add_pups, correct_litter, record_litter

from ..common.access import own_or_404
from ..common.entry_form import WriteView, public_id_of
from .forms import LitterForm, MorePupsForm, NewLitterForm, with_more_lines


class WritePups(WriteView):
    """A page with lines for pups, and a button for more lines."""

    def post(self, request: HttpRequest, **address: Any) -> HttpResponse:
        if "more" in request.POST:
            return self.show(self.make_form(**with_more_lines(request.POST)))
        return super().post(request, **address)

    def next_page(self, written: Any) -> Litter:
        return own_or_404(self.request, Litter.objects.all(), public_id_of(written))

    def say_done(self, litter: Litter) -> None:
        count = litter.pups.count()
        words = ngettext(
            "Saved: a litter of %(count)d pup in the book.",
            "Saved: a litter of %(count)d pups in the book.",
            count,
        )
        messages.success(self.request, words % {"count": count})


class RecordLitter(WritePups):
    """A litter at birth: one page, one save."""

    form_class = NewLitterForm
    template_name = "litters/record.html"

    @cached_property
    def dam(self) -> Animal | None:
        """The sow whom the address names, if it names one."""
        if "dam" not in self.request.GET:
            return None
        return own_or_404(self.request, Animal.objects.all(), _public_id(self.request.GET["dam"]))

    def form_arguments(self) -> dict[str, Any]:
        return {"herd": self.row, "dam": self.dam}

    def write(self, submission: Submission, form: NewLitterForm) -> Litter:
        return record_litter(submission, herd=self.row, entry=form.entry())

    def context(self) -> dict[str, Any]:
        return {"dam": self.dam}


class CorrectLitter(WriteView):
    """A litter's own facts put right, for all its pups at once."""

    rows = Litter.objects.kept_as_born_here().with_family()
    form_class = LitterForm
    template_name = "litters/correct.html"

    def form_arguments(self) -> dict[str, Any]:
        return {"herd": self.row.herd, "litter": self.row}

    def write(self, submission: Submission, form: LitterForm) -> Litter:
        return correct_litter(submission, litter=self.row, entry=form.entry())

    def context(self) -> dict[str, Any]:
        return {"litter": self.row, "taken_in": self.row.source == Source.PAPER}


class AddPups(WritePups):
    """Pups that were overlooked when the litter was written."""

    rows = Litter.objects.filter(source=Source.HOME).with_family()
    form_class = MorePupsForm
    template_name = "litters/add.html"

    def form_arguments(self) -> dict[str, Any]:
        return {"litter": self.row}

    def write(self, submission: Submission, form: MorePupsForm) -> Litter:
        return add_pups(submission, litter=self.row, pups=form.entries, counted=form.counted)

    def context(self) -> dict[str, Any]:
        return {"litter": self.row}


def _public_id(text: str) -> UUID | None:
    """The id in an address; one that is none at all finds no row."""
    try:
        return UUID(text)
    except ValueError:
        return None
