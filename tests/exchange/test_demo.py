"""What the demo herd shows, and the script that makes its file."""

import datetime
import json
import math
import statistics
import subprocess
import sys

import pytest
from django.db import transaction
from django.db.models import Count

from genetics.doses.explanation import why
from genetics.figures.refresh import ensure_current
from herdbook.book.models import (
    Animal,
    Answer,
    Book,
    CandidateSire,
    ChangeSet,
    CountedPup,
    Herd,
    Judgement,
    Litter,
    LitterCount,
    Look,
    Weighing,
)
from herdbook.book.partial_date import PartialDate
from herdbook.book.rules.audit import examine
from herdbook.book.services.opening import open_book
from herdbook.exchange.demo import DEMO_HERD, load_demo
from tests.conftest import TODAY

FIXTURES = DEMO_HERD.parent


@pytest.fixture(scope="module")
def loaded(django_db_setup, django_db_blocker):
    """The demo in the book, worked out, for all tests of this file that only read it."""
    with django_db_blocker.unblock(), transaction.atomic():
        owner = open_book()
        herd = Herd.objects.for_user(owner).get()
        load_demo(user=owner, herd=herd, today=TODAY)
        standing = ensure_current()
        yield owner, herd, standing
        transaction.set_rollback(True)


@pytest.fixture
def herd(loaded, db):
    return loaded[1]


def animal(name):
    return Animal.objects.get(name=name)


def dose(name):
    return animal(name).figure.chances


def litter_at(days):
    """The litter born at home so many days ago."""
    born = PartialDate.of(TODAY - datetime.timedelta(days=days))
    return Litter.objects.get(source="home", born=born)


def make(*options):
    subprocess.run(
        [sys.executable, str(FIXTURES / "make_demo.py"), *map(str, options)],
        check=True,
        capture_output=True,
    )


# ------------------------------------------------------------------------------- the book


def test_it_works(herd, loaded):
    assert (herd.name, herd.stud_prefix) == ("Larkenshaw", "Larkenshaw")
    assert herd.keeper
    assert herd.address
    assert 110 <= Animal.objects.count() <= 130
    assert Animal.objects.in_herd(on=TODAY).count() >= 40
    oldest = min(litter.born for litter in Litter.objects.filter(source="home"))
    assert (TODAY - oldest.middle).days > 5 * 365
    for row in (*Animal.objects.all(), *Litter.objects.all(), *Look.objects.all()):
        assert row.herd == herd
    assert not Animal.objects.filter(search_text="").exists()


def test_every_row_has_its_history_under_a_change_set_of_the_owner(herd, loaded):
    owner = loaded[0]
    change_sets = {str(change.pk) for change in ChangeSet.objects.filter(user=owner)}
    assert 2 <= len(change_sets) <= 10
    assert Book.objects.get().revision == len(change_sets)
    for model in (Animal, Litter, CandidateSire, Look, Weighing, LitterCount, CountedPup):
        written = model.history.filter(history_type="+")
        assert written.count() == model.objects.count()
        assert set(written.values_list("history_change_reason", flat=True)) <= change_sets
        assert set(written.values_list("history_user", flat=True)) == {owner.pk}


def test_nothing_in_it_is_left_to_ask(herd):
    assert [str(found.finding) for found in examine(Animal.objects.all(), today=TODAY)] == []


def test_what_the_book_asked_is_kept_with_its_answer(herd):
    asked = {answer.code: answer for answer in Answer.objects.all()}
    assert asked.keys() == {"large-litter", "points-gone", "pups-not-written"}
    assert asked["pups-not-written"].change_set.subject == litter_at(661).public_id
    assert asked["large-litter"].change_set.subject == litter_at(26).public_id
    assert asked["points-gone"].change_set.subject == animal("Mace").public_id


def test_a_wrong_sexing_is_put_right_and_stands_in_history(herd):
    tiddler = animal("Tiddler")
    assert tiddler.sex == "boar"
    assert [then.sex for then in tiddler.history.order_by("version")] == ["sow", "boar"]


# ------------------------------------------------------------------------------ what it shows


def test_animals_of_every_state_are_there(herd):
    states = set(Animal.objects.values_list("state", flat=True))
    assert states == {"in_herd", "on_loan", "sold", "died", "paper"}
    snuffer = animal("Snuffer")
    assert (snuffer.state, snuffer.went_to) == ("sold", "Tilda Marrowby, Stoke Pennifold")
    assert snuffer.weighings.count() >= 8
    assert animal("Burdock").went_to


def test_founders_came_as_all_sorts_and_with_all_sorts_of_dates(herd):
    bought = Animal.objects.exclude(came_on=None)
    assert {one.bought_as for one in bought} == {"self", "marked", "overmarked", ""}
    assert {one.born.precision if one.born else None for one in bought} == {
        "day",
        "month",
        "year",
        None,
    }
    admiral = animal("Admiral")
    assert admiral.figure.deepest_generation == 3
    assert admiral.dam.born.precision == "month"


