"""One animal's page."""

import html
import re

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from genetics.figures.refresh import Freshness
from genetics.models import Figure, Job
from herdbook.book.partial_date import PartialDate
from herdbook.pages.animals.weights import BOTTOM, HIGH, LEFT, RIGHT, WIDE, plot_weights, weights_of
from herdbook.pages.common.formatting import chance
from herdbook.pages.litters.pups import usual_coat
from tests.factories import AnimalFactory, LitterFactory, LookFactory, WeighingFactory

pytestmark = pytest.mark.usefixtures("today")


def source(client, animal, **asked):
    return client.get(animal.get_absolute_url(), asked).content.decode()


def text(client, animal, **asked):
    plain = re.sub(r"<[^>]+>", " ", source(client, animal, **asked))
    return re.sub(r"\s+([,.):])", r"\1", html.unescape(re.sub(r"\s+", " ", plain)))


def section(page, name):
    """The text of one panel."""
    return page.split(name, 1)[1]


def test_it_works(owner_client, cast):
    page = text(owner_client, cast.rook)
    assert "Thornmoor Rook Boar, No. 5, white, 8 months old. In the herd." in page
    assert "Born 14 March 2026" in page
    assert "Dam Thornmoor Wren (2)" in page
    assert "Sire Thornmoor Bramble (1)" in page
    assert "Littermates Thornmoor Sorrel (6) sow" in page


def test_a_litter_is_asked_for_of_a_sow_old_enough_to_have_one(owner_client, cast):
    asks = "New litter Try a mating"
    assert asks in text(owner_client, cast.sorrel)
    assert asks not in text(owner_client, cast.rook)
    # The youngest that a sow conceives at and the shortest that she carries, with a day to spare
    for day, old_enough in ((PartialDate(2026, 8, 26), False), (PartialDate(2026, 8, 24), True)):
        litter = LitterFactory(herd=cast.herd, dam=cast.wren, boars=[cast.bramble], born=day)
        pup = AnimalFactory(herd=cast.herd, litter=litter, sex="sow")
        page = text(owner_client, pup)
        assert (asks in page) == old_enough
        assert "Try a mating" in page


@pytest.mark.parametrize(
    ("born", "said"),
    [
        (PartialDate(2026, 3), "Born March 2026 (day not known)"),
        (PartialDate(2025), "Born 2025 (month not known)"),
        (None, "Born not known"),
    ],
)
def test_a_birth_says_how_well_it_is_known(born, said, owner_client, cast):
    litter = LitterFactory(herd=cast.herd, born=born, source="paper")
    assert said in text(owner_client, AnimalFactory(herd=cast.herd, litter=litter))


@pytest.mark.parametrize(
    ("born", "sex", "offered"),
    [
        (None, "sow", True),
        (PartialDate(2026, 3, 14), "sow", True),
        (PartialDate(2026, 11, 1), "sow", False),
        (None, "boar", False),
    ],
)
def test_a_litter_is_offered_of_a_sow_that_may_have_littered(
    born, sex, offered, owner_client, cast
):
    litter = LitterFactory(herd=cast.herd, born=born, source="paper")
    animal = AnimalFactory(herd=cast.herd, litter=litter, sex=sex)
    address = f"{reverse('record-litter')}?dam={animal.public_id}"
    assert (address in source(owner_client, animal)) is offered


def test_what_is_written_of_it_is_shown_as_text(owner_client, cast):
    wild = '<i>x</i> & "y"\nsecond'
    columns = ("breeder", "owner", "came_from", "went_to", "type_notes", "remarks", "tag", "name")
    animal = AnimalFactory(
        herd=cast.herd,
        state="sold",
        left_on=PartialDate(2026, 10),
        told_apart="tag",
        sureness="fairly",
        told_apart_note=wild,
        **dict.fromkeys(columns, wild),
    )
    page = source(owner_client, animal)
    assert "<i>x" not in page
    assert page.count("&lt;i&gt;x&lt;/i&gt; &amp; &quot;y&quot;") >= len(columns)
    assert "Sold October 2026." in text(owner_client, animal)
    assert "(fairly sure)" in page


def test_the_dose_is_said_in_numbers(owner_client, cast):
    page = text(owner_client, cast.rook)
    cast.rook.refresh_from_db()
    none, one, two = cast.rook.figure.chances
    assert one > 0.9 > none + two
    assert f"Clean marked (one dose) {one * 100:.0f}%" in page
    assert "showable" not in page
    bar = re.findall(
        r'<rect class="dose(\d)" x="([\d.]+)" y="0" width="([\d.]+)"',
        source(owner_client, cast.rook),
    )
    widths = {int(dose): float(wide) for dose, _start, wide in bar}
    assert widths[1] == pytest.approx(300 * one, abs=0.06)
    assert sum(widths.values()) == pytest.approx(300, abs=0.2)


