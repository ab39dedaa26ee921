"""How an animal is identified among its littermates, while that is a question."""

from datetime import date

from herdbook.book.models import Animal
from herdbook.book.models.base import Sureness

# Littermates look alike for weeks; by five months nobody waits for a mark (common practice, no
# source).
GROWN_FROM_DAYS = 150


def told_apart(animal: Animal, today: date) -> str:
    """'tag: left ear', 'not yet', or the keeper's own note alone; '' where it needs no word.

    'not yet' is said of a pup, or where the keeper doubts which animal it is.
    """
    if animal.told_apart:
        parts = (animal.get_told_apart_display(), animal.told_apart_note)
        return ": ".join(str(part) for part in parts if part)
    age = animal.age_days(today)
    is_pup = age is not None and age < GROWN_FROM_DAYS
    in_doubt = animal.sureness != Sureness.SURE
    unwritten = animal.get_told_apart_display() if is_pup or in_doubt else ""
    return animal.told_apart_note or str(unwritten)
