"""The grid of all pairs, how pairs are ranked, and why the best are the best."""

import re
from decimal import Decimal

import pytest

from herdbook.book.models import Animal, GivenEvidence, Litter, RankingWeights
from herdbook.book.partial_date import PartialDate
from tests.factories import AnimalFactory, LitterFactory

GRID, PAIR = "/matings/grid/", "/matings/"


@pytest.fixture(autouse=True)
def _day(today):
    """It is the day of the cast."""


@pytest.fixture
def two_boars(cast):
    """Alder has two doses and stands alone; Rook is brother to Sorrel and a self."""
    alder = AnimalFactory(herd=cast.herd, sex="boar", name="Alder", number="90")
    for animal, dose in ((alder, 2), (cast.rook, 0), (cast.sorrel, 0)):
        share = {f"like{number}": float(number == dose) for number in range(3)}
        GivenEvidence.objects.create(herd=cast.herd, animal=animal, **share)
    return alder, cast.rook


def content(client, address=GRID, **asked):
    response = client.get(address, asked)
    assert response.status_code == 200
    return response.content.decode()


def text(client, address=GRID, **asked):
    return re.sub(r"(<[^>]+>|\s)+", " ", content(client, address, **asked))


def test_it_works(owner_client, cast, two_boars):
    page = text(owner_client)
    for name in ("Wren", "Tansy", "Sorrel", "Bramble", "Rook", "Alder"):
        assert f"Thornmoor {name}" in page
    assert "Flint" not in page, "he is on loan"
    assert "Litters would be due 23 January 2027 to 23 February 2027." in page
    # 2.3 of a litter alive, all of one dose; half good enough, 7 per cent lost
    assert "1.1 showable pups" in page
    cell = content(owner_client).split(f"boar={two_boars[1].public_id}")
    assert any("25%" in part.split("</td>")[0] for part in cell)


def test_each_cell_leads_to_its_pair_with_the_days(owner_client, cast):
    page = content(owner_client, boar_in="2026-12-01")
    assert (
        f"?sow={cast.wren.public_id}&amp;boar={cast.bramble.public_id}&amp;boar_in=2026-12-01"
        in page
    )


def rested(cast, *sows):
    """Each littered long enough ago to be mated again."""
    for sow in sows:
        LitterFactory(herd=cast.herd, dam=sow, born=PartialDate(2026, 8, 1), source="home")


def test_the_best_three_say_why(owner_client, cast, two_boars):
    rested(cast, cast.sorrel)
    page = text(owner_client, PAIR, sow="Sorrel")
    best = page.split("Best pairs")[1].split("Good enough to show:")[0]
    assert best.index("Thornmoor Alder") < best.index("Thornmoor Rook")
    assert "(highest)" in best
    assert "no inbreeding in the recorded pedigree" in best
    assert "25% inbreeding" in best
    assert "1 caution: very close relatives" in best
    assert "pedigree incomplete" in best


def test_none_of_a_sow_that_might_be_hurt_is_put_forward(owner_client, cast, two_boars):
    """Sorrel is eight months old and has not littered."""
    page = text(owner_client, PAIR, sow="Sorrel")
    assert (
        "No pair is recommended. 3 pairs are put last because they could harm the sow or pups: "
        "late for a first litter (3)." in page
    )
    assert "showable pups (highest)" not in page


def test_roan_to_roan_is_kept_out_of_the_best(owner_client, cast, two_boars):
    rested(cast, cast.wren)
    Animal.objects.filter(pk__in=[cast.wren.pk, two_boars[0].pk]).update(
        coat="red", coat_type="roan"
    )
    for page in (text(owner_client, PAIR, sow="Wren"), text(owner_client)):
        best, rest = page.split("Best pairs")[1].split("Pedigree known", 1)
        assert "Thornmoor Alder:" not in best
        assert "Thornmoor Wren to Thornmoor Alder:" not in best
        assert "Only 1 pair is recommended." in best, "Rook, her son, may be roan too"
        assert "lethal whites (" in best
        assert "A vet decides." in best
        assert "put last: roan to roan, lethal whites" in rest


def test_a_pair_that_stands_last_is_white_in_the_grid_and_marked(owner_client, cast):
    rested(cast, cast.wren)
    cells = re.findall(r'<td class="shade(\d)">.*?</td>', content(owner_client), re.DOTALL)
    marked = re.findall(
        r'<td class="shade(\d)">(?:(?!</td>).)*!!\d', content(owner_client), re.DOTALL
    )
    assert set(marked) == {"0"}
    assert len(marked) == 4, "Tansy and Sorrel have not littered in time"
    assert "3" in cells
    assert len(marked) == cells.count("0"), "and no other is white"


def test_how_far_back_each_is_known_stands_in_the_list(owner_client, cast):
    page = content(owner_client, PAIR, sow="Tansy", sort="-known")
    names = re.findall(r'<th scope="row"[^>]*><a href="[^"]*">Thornmoor (\w+)', page)
    assert names[0] == "Rook", "of the others no parent is known"
    assert "1 gen, 3%" in page
    assert "0 gens, 0%" in page


