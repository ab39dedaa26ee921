"""Photos: shown to those who may see them, and kept while a form is put right."""

from pathlib import Path
from uuid import UUID

from django import forms
from django.contrib.auth.decorators import login_required
from django.http import FileResponse, Http404, HttpRequest
from django.urls import path
from django.utils.translation import gettext_lazy as _
from django.views.decorators.cache import cache_control
from django.views.decorators.http import require_safe

from herdbook.book.exceptions import RecordRefusedError
from herdbook.book.models import Herd, Photo
from herdbook.book.services.photos import keep_photo
from herdbook.book.services.unused_photos import clear_unused_photos

from .common.access import own_or_404
from .common.error_messages import PlainForm


class PhotoFields(PlainForm):
    """A photo to add, and the one that an earlier try of the same form has brought in already.

    A browser cannot fill a file in again, so a readable photo is kept at once and its id comes
    back with the form. The form sets ``herd`` before it is filled.
    """

    herd: Herd

    photo = forms.FileField(
        label=_("Photo"),
        required=False,
        widget=forms.FileInput(attrs={"accept": "image/jpeg,image/png,image/webp"}),
    )
    kept_photo = forms.UUIDField(
        required=False,
        widget=forms.HiddenInput,
        error_messages={"invalid": _("The earlier photo was not found. Choose it again.")},
    )
    no_photo = forms.BooleanField(label=_("Delete the photo"), required=False)

    def clean(self) -> dict:
        cleaned = super().clean()
        self.kept = self._earlier(cleaned.get("kept_photo"))
        if cleaned.get("photo"):
            try:
                clear_unused_photos(self.herd)
                self.kept = keep_photo(herd=self.herd, file=cleaned["photo"])
            except RecordRefusedError as refused:
                for finding in refused.findings:
                    self.add_error("photo", finding.message)
            else:
                self.data = self.data.copy()
                self.data[self.add_prefix("kept_photo")] = str(self.kept.public_id)
        return cleaned

    #: The photo that came with this form, now or at an earlier try.
    kept: Photo | None = None

    def _earlier(self, public_id: UUID | None) -> Photo | None:
        if public_id is None:
            return None
        return Photo.objects.filter(herd=self.herd, public_id=public_id).first()

    def photo_to_write(self, written: Photo | None) -> Photo | None:
        """The new photo, or none where it is to be taken off, or the one that is there."""
        if self.kept:
            return self.kept
        return None if self.cleaned_data["no_photo"] else written


@require_safe
@login_required
@cache_control(private=True, max_age=24 * 60 * 60, immutable=True)
def show_photo(request: HttpRequest, public_id: UUID) -> FileResponse:
    """The picture itself; its content never changes under one id."""
    photo = own_or_404(request, Photo.objects.all(), public_id)
    if not Path(photo.image.path).exists():
        raise Http404("The picture is not in the data folder.")
    return FileResponse(photo.image.open(), content_type="image/jpeg")


urls = [path("photos/<uuid:public_id>.jpg", show_photo, name="photo")]
