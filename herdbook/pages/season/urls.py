"""Where the pages of the season's plan stand."""

from django.urls import path

from . import page

urls = [
    path("season/", page.ask, name="season"),
    path("season/<uuid:public_id>/", page.show_plan, name="season-plan"),
]
