"""How many examples hypothesis draws: all in the whole suite, a quarter in `test --quick`."""

from hypothesis import settings

QUICK = "quick"  # the profile's name
FEWEST = 10


def examples(number: int) -> int:
    """As many as this test wants, or a quarter of them under the profile for daily work."""
    if settings.get_current_profile_name() != QUICK:
        return number
    return min(number, max(FEWEST, number // 4))
