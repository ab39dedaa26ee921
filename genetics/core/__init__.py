"""The genetics of a herd on plain arrays: what pages and files may use of it.

Animals are numbered from 0; -1 stands for an unknown parent and NaN for an unknown figure, never a
zero. Nothing in here knows of a database or of a web page. These names are the public interface;
the modules below it may change.
"""

from genetics.core.decisions.waiting import Weeks, when_to_stop
from genetics.core.estimation.calibration import Band
from genetics.core.estimation.likelihood import Parameters
from genetics.core.estimation.segregation_test import Fit
from genetics.core.exceptions import GeneticsError, InconsistentEvidenceError, PedigreeError
from genetics.core.inheritance.loci import genes
from genetics.core.numerics.kernels import installed as compiler_installed
from genetics.core.pedigree.litter import Litter
from genetics.core.pedigree.pedigree import Pedigree
from genetics.core.penetrance.likelihood import MISJUDGED, MIXED_UP, observation_likelihood
from genetics.core.penetrance.observation import STAGES, Observation
from genetics.core.penetrance.onset_parameters import Milestone
from genetics.core.posterior.dose import dose_posterior
from genetics.core.posterior.result import Dose, IntractableFamily
from genetics.core.relatedness.kinship import inbreeding, kinship_between

__all__ = [
    "MISJUDGED",
    "MIXED_UP",
    "STAGES",
    "Band",
    "Dose",
    "Fit",
    "GeneticsError",
    "InconsistentEvidenceError",
    "IntractableFamily",
    "Litter",
    "Milestone",
    "Observation",
    "Parameters",
    "Pedigree",
    "PedigreeError",
    "Weeks",
    "compiler_installed",
    "dose_posterior",
    "genes",
    "inbreeding",
    "kinship_between",
    "observation_likelihood",
    "when_to_stop",
]
