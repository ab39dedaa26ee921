"""The page before a mating: one pair, or all available mates of one animal."""

import html
import re
from datetime import date

import pytest
from django.urls import reverse
from django.utils.html import strip_tags

from herdbook.book.models import Animal, GivenEvidence, Litter
from herdbook.book.partial_date import PartialDate
from herdbook.charts import DrawingError
from tests.factories import AnimalFactory, LitterFactory

PAGE = "/matings/"
NOTHING_WEIGHS = {"per_inbreeding": "0", "per_kinship": "0", "per_caution": "0"}


@pytest.fixture(autouse=True)
def _day(today):
    """It is the day of the cast."""


def text(client, **asked):
    response = client.get(PAGE, asked)
    assert response.status_code == 200
    return re.sub(r"\s+", " ", strip_tags(response.content.decode()))


def test_it_works(owner_client, cast):
    page = text(
        owner_client, sow="Tansy", boar="Bramble", boar_in="2026-12-01", boar_out="2026-12-20"
    )
    assert "Thornmoor Tansy to Thornmoor Bramble" in page
    assert "With the boar from 1 December 2026 to 20 December 2026, due" in page
    assert "29 January 2027 to 3 March 2027" in page
    assert "A person judges whether a pup is fit to show." in page
    assert "Litter size is estimated from the 1 litter of this herd" in page
    assert "They have no recorded ancestor in common." in page
    assert "Thornmoor Tansy: no ancestors recorded." in page
    assert "Ancestors of the litter" in page


def test_it_is_asked_for_by_public_id(owner_client, cast):
    page = text(owner_client, sow=cast.sorrel.public_id, boar=cast.rook.public_id)
    assert "Thornmoor Sorrel to Thornmoor Rook" in page
    assert "25%" in page
    assert "They are litter brother and sister." in page
    assert "Thornmoor Rook – Thornmoor Bramble – Thornmoor Sorrel" in page
    assert "Thornmoor Bramble adds 12.5%" in page
    assert (
        'value="Thornmoor Rook (5)"'
        in owner_client.get(
            PAGE, {"sow": cast.sorrel.public_id, "boar": cast.rook.public_id}
        ).content.decode()
    )


def test_without_days_he_goes_in_today_for_seventeen(owner_client, cast):
    page = text(owner_client, sow="Tansy", boar="Bramble")
    assert "With the boar from 25 November 2026 to 12 December 2026, due" in page


def test_nothing_chosen_yet(owner_client):
    page = text(owner_client)
    assert "Nothing is recorded." in page
    assert "Please fix the fields marked in red" not in page


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        ({"sow": ""}, "Choose a sow, a boar or both."),
        ({"sow": "Rook"}, "Thornmoor Rook (5) is a boar. Choose a sow."),
        ({"boar": "Wren"}, "Thornmoor Wren (2) is a sow. Choose a boar."),
        ({"sow": "Nettle"}, "No sow matches “Nettle”."),
        (
            {"sow": "Wren", "boar": "Rook", "boar_in": "2026-12-02", "boar_out": "2026-12-01"},
            "The boar comes out before he goes in.",
        ),
        ({"sow": "Wren", "boar_in": "soon"}, "Enter the date as 24/11/2026."),
        ({"sow": "Wren", "boar_in": "0001-01-01"}, "Enter a year from 1900 to 2199."),
        ({"sow": "Wren", "boar_in": "9999-12-31"}, "Enter a year from 1900 to 2199."),
        ({"sow": "Wren", "boar_out": "9999-12-31"}, "Enter a year from 1900 to 2199."),
        ({"sow": "Wren", "show_on": "9999-12-31"}, "Enter a year from 1900 to 2199."),
        (
            {"sow": "Wren", "boar": "Rook", "boar_in": "2026-08-26"},
            "A litter from these dates would already be born. Enter later dates.",
        ),
        (
            {"sow": "Wren", "boar": "Rook", "boar_in": "2025-03-13", "boar_out": "2026-12-01"},
            "Thornmoor Rook was not born yet (born 14 March 2026). Enter later dates.",
        ),
        (
            {"sow": "Wren", "boar_in": "1999-01-01", "boar_out": "2026-12-01"},
            "Thornmoor Wren was not born yet (born 10 February 2025).",
        ),
        ({"sow": "00000000-0000-4000-8000-000000000000"}, "No sow matches"),
    ],
)
def test_it_refuses_what_cannot_be(owner_client, cast, asked, said):
    page = text(owner_client, **asked)
    assert said in page
    assert "Verdict" not in page


