"""Where the page of matings stands."""

from django.urls import path

from . import page

urls = [path("matings/", page.show_mating, name="mating")]
