"""Where the pages of matings stand."""

from django.urls import path

from . import grid, lookup, ranking_weights

urls = [
    path("matings/", lookup.show_mating, name="mating"),
    path("matings/grid/", grid.show_grid, name="mating-grid"),
    path("matings/weights/", ranking_weights.KeepWeights.as_view(), name="ranking-weights"),
]