def test_a_mating_whose_litter_is_still_to_come_is_looked_up(owner_client, cast):
    page = text(owner_client, sow="Wren", boar="Rook", boar_in="2026-08-27")
    assert "25 October 2026 to 25 November 2026" in page


def test_a_boar_that_stays_past_the_first_litter_is_cautioned(owner_client, cast):
    page = text(owner_client, sow="Wren", boar="Bramble", boar_out="2028-11-25")
    assert "Boar stays too long." in page
    assert "Due23 Jan 2027 – 6 Feb 2029" in page.replace("Due ", "Due")


def test_an_animal_that_is_not_sexed(owner_client, cast):
    AnimalFactory(herd=cast.herd, name="Moth", sex="")
    assert "has no sex recorded. Record its sex first." in text(owner_client, sow="Moth")


def test_another_herds_animal_is_not_there(client, other_herd, cast):
    client.force_login(other_herd[0])
    for asked in ({"sow": "Wren"}, {"sow": str(cast.wren.public_id)}):
        page = text(client, **asked)
        assert "No sow matches" in page
        assert "Thornmoor" not in page


def test_a_sow_alone_has_the_boars_ranked(owner_client, cast):
    Animal.objects.filter(pk=cast.rook.pk).update(sureness="unsure")
    page = text(owner_client, sow="Tansy", boar_in="2026-12-01")
    assert "Boars for Thornmoor Tansy" in page
    assert "late for a first litter" not in page.split("Pedigree known")[1], "named once for all"
    assert "with no litter on record" in page
    assert "pedigree in doubt" in page
    assert "Flint" not in page, "he is on loan"
    link = re.search(r'href="(/matings/\?[^"]*)">Thornmoor Rook', content(owner_client, "Tansy"))
    assert str(cast.rook.public_id) in link[1]
    assert "boar_in=2026-12-01" in link[1]


def content(client, sow):
    return client.get(PAGE, {"sow": sow, "boar_in": "2026-12-01"}).content.decode()


def test_a_boar_alone_has_the_sows_ranked(owner_client, cast):
    page = text(owner_client, boar="Bramble")
    assert "Sows for Thornmoor Bramble" in page
    for name in ("Wren", "Tansy", "Sorrel"):
        assert f"Thornmoor {name}" in page
    assert "very close relatives" in page


def test_the_best_comes_first_and_columns_sort(owner_client, cast):
    selfs = AnimalFactory(herd=cast.herd, sex="boar", name="Alder")
    GivenEvidence.objects.create(herd=cast.herd, animal=selfs, like0=1, like1=0, like2=0)
    order = re.compile(r'<th scope="row"[^>]*><a href="[^"]*">Thornmoor (\w+)')

    def names(**asked):
        response = owner_client.get(PAGE, {"sow": "Wren", **NOTHING_WEIGHS, **asked})
        return order.findall(response.content.decode())

    assert names()[0] == "Bramble"
    assert names()[-1] == "Alder"
    assert names(sort="mate") == ["Alder", "Bramble", "Rook"]
    assert names(sort="-expected")[-1] == "Alder"
    assert names(sort="-inbreeding")[0] == "Rook"
    assert names(sort="dose")[0] == "Alder", "who has none for certain"
    assert names(sort="-dose")[-1] == "Alder"


def test_those_too_young_are_not_offered(owner_client, cast):
    litter = LitterFactory(herd=cast.herd, born=PartialDate(2026, 11, 1), source="paper")
    AnimalFactory(herd=cast.herd, sex="boar", litter=litter, name="Mite")
    assert "Mite" not in text(owner_client, sow="Wren")


def test_more_boars_cost_no_more_queries(owner_client, cast, django_assert_max_num_queries):
    text(owner_client, sow="Wren")
    AnimalFactory.create_batch(15, herd=cast.herd, sex="boar")
    text(owner_client, sow="Wren")
    with django_assert_max_num_queries(40):
        text(owner_client, sow="Wren")


