"""One way to fold text, so that a search finds 'Élan' by 'elan' on every database."""

import unicodedata


def fold(*texts: str) -> str:
    """Join texts, drop case and accents, and squeeze white space."""
    joined = unicodedata.normalize("NFKD", " ".join(texts).casefold())
    plain = "".join(letter for letter in joined if not unicodedata.combining(letter))
    return " ".join(plain.split())
