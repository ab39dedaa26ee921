"""A photograph, re-encoded so that it says nothing of where it was taken."""

from django.db import models

from .base import HerdRow


class Photo(HerdRow):
    """A picture kept under the data folder, named by its public id."""

    image = models.ImageField(upload_to="", width_field="width", height_field="height")
    width = models.PositiveIntegerField(editable=False)
    height = models.PositiveIntegerField(editable=False)
    taken_at = models.DateTimeField(auto_now_add=True)

    def __str__(self) -> str:
        return str(self.public_id)
