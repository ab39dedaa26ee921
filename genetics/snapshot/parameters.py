"""The parameters that every figure is made with: the one place that says which are in force.

They are those of the common-practice table until a breeder uses what the book has taught.
"""

from __future__ import annotations

from dataclasses import dataclass

from genetics.core.estimation.ecm import STANDING
from genetics.core.estimation.likelihood import Parameters
from genetics.core.penetrance.onset_parameters import CURVES
from genetics.models import Fit, FitUse

# Share of the points allele among founders of whom nothing is said: an assumption of the trade's
# kind (common practice, no source) until a herd's own book says better.
FREQUENCY = 0.25

TABLE = Parameters(FREQUENCY, CURVES)


@dataclass(frozen=True)
class CurrentParameters:
    """The parameters in force and the key of the fit that they are from, None for the table."""

    parameters: Parameters = TABLE
    fit: int | None = None


def current_parameters() -> CurrentParameters:
    """What figures are to be made with now."""
    use = FitUse.objects.select_related("fit").first()
    if use is None or use.fit is None or not _fits_the_table(use.fit):
        return CurrentParameters()
    return CurrentParameters(parameters_of(use.fit), use.fit.pk)


def parameters_of(fit: Fit) -> Parameters:
    """The parameters that a fit came to, with the table's spreads where it has none."""
    return Parameters(fit.frequency, CURVES.with_ages(fit.medians, STANDING, fit.spreads or None))


def _fits_the_table(fit: Fit) -> bool:
    """A fit of another version's milestones cannot be used."""
    many = len(CURVES.milestones)
    return len(fit.medians) == many and len(fit.spreads) in (0, many)
