"""A litter at the desk: what is written, what is refused, what is asked."""

import datetime

import pytest

from herdbook.book.exceptions import ConfirmationNeededError, RecordRefusedError
from herdbook.book.inputs import LitterEntry, PupEntry
from herdbook.book.models import Litter
from herdbook.book.partial_date import PartialDate
from herdbook.book.services.change_set import Submission
from herdbook.book.services.litters import correct_litter, next_numbers, record_litter
from tests.factories import AnimalFactory, LitterFactory

TODAY = datetime.date(2026, 11, 25)
BORN = PartialDate(2026, 11, 20)


def day(text):
    return PartialDate.parse(text)


ONE_DAY = datetime.timedelta(days=1)


def before_birth(days):
    return PartialDate.of(BORN.earliest - datetime.timedelta(days=days))


def write(cast, *, answered=(), **values):
    values = {
        "dam": cast.wren,
        "boars": (cast.bramble,),
        "born": BORN,
        "pups": (PupEntry(sex="boar", coat="white", birth_weight_g=98), PupEntry(sex="sow")),
        **values,
    }
    return record_litter(
        Submission(cast.owner, TODAY, answered=answered),
        herd=cast.herd,
        entry=LitterEntry(**values),
    )


def refused(cast, **values):
    """Codes (without the row they are about) of what is refused; nothing is written."""
    litters = Litter.objects.count()
    with pytest.raises(RecordRefusedError) as found:
        write(cast, **values)
    assert Litter.objects.count() == litters
    findings = [finding for finding in found.value.findings if finding.kind == "refuse"]
    assert all(finding.message for finding in findings)
    return [(finding.code.split(":")[0], finding.field) for finding in findings]


def asked(cast, **values):
    """Codes of what is asked; once each is answered, the same record is taken."""
    litters = Litter.objects.count()
    with pytest.raises(ConfirmationNeededError) as found:
        write(cast, **values)
    assert Litter.objects.count() == litters
    codes = [finding.code for finding in found.value.findings]
    write(cast, answered=codes, **values)
    assert Litter.objects.count() == litters + 1
    return [code.split(":")[0] for code in codes]


def test_it_works(cast):
    litter = write(cast, boar_in=before_birth(80), boar_out=before_birth(60), born_dead=1)
    assert litter.dam == cast.wren
    assert litter.candidate_boars == [cast.bramble]
    assert (litter.born_alive, litter.born_dead, litter.source) == (2, 1, "home")
    boar, sow = litter.pups.order_by("pk")
    assert (boar.sex, boar.coat, boar.birth_weight_g, boar.number) == ("boar", "white", 98, "7")
    assert (sow.sex, sow.number, sow.state) == ("sow", "8", "in_herd")
    assert boar.breeder == boar.owner == "Ansel Quillby"
    assert (boar.dam, boar.born) == (cast.wren, BORN)


def test_several_boars_share_a_litter(cast):
    litter = write(cast, boars=(cast.bramble, cast.rook))
    assert {candidate.boar: candidate.weight for candidate in litter.sires.all()} == {
        cast.bramble: 1.0,
        cast.rook: 1.0,
    }


def test_a_litter_may_be_known_without_dam_and_sire(cast):
    assert asked(cast, dam=None, boars=()) == ["no-dam"]
    assert not Litter.objects.latest("pk").has_known_parent


# Numbers


def test_numbers_step_over_those_typed_in_the_same_form(cast):
    pups = (PupEntry(number="7"), PupEntry(), PupEntry(number="9"), PupEntry())
    assert [pup.number for pup in write(cast, pups=pups).pups.order_by("pk")] == [
        "7",
        "8",
        "9",
        "10",
    ]


def test_numbers_step_over_the_longest(cast):
    AnimalFactory(herd=cast.herd, number="999999999")
    first = next_numbers(cast.herd, 2)
    assert first == ["1000000000", "1000000001"]
    AnimalFactory(herd=cast.herd, number=first[0])
    assert next_numbers(cast.herd, 1) == ["1000000001"]


def test_numbers_of_another_herd_do_not_count(cast, other_herd):
    AnimalFactory(herd=other_herd[1], number="500")
    assert next_numbers(cast.herd, 1) == ["7"]


def test_it_refuses_a_number_that_is_taken(cast):
    pups = (PupEntry(), PupEntry(number=cast.rook.number))
    assert refused(cast, pups=pups) == [("number-taken", "pups-1-number")]


def test_it_refuses_one_number_for_two_pups(cast):
    pups = (PupEntry(number="A1"), PupEntry(number="A1"))
    assert refused(cast, pups=pups) == [("number-twice", "pups-1-number")]


# What cannot be


def test_it_refuses_a_birth_to_come(cast):
    assert refused(cast, born=day("2026-11-26")) == [("birth-in-future", "born")]


@pytest.mark.parametrize("field", ["born", "boar_in", "boar_out"])
def test_it_refuses_a_year_that_is_a_slip(cast, field):
    assert ("long-ago", field) in refused(cast, **{field: day("0001-01-02")})


