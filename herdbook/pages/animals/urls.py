"""Where the pages of animals stand."""

from django.urls import path

from .suggesting import suggest_animals

urls = [
    path("animals/suggestions/", suggest_animals, name="suggest-animals"),
]