@pytest.mark.parametrize(
    ("method", "said"),
    [
        ("tangled", "This family is too complex"),
        ("impossible", "The records of this family contradict each other"),
    ],
)
def test_without_a_figure_none_is_made_up(method, said, owner_client, cast):
    text(owner_client, cast.rook)
    Figure.objects.filter(animal=cast.rook).update(
        method=method, dose0=None, dose1=None, dose2=None
    )
    page = text(owner_client, cast.rook)
    assert said in page
    assert "Self (no dose)" not in page


def test_before_any_calculation_the_page_says_so(owner_client, cast, monkeypatch):
    old = Freshness(fresh=False, revision=0, job=Job.objects.create(kind="reckon the book"))
    monkeypatch.setattr("herdbook.pages.animals.detail.ensure_current", lambda: old)
    page = text(owner_client, cast.rook)
    assert "Not worked out yet." in page
    assert "Doses and inbreeding are being recalculated;" in page


def test_inbreeding_says_how_much_is_known(owner_client, cast):
    litter = LitterFactory(
        herd=cast.herd, dam=cast.sorrel, boars=[cast.rook], born=PartialDate(2026, 11, 1)
    )
    page = text(owner_client, AnimalFactory(herd=cast.herd, litter=litter))
    # Full sibs mated: a quarter.
    assert "25%. Pedigree complete for 2 generations; " in page
    assert "Can't be worked out: no ancestors recorded." in text(owner_client, cast.wren)


def test_several_possible_sires_stand_with_their_shares(owner_client, cast):
    litter = LitterFactory(
        herd=cast.herd, dam=cast.tansy, boars=[cast.bramble, cast.flint], born=PartialDate(2026, 8)
    )
    litter.sires.filter(boar=cast.bramble).update(weight=3)
    pup = AnimalFactory(herd=cast.herd, litter=litter)
    page = text(owner_client, pup)
    assert re.search(r"Possible sires Thornmoor Bramble \(1\) \d+% from all records, 75% as", page)
    assert re.search(r"Thornmoor Flint \(4\) \d+% from all records, 25% as entered", page)
    assert "August 2026 (possible sire) with Thornmoor Tansy (3)" in text(owner_client, cast.flint)


def test_its_litters_are_counted_from_its_side(owner_client, cast):
    for parent, mate in ((cast.wren, "Bramble (1)"), (cast.bramble, "Wren (2)")):
        page = text(owner_client, parent)
        assert f"14 March 2026 with Thornmoor {mate} 2 pups: 1 boar, 1 sow" in page
    assert "(possible sire)" not in text(owner_client, cast.bramble)


def test_looks_stand_the_latest_first(owner_client, cast):
    LookFactory(animal=cast.rook, on="2026-05-09", stage="coming", smut="faint", warmth="cold")
    LookFactory(animal=cast.rook, on="2026-08-20", stage="full")
    page = text(owner_client, cast.rook)
    assert "Full 20 Aug 2026, 5 months" in page
    assert "Coming 9 May 2026, 8 weeks smut faint, cold weather" in page
    assert page.index("Full 20 Aug") < page.index("Coming 9 May")


def test_weights_stand_in_a_plot_and_a_table(owner_client, cast):
    cast.rook.birth_weight_g = 98
    cast.rook.save()
    WeighingFactory(animal=cast.rook, on="2026-04-04", weight_g=260)
    WeighingFactory(animal=cast.rook, on="2026-08-14", weight_g=905)
    page = text(owner_client, cast.rook)
    for line in ("14 Aug 2026 5 months 905 g", "4 Apr 2026 3 weeks 260 g", "14 Mar 2026 at birth"):
        assert line in page
    assert source(owner_client, cast.rook).count("<circle cx=") >= 3
    cast.rook.refresh_from_db()
    plot = plot_weights(weights_of(cast.rook))
    assert [point.x for point in plot.points] == pytest.approx(
        [LEFT, LEFT + (WIDE - RIGHT - LEFT) * 21 / 153, WIDE - RIGHT]
    )
    # 905 g under a top of 1000.
    assert plot.points[-1].y == pytest.approx(HIGH - BOTTOM - (HIGH - BOTTOM - plot.top) * 0.905)
    assert [tick.words for tick in plot.grams] == ["0", "200", "400", "600", "800", "1000"]