def test_records_that_cannot_be_true_leave_the_rest_of_the_page(owner_client, cast):
    for animal, dose in ((cast.bramble, 2), (cast.wren, 2), (cast.rook, 0)):
        share = {f"like{number}": float(number == dose) for number in range(3)}
        GivenEvidence.objects.create(herd=cast.herd, animal=animal, **share)
    page = text(owner_client, sow="Tansy", boar="Bramble")
    assert "family cannot all be true" in page
    assert "Ancestors of the litter" in page
    assert "–" in text(owner_client, sow="Tansy")
    assert text(owner_client, sow="Tansy", sort="-expected")


def test_a_pedigree_that_contradicts_itself(owner_client, cast):
    Litter.objects.filter(pk=cast.wren.litter_id).update(dam=cast.sorrel)
    page = text(owner_client, sow="Tansy", boar="Bramble")
    assert "The recorded pedigree contradicts itself" in page
    assert "Verdict" in page
    assert "contradicts itself" in text(owner_client, sow="Tansy")


def test_a_chart_that_cannot_be_drawn_says_why(owner_client, cast, monkeypatch):
    def fail(*arguments, **more):
        raise DrawingError("No pencil.")

    monkeypatch.setattr("herdbook.pages.matings.kinship.relationship_chart", fail)
    monkeypatch.setattr("herdbook.pages.matings.kinship.ancestors_chart", fail)
    page = text(owner_client, sow="Sorrel", boar="Rook")
    assert page.count("No pencil.") == 2
    assert "Thornmoor Rook – Thornmoor Bramble – Thornmoor Sorrel" in page


def test_the_litters_inbreeding_is_the_same_figure_everywhere(owner_client, cast):
    # Vetch is of a brother and sister (F = 1/4); with his daughter by Tansy (1 + 1/4) / 4 = 31.25%
    litter = LitterFactory(herd=cast.herd, dam=cast.sorrel, boars=[cast.rook])
    vetch = AnimalFactory(herd=cast.herd, litter=litter, sex="boar", name="Vetch")
    litter = LitterFactory(herd=cast.herd, dam=cast.tansy, boars=[vetch])
    AnimalFactory(herd=cast.herd, litter=litter, sex="sow", name="Nettle")
    page = text(owner_client, sow="Nettle", boar="Vetch")
    assert "The litter would have 31.25% inbreeding." in html.unescape(page)
    assert "31.3%" not in page


def test_an_uncertain_sire_is_told_with_his_chance(owner_client, cast):
    litter = LitterFactory(herd=cast.herd, dam=cast.tansy, boars=[cast.bramble, cast.flint])
    AnimalFactory(herd=cast.herd, litter=litter, sex="sow", name="Vetch")
    page = text(owner_client, sow="Vetch", boar="Rook")
    assert "adds 6.29% (50% likely by all records)" in page
    assert "Each possible sire counts by how likely all records make him." in page
    assert "Thornmoor Vetch has 2 possible sires." in page


def test_her_own_litters_set_the_size(owner_client, cast):
    page = text(owner_client, sow="Wren", boar="Bramble")
    assert "estimated from her one litter of 2 and the herd average of 2.3." in page
    assert "Expect 2.3 live pups:" in page


def test_a_sow_without_a_litter_goes_by_her_herd(owner_client, cast):
    page = text(owner_client, sow="Tansy", boar="Bramble")
    assert "as none of hers has its pups counted." in page


def test_an_animals_page_leads_here(owner_client, cast):
    page = owner_client.get(cast.wren.get_absolute_url()).content.decode()
    assert f'href="{reverse("mating")}?sow={cast.wren.public_id}"' in page
    page = owner_client.get(cast.rook.get_absolute_url()).content.decode()
    assert f'href="{reverse("mating")}?boar={cast.rook.public_id}"' in page


def test_the_last_day_counts_for_who_is_offered(owner_client, cast):
    litter = LitterFactory(herd=cast.herd, born=PartialDate.of(date(2026, 10, 20)), source="paper")
    AnimalFactory(herd=cast.herd, sex="boar", litter=litter, name="Mite")
    page = text(owner_client, sow="Wren")
    assert "Mite" in page
    assert "boar too young" in page


