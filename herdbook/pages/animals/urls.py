"""Where the pages of animals stand."""

from django.urls import path

from . import listing, page, suggesting, writing

urls = [
    path("animals/", listing.list_animals, name="animals"),
    path("animals/suggestions/", suggesting.suggest_animals, name="suggest-animals"),
    path("animals/new/", writing.record, name="record-animal"),
    path("animals/<uuid:public_id>/", page.show_animal, name="animal"),
    path("animals/<uuid:public_id>/correct/", writing.correct, name="correct-animal"),
    path("animals/<uuid:public_id>/move/", writing.move, name="move-animal"),
    path("animals/<uuid:public_id>/changes/", page.show_changes, name="animal-changes"),
]
