"""A dose says whether it is exact, and if not, how far it may be off."""

import pytest

from genetics.models import Figure
from herdbook.pages.animals.dose import dose_bar
from herdbook.pages.common.formatting import chance, how_exact, likeliest_dose


def figure(method, error, dose1=0.9):
    rest = None if dose1 is None else (1 - dose1) / 2
    return Figure(method=method, error=error, dose0=rest, dose1=dose1, dose2=rest)


@pytest.mark.parametrize(
    ("made", "said", "short"),
    [
        (figure("exact", 0.0), "Exact", "clean marked 90%"),
        (
            Figure(method="exact", error=0.0, dose0=2e-20, dose1=1.0, dose2=1e-18),
            "Exact",
            "clean marked over 99.9%",
        ),
        (figure("refined", 0.004), "Refined, give or take 0.4%", "clean marked about 90%"),
        (figure("approximate", 0.02), "Approximate, give or take 2%", "clean marked about 90%"),
        (figure("tangled", None, None), "", "too complex to work out"),
        (None, "", ""),
    ],
)
def test_it_works(made, said, short):
    assert how_exact(made) == said
    assert likeliest_dose(made) == short


def test_the_bar_is_no_surer_than_the_words():
    bar = dose_bar(Figure(method="exact", error=0.0, dose0=2e-20, dose1=1.0, dose2=1e-18))
    assert [chance(part.chance) for part in bar] == ["under 0.1%", "over 99.9%", "under 0.1%"]


def test_the_animal_s_page_says_it(owner_client, cast):
    url = cast.rook.get_absolute_url()
    assert "Exact. One dose is needed" in owner_client.get(url).content.decode()
    Figure.objects.filter(animal=cast.rook).update(method="refined", error=0.013)
    assert "Refined, give or take 1%. One dose" in owner_client.get(url).content.decode()