def test_weights_in_the_address_re_rank(owner_client, cast):
    # Bramble is Sorrel's sire and has two doses; Alder is a stranger of one
    alder = AnimalFactory(herd=cast.herd, sex="boar", name="Alder")
    Animal.objects.filter(sex="boar").exclude(pk__in=[alder.pk, cast.bramble.pk]).delete()
    for animal, dose in ((alder, 1), (cast.bramble, 2), (cast.sorrel, 0)):
        share = {f"like{number}": float(number == dose) for number in range(3)}
        GivenEvidence.objects.create(herd=cast.herd, animal=animal, **share)

    def order(per_inbreeding):
        asked = {"per_inbreeding": per_inbreeding, "per_kinship": "0", "per_caution": "0"}
        page = content(owner_client, PAIR, sow="Sorrel", **asked)
        return re.findall(r'<th scope="row"[^>]*><a href="[^"]*">Thornmoor (\w+)', page)

    assert order("0") == ["Bramble", "Alder"]
    assert order("5") == ["Alder", "Bramble"]


def test_a_weight_that_is_no_number_is_told_and_those_kept_are_used(owner_client, cast):
    page = text(owner_client, per_inbreeding="lots", per_kinship="0", per_caution="0")
    assert "Each weight must be a number from 0 to 10." in page
    assert "This must be a number." in page
    assert "Save these weights" not in page


def test_the_weights_say_what_they_rest_on(owner_client, cast):
    for page in (text(owner_client), text(owner_client, PAIR, sow="Wren")):
        assert "for each of these (common practice, no source: set your own)." in page


def test_weights_are_kept(owner_client, cast):
    asked = {"per_inbreeding": "2", "per_kinship": "1", "per_caution": "0.1"}
    response = owner_client.get(GRID, asked)
    keep = response.context["weights_form"].to_keep
    sent = {name: keep[name].value() for name in keep.fields}
    answer = owner_client.post("/matings/weights/", sent | {"next": f"{GRID}?per_inbreeding=2"})
    assert (answer.status_code, answer["Location"]) == (302, f"{GRID}?per_inbreeding=2")
    kept = RankingWeights.of(cast.herd)
    assert (kept.per_inbreeding, kept.per_kinship, kept.per_caution) == (2, 1, Decimal("0.1"))
    assert kept.history.get().history_user == cast.owner
    assert owner_client.get(GRID).context["weights_form"]["per_inbreeding"].value() == "2"
    assert "Save these weights" not in text(owner_client)


@pytest.mark.parametrize(
    "away", ["https://elsewhere.example/", "//elsewhere.example", "/animals/", ""]
)
def test_keeping_leads_back_to_a_ranking_and_nowhere_else(owner_client, cast, away):
    form = owner_client.get("/matings/weights/").context["form"]
    sent = {name: form[name].value() for name in form.fields}
    assert owner_client.post("/matings/weights/", sent | {"next": away})["Location"] == GRID


def test_it_refuses_weights_that_cannot_be(owner_client, cast):
    form = owner_client.get("/matings/weights/").context["form"]
    sent = {name: form[name].value() for name in form.fields} | {"per_caution": "11"}
    answer = owner_client.post("/matings/weights/", sent)
    assert "Enter 10 or less." in answer.content.decode()
    assert not RankingWeights.objects.exists()


def test_the_list_of_all_pairs_sorts_by_each_column(owner_client, cast, two_boars):
    def first(sort):
        page = content(owner_client, sort=sort)
        row = page.split('<table class="stacked compact"')[1].split("<tbody>")[1].split("</tr>")[0]
        return re.sub(r"(<[^>]+>|\s)+", " ", row)

    assert "25%" in first("-inbreeding")
    assert "Bramble" in first("boar") or "Alder" in first("boar")
    assert "Sorrel" in first("mate")
    for column in ("showable", "expected", "two", "kinship", "known", "cautions", "score"):
        assert first(column) != first(f"-{column}")


def test_days_that_cannot_be(owner_client, cast):
    page = text(owner_client, boar_in="2026-12-02", boar_out="2026-12-01")
    assert "The boar comes out before he goes in." in page
    assert "Sows by boars" not in page
    page = text(owner_client, boar_in="2026-08-25")
    assert "A litter from these dates would already be born." in page
    assert "Sows by boars" not in page
    for day in ({"boar_in": "0001-01-01"}, {"boar_in": "9999-12-31"}, {"boar_out": "9999-12-31"}):
        page = text(owner_client, **day)
        assert "Enter a year from 1900 to 2199." in page
        assert "Sows by boars" not in page


def test_a_herd_without_a_boar(owner_client, cast):
    Animal.objects.filter(sex="boar").update(state="sold")
    assert "There are no pairs" in text(owner_client)


def test_a_pedigree_that_contradicts_itself(owner_client, cast):
    Litter.objects.filter(pk=cast.wren.litter_id).update(dam=cast.sorrel)
    assert "The recorded pedigree contradicts itself" in text(owner_client)


def test_a_grid_too_large_to_read_shows_the_best_and_says_so(owner_client, cast, monkeypatch):
    monkeypatch.setattr("herdbook.pages.matings.grid.MOST_SOWS", 2)
    page = text(owner_client)
    assert "Only the best sows and boars are shown here; the list below has every pair." in page


def test_more_animals_cost_no_more_queries(owner_client, cast, django_assert_max_num_queries):
    AnimalFactory.create_batch(5, herd=cast.herd, sex="boar")
    AnimalFactory.create_batch(5, herd=cast.herd, sex="sow")
    content(owner_client)
    with django_assert_max_num_queries(40):
        content(owner_client)


def test_the_other_breeding_pages_are_a_step_away(owner_client, cast):
    page = content(owner_client)
    assert 'aria-label="Breeding"' in page
    assert '<a href="/matings/grid/" aria-current="page">' in page
    assert 'href="/season/"' in page
