"""The site map, grouped by noun: each part of the site brings its own."""

from . import (
    as_expected,
    came_true,
    doubts,
    herd,
    home,
    jobs,
    limits,
    lines,
    photos,
    signing,
    take_in,
    taught,
)
from .ahead.urls import urls as ahead
from .animals.urls import urls as animals
from .help.urls import urls as help_pages
from .litters.urls import urls as litters
from .matings.urls import urls as matings
from .observations.urls import urls as observations
from .season.urls import urls as season

urlpatterns: list = [
    *home.urls,
    *herd.urls,
    *limits.urls,
    *doubts.urls,
    *came_true.urls,
    *as_expected.urls,
    *taught.urls,
    *signing.urls,
    *photos.urls,
    *take_in.urls,
    *jobs.urls,
    *lines.urls,
    *animals,
    *litters,
    *matings,
    *ahead,
    *observations,
    *season,
    *help_pages,
]
