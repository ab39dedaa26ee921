"""Where the pages of the season's plan stand."""

from django.urls import path

from . import plan

urls = [
    path("season/", plan.ask, name="season"),
    path("season/<uuid:public_id>/", plan.show_plan, name="season-plan"),
]