def test_expected_pups_are_rounded_and_not_cut(owner_client, cast):
    # a chance of 0.5 a pup is 1.16 of 2.32: 1.2, where cutting would say 1.1
    for animal, share in ((cast.bramble, (0, 0, 1)), (cast.tansy, (0, 1, 0))):
        none, one, two = share
        GivenEvidence.objects.create(
            herd=cast.herd, animal=animal, like0=none, like1=one, like2=two
        )
    assert "1.2 of 2.3" in text(owner_client, sow="Tansy")


def test_paths_that_add_little_are_told_and_not_drawn(owner_client, cast):
    # half sibs by Bramble whose dams are distant cousins through one old boar
    def bred(name, sex, **parents):
        sire, dam = parents.get("sire"), parents.get("dam")
        litter = LitterFactory(
            herd=cast.herd, dam=dam, boars=[sire] if sire else [], born=None, source="paper"
        )
        return AnimalFactory(herd=cast.herd, name=name, sex=sex, litter=litter)

    old = bred("Old Tom", "boar")
    dams = []
    for side in ("One", "Two"):
        sow = bred(f"Gran {side}", "sow", sire=old)
        sow = bred(f"Mother {side}", "sow", dam=sow)
        dams.append(bred(f"Dam {side}", "sow", dam=sow))
    bred("Brother", "boar", sire=cast.bramble, dam=dams[0])
    bred("Sister", "sow", sire=cast.bramble, dam=dams[1])
    page = text(owner_client, sow="Sister", boar="Brother")
    assert "through Thornmoor Bramble: adds 12.5%" in page
    assert "through Thornmoor Old Tom" not in page
    assert "Thornmoor Old Tom adds 0.2%" in page
    assert "Paths too small to draw" in page


def test_what_is_written_stands_beside_what_the_records_say(owner_client, cast):
    """Vetch, of one dose by a self, is Bramble's, who has two, and not Flint's, who has none. The
    pair and a pup that they have already are told of alike."""
    litter = LitterFactory(herd=cast.herd, dam=cast.tansy, boars=[cast.bramble, cast.flint])
    vetch = AnimalFactory(herd=cast.herd, litter=litter, sex="sow", name="Vetch")
    for animal, dose in ((cast.tansy, 0), (cast.bramble, 2), (cast.flint, 0), (vetch, 1)):
        share = {f"like{number}": float(number == dose) for number in range(3)}
        GivenEvidence.objects.create(herd=cast.herd, animal=animal, **share)
    young = LitterFactory(
        herd=cast.herd, dam=vetch, boars=[cast.rook], born=PartialDate(2026, 10, 1)
    )
    pup = AnimalFactory(herd=cast.herd, litter=young, sex="sow", coat="")
    said = (
        "Each possible sire counts by how likely all records make him; "
        "as recorded it would be 6.25%"
    )
    page = text(owner_client, sow="Vetch", boar="Rook")
    assert "Full pedigree12.44%" in page
    assert said in page
    own = strip_tags(owner_client.get(pup.get_absolute_url()).content.decode())
    assert "12.44%" in own
    assert "With the possible sires as you entered them: 6.25%" in own


def test_certain_sires_need_no_word(owner_client, cast):
    assert "possible sire" not in text(owner_client, sow="Sorrel", boar="Rook")


def test_until_the_figures_follow_possible_sires_are_as_written(owner_client, cast, monkeypatch):
    """A large register is worked out beside the page; no share of a former revision is used."""
    litter = LitterFactory(herd=cast.herd, dam=cast.tansy, boars=[cast.bramble, cast.flint])
    AnimalFactory(herd=cast.herd, litter=litter, sex="sow", name="Vetch")
    monkeypatch.setattr("genetics.figures.refresh.AT_ONCE", 1)
    monkeypatch.setattr("genetics.jobs.start", lambda *_args, **_more: None)
    page = text(owner_client, sow="Vetch", boar="Rook")
    assert "Until the figures are up to date, each possible sire counts as recorded." in page
    assert "Each possible sire counts as recorded." in page
    assert "adds 6.25% (50% likely as recorded)" in page
