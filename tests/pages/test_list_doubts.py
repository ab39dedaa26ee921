"""The records of a herd that should be looked at again."""

import html
import re

import pytest
from django.urls import reverse

from genetics import jobs
from genetics.models import Job, WeighedRecords
from genetics.record_errors import screening
from genetics.record_errors.results import as_plain, from_plain
from genetics.record_errors.screening import weigh
from herdbook.book.models import Animal, GivenEvidence
from herdbook.book.partial_date import PartialDate
from tests.factories import AnimalFactory, LitterFactory, LookFactory


def text(response):
    plain = re.sub(r"<[^>]+>", " ", response.content.decode())
    return html.unescape(re.sub(r"\s+", " ", plain))


def bought(herd, name, sex):
    litter = LitterFactory(herd=herd, born=PartialDate(2024, 5), source="paper")
    return AnimalFactory(herd=herd, litter=litter, name=name, sex=sex)


def seen_grown(animal, stage):
    for day in ("2025-03-01", "2025-09-01", "2026-02-01"):
        LookFactory(animal=animal, on=day, stage=stage, warmth="mild")


@pytest.fixture
def odd(cast, today):
    """Rook has one dose, was full twice, and once between, after mild weeks, is written down
    as unmarked."""
    for day, stage in (("2026-08-01", "full"), ("2026-09-01", "none"), ("2026-10-01", "full")):
        LookFactory(animal=cast.rook, on=day, stage=stage, warmth="mild")
    return cast.rook.looks.get(on="2026-09-01")


def see(client):
    return client.get(reverse("doubts"))


def test_it_works(owner_client, odd, cast):
    response = see(owner_client)
    page = text(response)
    assert "The check of 1 September 2026 (points: none, at 5 months) is wrong" in page
    assert reverse("correct-look", args=[odd.public_id]) in response.content.decode()
    (doubt,) = weigh(cast.herd).looks
    assert doubt.look == odd
    assert doubt.chance > 0.9


def test_a_sire_whose_pups_do_not_fit_comes_first(owner_client, cast, today):
    # Bramble was seen overmarked again and again; five grown selfs are another boar's.
    for day in ("2025-03-01", "2025-09-01", "2026-02-01"):
        LookFactory(animal=cast.bramble, on=day, stage="overmarked")
    litter = LitterFactory(
        herd=cast.herd,
        dam=cast.wren,
        boars=[cast.bramble],
        born=PartialDate(2026, 1, 5),
        source="home",
    )
    for _ in range(5):
        LookFactory(
            animal=AnimalFactory(herd=cast.herd, litter=litter), on="2026-09-01", stage="none"
        )
    response = see(owner_client)
    page = text(response)
    assert "The sire is a boar other than Thornmoor Bramble" in page
    assert reverse("correct-litter", args=[litter.public_id]) in response.content.decode()
    assert (
        "is recorded as unmarked at 7 months, but Thornmoor Bramble (1) (overmarked at 20 months) "
        "cannot have such pups. One record is wrong."
    ) in page
    first = weigh(cast.herd).sires[0]
    assert (first.litter, first.chance > 0.5) == (litter, True)


def test_what_a_parent_was_bought_as_is_named(owner_client, cast, today):
    """Bramble was bought as overmarked, and no look at him is written."""
    litter = LitterFactory(
        herd=cast.herd,
        dam=cast.wren,
        boars=[cast.bramble],
        born=PartialDate(2026, 1, 5),
        source="home",
    )
    LookFactory(animal=AnimalFactory(herd=cast.herd, litter=litter), on="2026-09-01", stage="none")
    page = text(see(owner_client))
    assert (
        "is recorded as unmarked at 7 months, but Thornmoor Bramble (1) (bought as overmarked) "
        "cannot have such pups"
    ) in page
    found = weigh(cast.herd)
    assert from_plain(as_plain(found)) == found


def test_black_from_chocolate_parents_is_found(owner_client, cast, today):
    for parent in (cast.bramble, cast.wren):
        parent.point_colour = "chocolate"
        parent.save()
    cast.rook.point_colour = "black"
    cast.rook.save()
    assert "is recorded as black, but two chocolate parents" in text(see(owner_client))


def test_a_dark_body_from_red_parents_is_found(owner_client, cast, today):
    for animal, coat in ((cast.bramble, "red"), (cast.wren, "buff"), (cast.rook, "agouti")):
        animal.coat = coat
        animal.save()
    assert "is recorded as agouti, but two red-series parents" in text(see(owner_client))


def test_a_short_coat_from_long_parents_is_found(owner_client, cast, today):
    for animal, coat in ((cast.bramble, "long"), (cast.wren, "long"), (cast.rook, "plain")):
        animal.coat_type = coat
        animal.save()
    assert "is recorded without long coat, but two parents that show it" in text(see(owner_client))


def test_a_sound_book_has_no_doubts(owner_client, cast, today):
    page = text(see(owner_client))
    assert "No parent or check is 5% or more likely to be wrong" in page
    assert "Impossible" not in page