def test_it_takes_a_birth_of_today(cast):
    assert write(cast, born=PartialDate.of(TODAY)).pk


def test_it_takes_a_birth_known_to_the_present_month(cast):
    assert write(cast, born=day("2026-11")).pk


def test_it_refuses_a_litter_without_a_date(cast):
    assert refused(cast, born=None) == [("no-birth-date", "born")]


def test_it_refuses_a_boar_as_dam(cast):
    assert refused(cast, dam=cast.rook, boars=()) == [("wrong-sex", "dam")]


def test_it_refuses_a_sow_as_sire(cast):
    assert refused(cast, boars=(cast.tansy,)) == [("wrong-sex", "boars")]


def test_it_refuses_one_animal_as_dam_and_sire(cast):
    unsexed = AnimalFactory(herd=cast.herd, sex="", litter__born=day("2025-01-01"))
    assert refused(cast, dam=unsexed, boars=(unsexed,)) == [("dam-is-sire", "boars")]


def test_it_refuses_a_dam_younger_than_her_litter(cast):
    young = AnimalFactory(herd=cast.herd, sex="sow", litter__born=BORN)
    assert refused(cast, dam=young) == [("parent-too-young", "dam")]


def test_it_refuses_a_sire_younger_than_his_litter(cast):
    young = AnimalFactory(herd=cast.herd, sex="boar", litter__born=BORN)
    assert refused(cast, boars=(cast.bramble, young)) == [("parent-too-young", "boars")]


@pytest.mark.parametrize("days", [1, 46, 59])
def test_it_refuses_a_parent_born_after_the_conception(cast, days):
    dam = AnimalFactory(herd=cast.herd, sex="sow", litter__born=before_birth(days))
    boar = AnimalFactory(herd=cast.herd, sex="boar", litter__born=before_birth(days))
    assert refused(cast, dam=dam) == [("conceived-before-parent", "dam")]
    assert refused(cast, boars=(boar,)) == [("conceived-before-parent", "boars")]


@pytest.mark.parametrize("born", ["2026-09", "2026"])
def test_a_parent_that_may_be_old_enough_is_asked_about_or_taken(cast, born):
    """A date known to the month or year counts at its earliest day."""
    dam = AnimalFactory(herd=cast.herd, sex="sow", litter__born=day(born))
    if born == "2026":
        assert write(cast, dam=dam).pk
    else:
        assert asked(cast, dam=dam) == ["young-parent"]


def test_it_refuses_a_dam_that_had_died(cast):
    dam = AnimalFactory(
        herd=cast.herd,
        sex="sow",
        litter__born=day("2025"),
        state="died",
        left_on=day("2026-11-19"),
    )
    assert refused(cast, dam=dam) == [("dam-dead", "dam")]


def test_it_takes_a_dam_that_died_at_the_birth(cast):
    dam = AnimalFactory(
        herd=cast.herd, sex="sow", litter__born=day("2025"), state="died", left_on=BORN
    )
    assert write(cast, dam=dam).pk


def test_it_refuses_no_pups_at_all(cast):
    assert refused(cast, pups=()) == [("empty-litter", "born_alive")]


def test_it_takes_a_litter_born_dead(cast):
    assert write(cast, pups=(), born_dead=3).born_dead == 3


def test_it_refuses_more_pups_than_were_born(cast):
    assert refused(cast, born_alive=1) == [("more-pups-than-alive", "born_alive")]


@pytest.mark.parametrize("field", ["born_alive", "born_dead"])
def test_it_refuses_counts_beyond_belief(cast, field):
    everything = ["pups-not-written", "large-litter"]
    found = refused(cast, answered=everything, **{field: 31})
    assert found == [("field", field)]


def test_it_refuses_a_boar_that_came_out_before_he_went_in(cast):
    found = refused(cast, boar_in=before_birth(70), boar_out=before_birth(71))
    assert found == [("boar-out-before-in", "boar_out")]


@pytest.mark.parametrize("field", ["boar_in", "boar_out"])
def test_it_refuses_boar_dates_to_come(cast, field):
    found = refused(cast, **{field: day("2026-12-01")})
    assert (f"future-{field}".replace("_", "-"), field) in found


def test_it_refuses_an_animal_as_its_own_ancestor(cast):
    grandchild = AnimalFactory(
        herd=cast.herd,
        sex="sow",
        litter=LitterFactory(herd=cast.herd, dam=cast.sorrel, born=day("2026-09-01")),
    )
    # The march litter cannot come from Sorrel, who is one of it, nor from her daughter, even
    # where no date tells.
    for descendant in (cast.sorrel, grandchild):
        descendant.litter.born = None
        descendant.litter.save()
        with pytest.raises(RecordRefusedError) as found:
            correct_litter(
                Submission(cast.owner, TODAY, version=1),
                litter=cast.march_litter,
                entry=LitterEntry(dam=descendant, born=day("2026-03-14"), born_alive=2),
            )
        codes = [finding.code.split(":")[0] for finding in found.value.findings]
        assert "own-ancestor" in codes


