"""What is written in the book, a file a noun."""

from .animal import Animal
from .given_evidence import GivenEvidence
from .history import Answer, Book, ChangeSet
from .judgement import Judgement
from .limits import Limits
from .litter import CandidateSire, Litter
from .litter_count import CountedPup, LitterCount
from .look import Look
from .people import Herd, Membership, SignInKey, User
from .photo import Photo
from .ranking_weights import RankingWeights
from .weighing import Weighing

__all__ = [
    "Animal",
    "Answer",
    "Book",
    "CandidateSire",
    "CountedPup",
    "ChangeSet",
    "GivenEvidence",
    "Herd",
    "Judgement",
    "Limits",
    "Litter",
    "LitterCount",
    "Look",
    "Membership",
    "Photo",
    "RankingWeights",
    "SignInKey",
    "User",
    "Weighing",
]
