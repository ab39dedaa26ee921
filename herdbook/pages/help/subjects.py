"""Which page of the handbook explains a page of the site: where 'Help' in the bar leads."""

from .handbook import CONTENTS, address_of

#: Pages of the handbook, each with the names of the pages that it explains.
SUBJECTS = {
    "using/first-litter": ("home", "record-litter", "add-pups"),
    "using/animals": (
        "animals",
        "animal",
        "record-animal",
        "correct-animal",
        "move-animal",
        "animal-changes",
        "record-weighing",
        "correct-weighing",
        "remove-weighing",
        "record-judgement",
        "correct-judgement",
        "remove-judgement",
    ),
    "using/litters": (
        "litters",
        "litter",
        "correct-litter",
        "weigh-litter",
        "look-at-litter",
        "exchange-records",
        "count-litter",
        "correct-count",
        "remove-count",
        "record-look",
        "correct-look",
        "remove-look",
    ),
    "using/matings": ("mating", "mating-grid", "ranking-weights", "season", "season-plan"),
    "using/founders-and-future": ("lines", "ahead", "look-ahead"),
    "using/records": ("doubts", "as-expected", "taught", "came-true"),
    "using/spreadsheets": ("take-in",),
    "using/herd": ("herd", "limits"),
    "methods/reasons": ("animal-reasons",),
}
_EXPLAINED_BY = {name: path for path, names in SUBJECTS.items() for name in names}


def help_address(page: str) -> str:
    """Where the page of this name is explained; the contents for one that is not."""
    return address_of(_EXPLAINED_BY.get(page, CONTENTS))
