"""Addresses of looking ahead."""

from django.urls import path

from .projection import ask_ahead, show_ahead

urls = [
    path("ahead/", ask_ahead, name="ahead"),
    path("ahead/<uuid:public_id>/", show_ahead, name="look-ahead"),
]