def test_pups_of_nine_days_seven_weeks_and_five_months_are_as_such_pups_look(herd):
    nine_days, seven_weeks, five_months = (litter_at(days) for days in (9, 49, 150))
    last = {
        litter.pk: {pup.looks.last().stage for pup in litter.pups.all()}
        for litter in (nine_days, seven_weeks, five_months)
    }
    assert last[nine_days.pk] == {"none"}
    assert last[seven_weeks.pk] == {"none", "coming", "overmarked"}
    assert last[five_months.pk] == {"none", "full", "overmarked"}


def test_pups_are_told_apart_by_markings_or_tag_or_not_yet_and_one_has_no_sex_yet(herd):
    pups = litter_at(9).pups.all()
    assert {pup.told_apart for pup in pups} == {"markings", "tag", ""}
    assert {pup.sex for pup in pups} == {"sow", "boar", ""}
    assert {pup.sureness for pup in pups} == {"sure", "unsure"}
    assert not any(pup.name for pup in pups)


def test_some_litters_have_two_possible_sires_or_none_written_and_some_a_stillborn(herd):
    homes = Litter.objects.filter(source="home").annotate(boars=Count("sires"))
    assert homes.filter(boars=2).count() == 3
    assert homes.filter(boars=0).count() == 2
    assert homes.filter(born_dead__gt=0).count() == 3
    weights = {candidate.weight for candidate in litter_at(12).sires.all()}
    assert weights == {1.0, 3.0}


def test_looks_go_place_by_place_and_by_the_warmth_of_the_weeks_before(herd):
    looks = Look.objects.all()
    for place in ("smut", "ears", "fore_feet", "hind_feet"):
        shown = set(looks.values_list(place, flat=True))
        assert {"none", "faint", "coming", "dense"} <= shown
    assert looks.filter(hind_feet="hidden").exists()
    assert set(looks.values_list("warmth", flat=True)) == {"hot", "mild", "cold", ""}
    assert set(looks.values_list("stage", flat=True)) == {"none", "coming", "full", "overmarked"}


def test_one_dose_comes_in_with_the_feet_last_and_two_doses_sooner(herd):
    order = ["none", "faint", "coming", "dense"]
    for look in Look.objects.exclude(hind_feet__in=["", "hidden"]):
        assert order.index(look.smut) >= order.index(look.hind_feet)

    def first_full(name):
        pup = animal(name)
        return min(pup.age_days(look.on) for look in pup.looks.filter(stage="full"))

    assert first_full("Hazelnut") < 60 < 90 < first_full("Snuffer")


def test_four_pups_were_counted_together_two_of_whom_never_had_a_line(herd):
    (count,) = LitterCount.objects.all()
    assert count.litter == litter_at(661)
    assert sum(count.counted) == count.litter.born_alive == 4
    assert (count.nameless, len(count.pups)) == (2, 2)
    kinds = {reason.kind: reason for reason in why(animal("Postmark")).reasons}
    assert kinds["count"].counts == 1


def test_an_agouti_hides_what_she_carries(herd):
    agate = animal("Agate")
    assert not agate.shows_points
    assert not agate.looks.exists()
    assert agate.figure.dose0 < 0.01  # by a boar of two doses
    assert agate.figure.dose1 > 0.2
    assert agate.figure.dose2 > 0.2


def test_chocolate_points_come_of_two_carriers(herd):
    assert animal("Button").point_colour == "chocolate"
    assert animal("Homburg").point_colour == animal("Nectar").point_colour == "black"


def test_young_stock_is_weighed_weekly_to_eight_weeks(herd):
    days = [weighing.on for weighing in animal("Quaver").weighings.all()][:8]
    gaps = {(after - before).days for before, after in zip(days, days[1:], strict=False)}
    assert (gaps, len(days)) == ({7}, 8)
    losing = Weighing.objects.filter(remarks__startswith="Lost").get()
    before = losing.animal.weighings.filter(on__lt=losing.on).last()
    assert losing.weight_g < before.weight_g


def test_boars_grow_about_the_published_curve_and_sows_below_it(herd):
    """Logistic of male guinea pigs: A = 1421 g, 187 g at first, inflexion at 65 days (Tapie et
    al., Tropical and Subtropical Agroecosystems, article 5179, abstract)."""
    rate = math.log(1421 / 187 - 1) / 65
    shares = {"boar": [], "sow": []}
    for weighing in Weighing.objects.select_related("animal__litter"):
        age = weighing.animal.age_days(weighing.on)
        if age >= 42 and weighing.animal.sex:
            curve = 1421 / (1 + math.exp(-rate * (age - 65)))
            shares[weighing.animal.sex].append(weighing.weight_g / curve)
    boars, sows = statistics.mean(shares["boar"]), statistics.mean(shares["sow"])
    assert 0.9 < boars < 1.05
    assert 0.8 < sows < boars


# -------------------------------------------------------------------------- what is worked out


def test_every_animal_has_an_exact_dose(herd, loaded):
    standing = loaded[2]
    assert standing.fresh
    assert standing.troubles == ()
    assert {one.figure.method for one in Animal.objects.select_related("figure")} == {"exact"}


