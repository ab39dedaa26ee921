"""The herd's own page: its details as printed on sheets, and the prefix of its pups' names."""

from typing import Any

from django import forms
from django.urls import path
from django.utils.translation import gettext_lazy as _

from herdbook.book.models import Herd
from herdbook.book.services.change_set import Submission
from herdbook.book.services.herds import describe_herd

from ..common.entry_form import EntryForm, WriteView, written_of

COLUMNS = ("name", "stud_prefix", "keeper", "address")


class HerdForm(EntryForm):
    """A herd's own facts."""

    name = forms.CharField(label=_("Name of the herd"), max_length=80)
    stud_prefix = forms.CharField(
        label=_("Stud prefix"),
        max_length=40,
        required=False,
        help_text=_("Comes before the names of pups born from now on."),
    )
    keeper = forms.CharField(
        label=_("Keeper"),
        max_length=80,
        required=False,
        help_text=_("Shown on pedigrees as seller, and as breeder of pups born here."),
    )
    address = forms.CharField(
        label=_("Address or contact on pedigrees"), max_length=200, required=False
    )


class DescribeHerd(WriteView):
    """Edit the herd's details."""

    form_class = HerdForm
    template_name = "herd.html"

    def form_arguments(self) -> dict[str, Any]:
        return {"initial": written_of(self.row, COLUMNS)}

    def write(self, submission: Submission, form: HerdForm) -> Herd:
        values = {name: form.cleaned_data[name] for name in COLUMNS}
        return describe_herd(submission, herd=self.row, values=values)

    def next_page(self, written: Any) -> str:
        return "home"


urls = [path("herd/", DescribeHerd.as_view(), name="herd")]
