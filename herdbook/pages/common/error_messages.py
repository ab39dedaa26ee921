"""The error messages of form fields, short and with the remedy. Every form of ours has them.

A field with its own ``error_messages`` keeps them.
"""

from typing import Any

from django import forms
from django.contrib.auth.forms import AuthenticationForm
from django.utils.translation import gettext_lazy as _

_ANY = {
    "required": _("Fill this in."),
    "min_value": _("Enter %(limit_value)s or more."),
    "max_value": _("Enter %(limit_value)s or less."),
    "max_length": _("Use at most %(limit_value)d characters; this has %(show_value)d."),
    "null_characters_not_allowed": _("It has a character that cannot be saved. Type it again."),
}
_CHOICE = {
    "required": _("Choose one."),
    "invalid_choice": _("Choose one from the list."),
    "invalid_list": _("Choose one from the list."),
    "invalid_pk_value": _("Choose one from the list."),
}
_NUMBER = {
    "invalid": _("This must be a number."),
    "max_digits": _("Too many digits: %(max)s at most."),
    "max_decimal_places": _("Too many decimal places: %(max)s at most."),
    "max_whole_digits": _("Too many digits before the decimal point: %(max)s at most."),
}
_WHOLE_NUMBER = {"invalid": _("This must be a whole number.")}
_DAY = {"required": _("Enter the date."), "invalid": _("Enter the date as 24/11/2026.")}
_FILE = {
    "required": _("Choose a file."),
    "invalid": _("No file was received. Choose it again."),
    "missing": _("No file was received. Choose it again."),
    "empty": _("This file is empty. Choose another."),
}
# The messages of a class apply to its subclasses; those of a nearer class take precedence.
_OF_CLASS = {
    forms.Field: _ANY,
    forms.ChoiceField: _CHOICE,
    forms.BooleanField: {"required": _("Tick this.")},
    forms.IntegerField: _WHOLE_NUMBER,
    forms.FloatField: _NUMBER,
    forms.DecimalField: _NUMBER,
    forms.DateField: _DAY,
    forms.FileField: _FILE,
}

#: The messages of a set of lines.
OF_LINES = {
    "missing_management_form": _("Part of the page is missing. Open it again."),
    "too_many_forms": _("Save at most %(num)d pups at once, then add the others."),
}


class PlainForm(forms.Form):
    """A form with plain error messages."""

    def full_clean(self) -> None:
        for field in self.fields.values():
            _say_plainly(field)
        super().full_clean()


class SignInForm(PlainForm, AuthenticationForm):
    """A name and password."""

    error_messages = {
        **AuthenticationForm.error_messages,
        "invalid_login": _("Wrong name or password. Check your capitals."),
    }


def _say_plainly(field: forms.Field) -> None:
    given = _by_class(field, lambda kind: getattr(kind, "default_error_messages", {}))
    for code, words in _by_class(field, lambda kind: _OF_CLASS.get(kind, {})).items():
        if field.error_messages.get(code) is given.get(code):
            field.error_messages[code] = words


def _by_class(field: forms.Field, words_of: Any) -> dict:
    found: dict = {}
    for kind in reversed(type(field).__mro__):
        found |= words_of(kind)
    return found
