"""Form fields of our own: dates that may be known to the month or the year alone."""

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _now
from django.utils.translation import gettext_lazy as _

from herdbook.book.dates import PartialDate, as_partial


class PartialDateFormField(forms.CharField):
    """Reads 2026-03-14, 14.3.2026 or 14/3/2026, and 2026-03, 3/2026 or 2026 alone."""

    def __init__(self, **kwargs):
        kwargs.setdefault("help_text", _("Day, month or year alone: 2026-03-14, 2026-03 or 2026."))
        super().__init__(max_length=10, **kwargs)
        self.widget.attrs.setdefault("autocomplete", "off")
        self.widget.attrs.setdefault("inputmode", "numeric")

    def prepare_value(self, value):
        return str(value) if isinstance(value, PartialDate) else value

    def to_python(self, value):
        text = super().to_python(value)
        if not text:
            return None
        try:
            return as_partial(_as_iso(text))
        except ValueError:
            raise ValidationError(
                _now("“%(text)s” is no date. Write 2026-03-14, or 2026-03 or 2026.")
                % {"text": text}
            ) from None


def _as_iso(text: str) -> str:
    """Turn day-first writing, as British and most other breeders do it, into ISO order."""
    parts = text.replace("/", ".").split(".")
    if len(parts) == 1 or not all(part.isdigit() for part in parts):
        return text
    return "-".join(part.zfill(2) for part in reversed(parts))
