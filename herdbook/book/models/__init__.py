"""What is written in the book, a file a noun."""

from .animal import Animal
from .history import Answer, Book, ChangeSet
from .litter import CandidateSire, Litter
from .look import Look
from .people import Herd, Membership, SignInKey, User
from .photo import Photo
from .weighing import Weighing

__all__ = [
    "Animal",
    "Answer",
    "Book",
    "CandidateSire",
    "ChangeSet",
    "Herd",
    "Litter",
    "Look",
    "Membership",
    "Photo",
    "SignInKey",
    "User",
    "Weighing",
]
