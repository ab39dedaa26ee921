"""Where the pages of weighings and looks stand."""

from django.urls import path

from . import looks, weighings

urls = [
    path("animals/<uuid:public_id>/weighings/new/", weighings.record, name="record-weighing"),
    path("weighings/<uuid:public_id>/correct/", weighings.correct, name="correct-weighing"),
    path("weighings/<uuid:public_id>/remove/", weighings.remove, name="remove-weighing"),
    path("animals/<uuid:public_id>/looks/new/", looks.record, name="record-look"),
    path("looks/<uuid:public_id>/correct/", looks.correct, name="correct-look"),
    path("looks/<uuid:public_id>/remove/", looks.remove, name="remove-look"),
]