def test_another_herds_records_are_not_shown(client, other_herd, odd):
    client.force_login(other_herd[0])
    page = text(see(client))
    assert "Rook" not in page
    assert "1 September" not in page


def test_records_that_contradict_each_other_are_named(owner_client, cast, today):
    for animal, row in ((cast.tansy, (0, 0, 1)), (cast.flint, (0, 0, 1))):
        GivenEvidence.objects.create(
            herd=cast.herd, animal=animal, like0=row[0], like1=row[1], like2=row[2]
        )
    litter = LitterFactory(
        herd=cast.herd, dam=cast.tansy, boars=[cast.flint], born=PartialDate(2026, 5), source="home"
    )
    pup = AnimalFactory(herd=cast.herd, litter=litter, name="Lark")
    GivenEvidence.objects.create(herd=cast.herd, animal=pup, like0=1, like1=0, like2=0)
    page = text(see(owner_client))
    assert f"{pup.label} and its family have records that cannot all be true" in page
    assert "no figure, so their records were not weighed" in page


def test_who_it_may_be_instead_is_named(owner_client, cast, today):
    """Two overmarked boars were there besides a self; five grown one-dose pups of a self dam are
    not the self's."""
    sire = bought(cast.herd, "Chaff", "boar")
    for boar, stage in ((cast.bramble, "overmarked"), (cast.flint, "overmarked"), (sire, "none")):
        seen_grown(boar, stage)
    seen_grown(cast.wren, "none")
    litter = LitterFactory(
        herd=cast.herd, dam=cast.wren, boars=[sire], born=PartialDate(2026, 1, 5), source="home"
    )
    for _ in range(5):
        LookFactory(
            animal=AnimalFactory(herd=cast.herd, litter=litter), on="2026-09-01", stage="full"
        )
    doubt = next(doubt for doubt in weigh(cast.herd).sires if doubt.litter == litter)
    assert doubt.chance > 0.9
    assert sum(share for _, share in doubt.others) < doubt.chance
    assert "Thornmoor Bramble" in text(see(owner_client)).split("Possible instead:")[1]


def test_colours_speak_against_a_sire_too(owner_client, cast, today):
    """A chocolate sow by a chocolate boar had five chocolate pups, and then five black ones: their
    own colour is as good as certain, and black boars were there."""
    cast.wren.point_colour = "chocolate"
    cast.wren.save()
    sire = bought(cast.herd, "Cocoa", "boar")
    sire.point_colour = "chocolate"
    sire.save()
    for boar in (cast.bramble, cast.flint):
        boar.point_colour = "black"
        boar.save()
    for born, colour in (
        (PartialDate(2025, 9, 5), "chocolate"),
        (PartialDate(2026, 1, 5), "black"),
    ):
        litter = LitterFactory(
            herd=cast.herd, dam=cast.wren, boars=[sire], born=born, source="home"
        )
        for _ in range(5):
            AnimalFactory(herd=cast.herd, litter=litter, point_colour=colour)
    found = weigh(cast.herd)
    doubt = next(doubt for doubt in found.sires if doubt.litter == litter)
    assert doubt.chance > 0.9
    assert {boar for boar, share in doubt.others if share > 0.3} == {cast.bramble, cast.flint}
    assert "The sire is a boar other than Thornmoor Cocoa" in text(see(owner_client))


def test_a_colour_that_the_family_speaks_against_is_named(owner_client, cast, today):
    """Wren and Bramble, both chocolate, had four chocolate pups and one that is written black."""
    for parent in (cast.wren, cast.bramble, cast.rook, cast.sorrel):
        parent.point_colour = "chocolate"
        parent.save()
    for colour in ("chocolate", "chocolate", "black"):
        odd = AnimalFactory(herd=cast.herd, litter=cast.march_litter, point_colour=colour)
    (doubt, *_rest) = weigh(cast.herd).colours
    assert (doubt.animal, doubt.gene) == (odd, "chocolate")
    assert doubt.chance > 0.5
    page = text(see(owner_client))
    assert "The recorded colour of points or body, black, is wrong" in page
    assert (
        "Does not fit: its sire Thornmoor Bramble (1), chocolate, and its dam Thornmoor Wren (2), "
        "chocolate"
    ) in page
    assert from_plain(as_plain(weigh(cast.herd))) == weigh(cast.herd)


def test_a_sow_that_littered_beside_the_dam_is_named(owner_client, cast, today):
    """The pups of two sows were written the wrong way round: the overmarked sow has four selfs,
    the self sow four that are marked."""
    sows = [bought(cast.herd, name, "sow") for name in ("Barley", "Oat")]
    seen_grown(sows[0], "none")
    seen_grown(sows[1], "overmarked")
    wrong = []
    for sow, stage, day in ((sows[0], "full", 5), (sows[1], "none", 6)):
        litter = LitterFactory(
            herd=cast.herd, dam=sow, boars=[cast.flint], born=PartialDate(2026, 1, day),
            source="home",
        )  # fmt: skip
        for _ in range(4):
            pup = AnimalFactory(herd=cast.herd, litter=litter)
            LookFactory(animal=pup, on="2026-09-01", stage=stage, warmth="mild")
        wrong.append(litter)
    found = weigh(cast.herd)
    assert {doubt.litter for doubt in found.dams} >= {wrong[1]}
    page = text(see(owner_client))
    assert f"The dam is a sow other than {sows[1].full_name}" in page