# What is hard to believe


@pytest.mark.parametrize(("days", "codes"), [(58, ["born-early"]), (-2, ["born-early"])])
def test_it_asks_of_a_birth_soon_after_the_boar_went_in(cast, days, codes):
    assert asked(cast, boar_in=before_birth(days)) == codes


def test_it_takes_a_birth_59_days_after_the_boar_went_in(cast):
    assert write(cast, boar_in=before_birth(59)).pk


def test_it_asks_of_a_birth_long_after_the_boar_came_out(cast):
    assert asked(cast, boar_out=before_birth(74)) == ["born-late"]


def test_it_takes_a_birth_73_days_after_the_boar_came_out(cast):
    assert write(cast, boar_out=before_birth(73)).pk


def test_a_month_is_given_the_benefit_of_its_days(cast):
    """The boar came out in September: the last day that this can mean is the 30th."""
    assert write(cast, boar_in=day("2026-09"), boar_out=day("2026-09")).pk


def test_it_asks_of_a_sow_that_littered_40_days_ago(cast):
    LitterFactory(herd=cast.herd, dam=cast.wren, born=before_birth(40))
    assert asked(cast) == ["litters-close"]


def test_it_takes_a_sow_that_littered_59_days_ago(cast):
    LitterFactory(herd=cast.herd, dam=cast.wren, born=before_birth(59))
    assert write(cast).pk


def test_it_asks_of_a_sire_four_weeks_old_at_conception(cast):
    # Born 68 + 28 days before the litter.
    boar = AnimalFactory(herd=cast.herd, sex="boar", litter__born=before_birth(96))
    assert asked(cast, boars=(boar,)) == ["young-parent"]


def test_it_takes_a_sire_seven_weeks_old_at_the_latest_conception(cast):
    boar = AnimalFactory(herd=cast.herd, sex="boar", litter__born=before_birth(59 + 49))
    assert write(cast, boars=(boar,)).pk


def test_it_asks_of_a_dam_that_conceived_before_weaning(cast):
    dam = AnimalFactory(herd=cast.herd, sex="sow", litter__born=before_birth(59 + 32))
    assert asked(cast, dam=dam) == ["young-parent"]


@pytest.mark.parametrize("weight", [41, 151, 400])
def test_it_asks_of_a_pup_hard_to_believe(cast, weight):
    assert asked(cast, pups=(PupEntry(birth_weight_g=weight),)) == ["birth-weight"]


@pytest.mark.parametrize("weight", [42, 150])
def test_it_takes_the_lightest_and_heaviest_pup_seen(cast, weight):
    assert write(cast, pups=(PupEntry(birth_weight_g=weight),)).pk


def test_it_asks_of_pups_without_a_line(cast):
    assert asked(cast, born_alive=4) == ["pups-not-written"]


def test_it_asks_of_a_large_litter(cast):
    assert asked(cast, pups=(PupEntry(),) * 4, born_dead=3) == ["large-litter"]


def test_it_asks_of_a_dam_that_was_sold(cast):
    dam = AnimalFactory(
        herd=cast.herd, sex="sow", litter__born=day("2025"), state="sold", left_on=day("2026-11-01")
    )
    assert asked(cast, dam=dam) == ["dam-sold"]


def test_it_asks_of_a_dam_that_came_after_the_birth(cast):
    dam = AnimalFactory(
        herd=cast.herd, sex="sow", litter__born=day("2025"), came_on=day("2026-11-21")
    )
    assert asked(cast, dam=dam) == ["dam-came-later"]


def test_it_asks_of_a_sire_that_had_long_left(cast):
    boar = AnimalFactory(
        herd=cast.herd,
        sex="boar",
        litter__born=day("2024"),
        state="sold",
        left_on=before_birth(74),
    )
    assert asked(cast, boars=(boar,)) == ["sire-gone"]


def test_it_takes_a_sire_that_left_in_time(cast):
    boar = AnimalFactory(
        herd=cast.herd,
        sex="boar",
        litter__born=day("2024"),
        state="died",
        left_on=before_birth(73),
    )
    assert write(cast, boars=(boar,)).pk


def test_it_takes_a_sire_that_may_have_left_in_time(cast):
    """The month alone is written: its last day, and not its first, is late enough."""
    month = PartialDate(2026, 7)
    last = month.latest + datetime.timedelta(days=73)
    boar = AnimalFactory(
        herd=cast.herd, sex="boar", litter__born=day("2024"), state="sold", left_on=month
    )
    assert asked(cast, boars=(boar,), born=PartialDate.of(last + ONE_DAY)) == ["sire-gone"]
    assert write(cast, dam=cast.tansy, boars=(boar,), born=PartialDate.of(last)).pk


def test_it_shows_questions_beside_what_it_refuses(cast):
    with pytest.raises(RecordRefusedError) as found:
        write(cast, dam=cast.rook, boars=(), pups=(PupEntry(birth_weight_g=400),))
    assert {finding.kind for finding in found.value.findings} == {"refuse", "ask"}
