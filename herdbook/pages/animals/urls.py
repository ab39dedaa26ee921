"""Where the pages of animals stand."""

from django.urls import path

from . import autocomplete, detail, edit, find, list, reasons, sheet

urls = [
    path("animals/", list.list_animals, name="animals"),
    path("animals/find/", find.find_animal, name="find-animal"),
    path("animals/suggestions/", autocomplete.suggest_animals, name="suggest-animals"),
    path("animals/new/", edit.RecordAnimal.as_view(), name="record-animal"),
    path("animals/<uuid:public_id>/", detail.show_animal, name="animal"),
    path("animals/<uuid:public_id>/correct/", edit.CorrectAnimal.as_view(), name="correct-animal"),
    path("animals/<uuid:public_id>/move/", edit.MoveAnimal.as_view(), name="move-animal"),
    path("animals/<uuid:public_id>/reasons/", reasons.show_reasons, name="animal-reasons"),
    path("animals/<uuid:public_id>/changes/", detail.show_changes, name="animal-changes"),
    path("animals/<uuid:public_id>/sheet/", sheet.show_sheet, name="animal-sheet"),
    path("animals/<uuid:public_id>/sheet.pdf", sheet.show_sheet_pdf, name="animal-sheet-pdf"),
]
