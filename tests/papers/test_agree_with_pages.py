"""An age or a chance is said in the same words on a page, in a list and on the sheet."""

from datetime import date, timedelta

from hypothesis import example, given
from hypothesis import strategies as st

from genetics.models import Figure
from herdbook.book.models import Animal, Litter, Look
from herdbook.book.partial_date import PartialDate
from herdbook.pages.common.formatting import age_of, coefficient, likeliest_dose
from herdbook.papers.build_sheet import _look_ground, _probably
from herdbook.papers.wording.dose import dose_short
from herdbook.papers.wording.sheet import inbreeding_figure

BORN = date(2024, 2, 29)


@given(st.integers(0, 3000), st.sampled_from(["day", "month", "year"]))
@example(127, "day")  # four months, of which the sheet made 18 weeks
def test_an_age_is_the_same(days, precision):
    parts = {"day": (2024, 2, 29), "month": (2024, 2), "year": (2024,)}[precision]
    animal = Animal(litter=Litter(born=PartialDate(*parts)))
    day = BORN + timedelta(days=days)

    assert _look_ground(animal, Look(stage="full", on=day)).age == age_of(animal, day)


@given(st.floats(0, 1))
@example(1 / 16)  # 6.25%, of which the page made 6.3%
def test_inbreeding_is_the_same(share):
    assert inbreeding_figure(share, 1) == coefficient(share)


@given(
    st.lists(st.floats(0, 1), min_size=3, max_size=3).filter(lambda shares: sum(shares) > 0),
    st.sampled_from([None, 0.03]),
)
@example([0.0, 0.786, 0.214], None)  # 79% on the page, of which the sheet made 78 per cent
@example([0.0, 1 - 2**-53, 2**-54], None)
def test_a_chance_is_the_same(shares, error):
    none, one, two = (share / sum(shares) for share in shares)
    figure = Figure(method="exact", dose0=none, dose1=one, dose2=two, error=error)

    on_the_page = likeliest_dose(figure).removeprefix("self ").removeprefix("clean marked ")
    on_the_sheet = dose_short(_probably(figure)).split(", ")[-1]

    assert on_the_sheet == on_the_page.removeprefix("overmarked ")
