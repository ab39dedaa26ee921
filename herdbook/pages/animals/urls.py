"""Where the pages of animals stand."""

from django.urls import path

from . import find, listing, page, reasons, sheet, suggesting, writing

urls = [
    path("animals/", listing.list_animals, name="animals"),
    path("animals/find/", find.find_animal, name="find-animal"),
    path("animals/suggestions/", suggesting.suggest_animals, name="suggest-animals"),
    path("animals/new/", writing.RecordAnimal.as_view(), name="record-animal"),
    path("animals/<uuid:public_id>/", page.show_animal, name="animal"),
    path(
        "animals/<uuid:public_id>/correct/", writing.CorrectAnimal.as_view(), name="correct-animal"
    ),
    path("animals/<uuid:public_id>/move/", writing.MoveAnimal.as_view(), name="move-animal"),
    path("animals/<uuid:public_id>/reasons/", reasons.show_reasons, name="animal-reasons"),
    path("animals/<uuid:public_id>/changes/", page.show_changes, name="animal-changes"),
    path("animals/<uuid:public_id>/sheet/", sheet.show_sheet, name="animal-sheet"),
    path("animals/<uuid:public_id>/sheet.pdf", sheet.show_sheet_pdf, name="animal-sheet-pdf"),
]
