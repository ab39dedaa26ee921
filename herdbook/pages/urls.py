"""The site map, grouped by noun: each part of the site brings its own."""

from . import home, signing

urlpatterns: list = [
    *home.urls,
    *signing.urls,
]
