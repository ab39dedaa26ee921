"""Where the pages of weighings, judgements and looks stand."""

from django.urls import path

from . import judgements, looks, weighings

urls = [
    path("animals/<uuid:public_id>/weighings/new/", weighings.record, name="record-weighing"),
    path("weighings/<uuid:public_id>/correct/", weighings.correct, name="correct-weighing"),
    path("weighings/<uuid:public_id>/remove/", weighings.remove, name="remove-weighing"),
    path("animals/<uuid:public_id>/judgements/new/", judgements.record, name="record-judgement"),
    path("judgements/<uuid:public_id>/correct/", judgements.correct, name="correct-judgement"),
    path("judgements/<uuid:public_id>/remove/", judgements.remove, name="remove-judgement"),
    path("animals/<uuid:public_id>/looks/new/", looks.record, name="record-look"),
    path("looks/<uuid:public_id>/correct/", looks.correct, name="correct-look"),
    path("looks/<uuid:public_id>/remove/", looks.remove, name="remove-look"),
]