def test_the_stud_boar_is_proved_by_his_litters_out_of_selfs(herd):
    oil = animal("Midnight Oil")
    assert {look.stage for look in oil.looks.all()} == {"none"}  # his own looks say nothing
    assert dose("Midnight Oil")[2] >= 0.99
    assert dose("Juniper")[0] >= 0.99
    five = litter_at(1435)
    assert five.dam == animal("Juniper")
    assert five.pups.count() == 5
    for pup in five.pups.all():
        assert pup.figure.dose1 >= 0.95


@pytest.mark.parametrize("name", ["Fedora", "Hubbub", "Clove", "Meadowsweet"])
def test_selfs_kept_for_breeding_are_selfs(herd, name):
    assert dose(name)[0] >= 0.99


@pytest.mark.parametrize("name", ["Ninepins", "Homburg", "Snuffer", "Trilby", "Skipper"])
def test_clean_marked_animals_have_one_dose(herd, name):
    assert dose(name)[1] >= 0.99


@pytest.mark.parametrize("name", ["Admiral", "Buckle", "Hazelnut", "Nimbus"])
def test_overmarked_animals_have_two_doses(herd, name):
    assert dose(name)[2] >= 0.99


def test_an_unproved_boar_has_no_young(herd):
    assert not animal("Skipper").sired.exists()
    assert not animal("Taper").sired.exists()


def test_unmarked_pups_of_a_self_and_a_proved_boar_are_known_from_their_parents(herd):
    for pup in litter_at(9).pups.all():
        assert pup.figure.dose1 >= 0.97


def test_pups_of_the_large_litter_are_still_an_open_question(herd):
    for pup in litter_at(26).pups.all():
        assert max(pup.figure.chances) < 0.7


def test_the_points_decide_between_two_sires_where_the_dates_do_not(herd):
    litter = litter_at(640)
    assert {boar.name for boar in litter.candidate_boars} == {"Midnight Oil", "Ninepins"}
    assert litter.dam == animal("Juniper")
    # Out of Midnight Oil there would be no self at all.
    assert animal("Hubbub").figure.dose0 >= 0.99


def test_grown_animals_were_judged_and_only_clean_ones_are_good_enough(herd):
    judged = Judgement.objects.select_related("animal__litter", "animal__figure")
    good = [one for one in judged if one.verdict == "showable"]
    assert len(good) >= 8
    assert len(judged) > len(good)
    assert all(one.animal.age_days(one.on) >= 150 for one in judged if one.animal.born)
    assert all(one.animal.figure.dose1 > 0.5 for one in good)


def test_close_matings_show_as_inbreeding(herd):
    assert animal("Midnight Oil").figure.inbreeding >= 0.25  # father to daughter
    assert animal("Ditto").figure.inbreeding >= 0.125  # half-brother to half-sister
    assert animal("Homburg").figure.inbreeding == 0


# ------------------------------------------------------------------------- the file, the script


def test_making_it_again_gives_the_same_bytes(tmp_path):
    make("--out", tmp_path / "again.json")
    assert (tmp_path / "again.json").read_bytes() == DEMO_HERD.read_bytes()


def test_the_file_holds_only_what_a_breeder_would_know():
    told = json.loads(DEMO_HERD.read_text(encoding="utf-8"))
    columns = {field.name for field in Animal._meta.fields}
    assert set().union(*told["animals"]) - columns == {"key", "first_written"}
    columns = {field.name for field in Look._meta.fields}
    assert set().union(*told["looks"]) - columns == {"at_the_desk"}
    columns = {field.name for field in Judgement._meta.fields}
    assert set().union(*told["judgements"]) <= columns
    columns = {field.name for field in LitterCount._meta.fields}
    assert set().union(*told["counts"]) - columns == {"pups"}


def test_what_they_really_carry_follows_mendel_and_the_book_does_not_contradict_it(herd, tmp_path):
    make("--out", tmp_path / "again.json", "--truth", tmp_path / "truth.json")
    truth = json.loads((tmp_path / "truth.json").read_text(encoding="utf-8"))
    told = json.loads(DEMO_HERD.read_text(encoding="utf-8"))
    litters = {litter["key"]: litter for litter in told["litters"]}
    given = []
    for row in told["animals"]:
        copies, litter = truth[row["key"]]["points"], litters[row["litter"]]
        if "dam" in litter and len(litter.get("sires", ())) == 1:
            parents = [truth[key]["points"] for key in (litter["dam"], litter["sires"][0][0])]
            assert sum(one == 2 for one in parents) <= copies <= sum(one > 0 for one in parents)
        if "number" in row:
            given.append(Animal.objects.get(number=row["number"]).figure.chances[copies])
    assert min(given) > 0.01
    assert statistics.mean(given) > 0.8


def test_the_script_knows_nothing_of_the_book_or_the_calculation():
    code = (
        f"import sys; sys.path.insert(0, {str(FIXTURES)!r}); import make_demo; "
        "print({name.partition('.')[0] for name in sys.modules} & "
        "{'genetics', 'herdbook', 'django', 'numpy'})"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], check=True, capture_output=True, text=True, cwd=FIXTURES
    )
    assert done.stdout.strip() == "set()"
