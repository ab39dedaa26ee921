"""Every form says in plain words what to put right, and never in the framework's."""

import re

import pytest
from django import forms
from django.core.files.uploadedfile import SimpleUploadedFile

from herdbook.book.models import Animal
from herdbook.pages.animals.forms import MoveForm
from herdbook.pages.animals.progeny_test import CostsForm
from herdbook.pages.common.entry_form import EntryForm
from herdbook.pages.common.error_messages import PlainForm, SignInForm
from herdbook.pages.common.fields import OneOffered, PartialDateFormField, SomeOffered
from herdbook.pages.litters.pups import MOST_PUPS, pup_lines
from herdbook.pages.observations.forms import DayField, LookForm, WeighingForm, weight_field
from herdbook.pages.photos import PhotoFields
from herdbook.pages.spreadsheet_import import TakeInForm

# How the framework talks.
FOREIGN = re.compile(
    r"This field|Ensure|Enter a|Select a valid|submitted|Null characters|Please|management", re.I
)

CASES = [
    (forms.CharField(), "", "Fill this in."),
    (forms.CharField(max_length=3), "oats", "Use at most 3 characters; this has 4."),
    (forms.CharField(), "\x00", "It has a character that cannot be saved. Type it again."),
    (weight_field(), "", "Fill this in."),
    (weight_field(), "9", "Enter 10 or more."),
    (weight_field(), "4001", "Enter 4000 or less."),
    (weight_field(), "heavy", "This must be a whole number."),
    (forms.FloatField(), "a half", "This must be a number."),
    (forms.DecimalField(max_digits=4, decimal_places=1), "1.25", "decimal places: 1 at most"),
    (
        forms.DecimalField(max_digits=4, decimal_places=1),
        "1234",
        "digits before the decimal point: 3 at most",
    ),
    (DayField(), "", "Enter the date."),
    (DayField(), "soon", "Enter the date as 24/11/2026."),
    (PartialDateFormField(), "", "Fill this in."),
    (forms.ChoiceField(choices=[("sow", "sow")]), "", "Choose one."),
    (forms.TypedChoiceField(choices=[("sow", "sow")]), "ewe", "Choose one from the list."),
    (forms.BooleanField(), "", "Tick this."),
    (forms.FileField(), SimpleUploadedFile("a.csv", b""), "This file is empty."),
    (forms.FileField(), None, "Choose a file."),
    (forms.FloatField(min_value=1e-9, error_messages={"min_value": "Above 0."}), "0", "Above 0."),
]


@pytest.mark.parametrize(("field", "sent", "said"), CASES)
def test_it_works(field, sent, said):
    kind = type("Asked", (PlainForm,), {"asked": field})
    error = kind({"asked": sent}, {"asked": sent}).errors["asked"][0]
    assert said in error
    assert not FOREIGN.search(error)


@pytest.mark.parametrize("kind", [OneOffered, SomeOffered])
@pytest.mark.parametrize("sent", ["5", "Rook", "\x00", "of-another"])
def test_what_is_not_offered_is_not_on_the_list(cast, kind, sent):
    offered = Animal.objects.filter(pk=cast.rook.pk)
    form = type("Asked", (PlainForm,), {"asked": kind(offered)})

    def sent_by_hand(value):
        return form({"asked": [value] if kind is SomeOffered else value})

    sent = str(cast.wren.public_id) if sent == "of-another" else sent
    assert sent_by_hand(sent).errors == {"asked": ["Choose one from the list."]}
    assert sent_by_hand(str(cast.rook.public_id)).is_valid()


def test_a_photo_that_was_sent_before_and_is_no_id():
    form = PhotoFields({"kept_photo": "5"}, {})
    assert "Choose it again" in form.errors["kept_photo"][0]


def test_every_form_of_ours_does_so():
    ours = (EntryForm, PhotoFields, CostsForm, SignInForm, MoveForm, LookForm)
    assert all(issubclass(form, PlainForm) for form in (*ours, WeighingForm, TakeInForm))


def test_an_empty_form_says_it_at_every_field(cast):
    herd = cast.herd
    for form in (
        WeighingForm({}, herd=herd),
        LookForm({}, herd=herd),
        MoveForm({}, animal=cast.rook),
    ):
        said = [words for errors in form.errors.values() for words in errors]
        assert said
        assert not [words for words in said if FOREIGN.search(words)]


def test_lines_that_are_too_many_or_did_not_come(cast):
    sent = {"pups-TOTAL_FORMS": str(MOST_PUPS + 1), "pups-INITIAL_FORMS": "0"}
    for data, said in (
        (sent, f"Save at most {MOST_PUPS} pups"),
        ({}, "Part of the page is missing"),
    ):
        (error,) = pup_lines(data, herd=cast.herd).non_form_errors()
        assert said in error
        assert not FOREIGN.search(error)
