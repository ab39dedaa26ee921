"""Where the pages of help stand."""

from django.urls import path

from . import views

urls = [
    path("help/glossary/", views.show_glossary, name="glossary"),
]