def test_one_weighing_makes_no_line(cast):
    WeighingFactory(animal=cast.rook, on="2026-04-04", weight_g=260)
    assert plot_weights(weights_of(cast.rook)) is None
    WeighingFactory(animal=cast.rook, on="2026-04-04", weight_g=262)
    assert plot_weights(weights_of(cast.rook)) is None


@pytest.mark.parametrize(
    ("asked", "boxes"), [("3", 15), ("4", 31), ("5", 63), ("9", 15), ("x", 15)]
)
def test_ancestors_are_drawn_to_the_generation_asked(asked, boxes, owner_client, cast):
    page = source(owner_client, cast.rook, generations=asked)
    chart = page.split('class="scroll chart broad"')[1].split("</svg>")[0]
    for animal in (cast.wren, cast.bramble):
        assert animal.get_absolute_url() in chart
    shown = text(owner_client, cast.rook, generations=asked)
    assert chart.count("Unknown ") >= boxes - 3
    assert "mating of relatives" not in shown


def test_the_likelier_of_two_sires_stands_first_in_the_chart(owner_client, cast):
    litter = LitterFactory(
        herd=cast.herd, dam=cast.tansy, boars=[cast.bramble, cast.flint], born=PartialDate(2026, 8)
    )
    litter.sires.filter(boar=cast.flint).update(weight=3)
    page = source(owner_client, AnimalFactory(herd=cast.herd, litter=litter))
    chart = page.split('class="scroll chart broad"')[1].split("</svg>")[0]
    shares = dict(litter.sire_shares.values_list("boar__name", "share"))
    assert shares["Flint"] > shares["Bramble"]
    told = re.sub(r"\s+", " ", re.sub(r"<title>.*?</title>|<[^>]+>", " ", chart, flags=re.DOTALL))
    first, second = (chance(shares[name]) for name in ("Flint", "Bramble"))
    assert re.search(rf"Thornmoor Flint or Thornmoor Bram\S* {first}, {second}", told)


def test_without_a_known_parent_there_is_no_chart(owner_client, cast):
    assert "No parents recorded." in text(owner_client, cast.wren)
    assert 'class="scroll chart"' not in source(owner_client, cast.wren)


@pytest.mark.parametrize(
    ("values", "offered"),
    [
        ({}, True),
        ({"state": "on_loan"}, True),
        ({"state": "died"}, False),
        ({"state": "sold"}, False),
        ({"sex": "boar"}, False),
    ],
)
def test_a_sow_here_is_one_tap_from_her_new_litter(values, offered, owner_client, cast):
    sow = AnimalFactory(herd=cast.herd, **{"sex": "sow", **values})
    assert (f"/litters/new/?dam={sow.public_id}" in source(owner_client, sow)) is offered


def test_it_asks_the_database_as_often_for_many_pups_and_weighings(owner_client, cast):
    def asked():
        owner_client.get(cast.wren.get_absolute_url())
        with CaptureQueriesContext(connection) as queries:
            owner_client.get(cast.wren.get_absolute_url())
        return len(queries)

    few = asked()
    for month in (1, 5, 9):
        litter = LitterFactory(
            herd=cast.herd, dam=cast.wren, boars=[cast.bramble], born=PartialDate(2025, month, 1)
        )
        AnimalFactory.create_batch(5, herd=cast.herd, litter=litter)
        WeighingFactory(animal=cast.wren, on=f"2026-0{month}-01", weight_g=900)
        LookFactory(animal=cast.wren, on=f"2026-0{month}-01", stage="none")
    assert asked() == few


def test_a_lethal_white_is_told_of_with_who_decides(owner_client, cast):
    pup = AnimalFactory(herd=cast.herd, litter=cast.march_litter, coat="lethal")
    page = text(owner_client, pup)
    assert "Body colour lethal white: white all over, small eyes" in page
    assert "Both its parents carry roan, even if white hides it" in page
    assert "Ask a vet at once how to keep such a pup from suffering." in page
    assert "lethal white" not in text(owner_client, cast.rook)


def test_a_lethal_white_is_no_start_for_the_next_pup(cast):
    AnimalFactory(herd=cast.herd, litter=cast.march_litter, coat="cream")
    AnimalFactory(herd=cast.herd, litter=cast.march_litter, coat="lethal")
    assert usual_coat(cast.herd, cast.wren) == "cream"
