"""The site map, grouped by noun: each part of the site brings its own."""

from . import home, signing
from .animals.urls import urls as animals

urlpatterns: list = [
    *home.urls,
    *signing.urls,
    *animals,
]
