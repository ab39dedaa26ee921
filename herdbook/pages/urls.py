"""The site map, grouped by noun: each part of the site brings its own."""

from . import jobs, photos, sign_in, spreadsheet_import
from .ahead.urls import urls as ahead
from .animals.urls import urls as animals
from .help.urls import urls as help_pages
from .herd import details, founders, home, limits
from .litters.urls import urls as litters
from .matings.urls import urls as matings
from .observations.urls import urls as observations
from .records import calibration, parameter_fits, segregation, suspect_records
from .season.urls import urls as season

urlpatterns: list = [
    *home.urls,
    *details.urls,
    *limits.urls,
    *suspect_records.urls,
    *calibration.urls,
    *segregation.urls,
    *parameter_fits.urls,
    *sign_in.urls,
    *photos.urls,
    *spreadsheet_import.urls,
    *jobs.urls,
    *founders.urls,
    *animals,
    *litters,
    *matings,
    *ahead,
    *observations,
    *season,
    *help_pages,
]
