"""Where the pages of help stand."""

from django.urls import path

from . import views

urls = [
    path("help/", views.show_contents, name="help"),
    path("help/glossary/", views.show_glossary, name="glossary"),
    path("help/search/", views.search_help, name="search-help"),
    path("help/<path:path>/", views.show_page, name="help-page"),
]