@pytest.fixture
def marked_dam_of_selfs(cast, today):
    """A sow seen overmarked three times has four grown selfs by a self boar, and no other sow
    littered then: the litter is another's, or her looks were made at another."""
    dam, sire = bought(cast.herd, "Barley", "sow"), bought(cast.herd, "Oat", "boar")
    Animal.objects.filter(pk__in=[dam.pk, sire.pk]).update(coat="golden")
    seen_grown(dam, "overmarked")
    seen_grown(sire, "none")
    litter = LitterFactory(
        herd=cast.herd, dam=dam, boars=[sire], born=PartialDate(2026, 1, 5), source="home"
    )
    for _ in range(4):
        pup = AnimalFactory(herd=cast.herd, litter=litter, coat="golden")
        LookFactory(animal=pup, on="2026-09-01", stage="none", warmth="mild")
    return litter


def test_a_dam_may_be_another_sow_altogether(owner_client, cast, marked_dam_of_selfs):
    found = weigh(cast.herd)
    (doubt,) = found.dams
    assert (doubt.litter, doubt.others) == (marked_dam_of_selfs, ())
    (looks,) = found.all_looks
    assert (looks.animal, looks.looks) == (marked_dam_of_selfs.dam, 3)
    # By hand, colours left out: four selfs of another sow and a self come with (1 - q / 2)^4 over
    # her genes, 0.586; then the looks are right, of two doses: 0.002 x 0.0625 x 0.586. Else she has
    # none, or one and luck, and the looks are those of one in three: 0.586 x 0.002 / 3. That makes
    # 16%, and golden pups of a golden sow make it less.
    assert 0.08 < doubt.chance < 0.16
    # one of the two it is, and hardly both: what the one takes the other has not
    assert doubt.chance + looks.chance == pytest.approx(1, abs=0.01)
    page = text(see(owner_client))
    assert "The dam is a sow other than Thornmoor Barley: " in page
    assert "Possible instead: a sow not considered here" in page
    assert from_plain(as_plain(found)) == found


def test_three_looks_that_are_one_slip_are_told_once(owner_client, cast, marked_dam_of_selfs):
    dam = marked_dam_of_selfs.dam
    page = text(see(owner_client))
    assert page.count("All her 3 checks were of a different animal") == 1
    assert not [doubt for doubt in weigh(cast.herd).looks if doubt.look.animal == dam]


def test_a_sow_of_two_litters_beside_the_dam_counts_once(owner_client, cast, today):
    """Of the other sow's litters the year alone is known, so each may have been born beside it."""
    dam, other = (bought(cast.herd, name, "sow") for name in ("Barley", "Oat"))
    seen_grown(dam, "none")
    seen_grown(other, "overmarked")
    for _ in range(2):
        LitterFactory(
            herd=cast.herd, dam=other, boars=[cast.flint], born=PartialDate(2026), source="home"
        )
    litter = LitterFactory(
        herd=cast.herd, dam=dam, boars=[cast.flint], born=PartialDate(2026, 1, 5), source="home"
    )
    for stage in ("full", "overmarked", "overmarked", "full"):
        pup = AnimalFactory(herd=cast.herd, litter=litter)
        LookFactory(animal=pup, on="2026-09-01", stage=stage, warmth="mild")
    page = text(see(owner_client))
    assert f"The dam is a sow other than {dam.full_name}" in page
    (doubt,) = (doubt for doubt in weigh(cast.herd).dams if doubt.litter == litter)
    assert [sow for sow, _ in doubt.others].count(other) == 1


def test_a_large_book_is_weighed_by_a_job(owner_client, cast, odd, monkeypatch):
    monkeypatch.setattr(screening, "recomputed_at_once", lambda: False)
    page = see(owner_client).content.decode()
    job = Job.objects.get()
    assert reverse("job", args=[job.public_id]) in page
    assert "is wrong" not in page


def test_what_was_found_is_kept_until_the_book_moves_on(
    owner_client, cast, odd, monkeypatch, django_assert_max_num_queries
):
    first = text(see(owner_client))
    monkeypatch.setattr(screening, "weigh", None)
    with django_assert_max_num_queries(20):
        assert text(see(owner_client)) == first
    assert WeighedRecords.objects.get().herd == cast.herd


def test_a_failed_job_is_told(owner_client, cast, monkeypatch, settings):
    monkeypatch.setattr(screening, "recomputed_at_once", lambda: False)
    see(owner_client)
    Job.objects.update(state=Job.State.FAILED, ended_at=jobs.timezone.now())
    assert "could not be worked out" in text(see(owner_client))
    assert Job.objects.count() == 1
