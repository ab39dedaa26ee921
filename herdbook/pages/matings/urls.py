"""Where the pages of matings stand."""

from django.urls import path

from . import grid, page, weighing

urls = [
    path("matings/", page.show_mating, name="mating"),
    path("matings/grid/", grid.show_grid, name="mating-grid"),
    path("matings/weights/", weighing.KeepWeights.as_view(), name="ranking-weights"),
]
