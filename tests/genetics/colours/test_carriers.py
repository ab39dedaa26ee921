"""What animals may carry unseen, and what colours a litter to be will show, from the book."""

import pytest

from genetics.colours.carriers import Kin, compute_carried, hands_on, may_carry, read_looks
from genetics.colours.litter import litter_colours
from genetics.core.inheritance.loci import genes
from genetics.figures.refresh import ensure_current
from genetics.models import Carried
from herdbook.book.models import Animal, Book
from herdbook.book.partial_date import PartialDate
from tests.factories import AnimalFactory, LitterFactory, LookFactory

HOME = {"source": "home", "born": PartialDate(2026, 2, 1), "born_dead": 0}
BLACK = {"coat": "cream", "point_colour": "black"}
CHOCOLATE = {"coat": "cream", "point_colour": "chocolate"}


@pytest.fixture
def family(cast):
    """`family(sire, dam, *pups)`: looks of a boar, a sow and their pups, as (boar, sow, pups)."""

    def make(sire, dam, *pups):
        boar = AnimalFactory(herd=cast.herd, sex="boar", **sire)
        sow = AnimalFactory(herd=cast.herd, sex="sow", **dam)
        litter = LitterFactory(herd=cast.herd, dam=sow, boars=[boar], **HOME)
        made = [AnimalFactory(herd=cast.herd, litter=litter, **pup) for pup in pups]
        return boar, sow, made

    return make


def told(animal, gene):
    found = [one for one in may_carry(animal) if one.gene == gene]
    return found[0] if found else None


def test_it_works(family):
    # Mendel: a black pup of a chocolate dam carries chocolate, but for a slip in the records
    _boar, sow, (black, chocolate) = family(BLACK, CHOCOLATE, BLACK, CHOCOLATE)
    carried = told(black, "chocolate")
    assert carried.chance > 0.97
    assert carried.error == 0
    assert carried.kin == Kin(dam=True, littermates=1)
    assert told(chocolate, "chocolate") is None, "it shows it"
    assert told(sow, "chocolate") is None


def test_a_black_littermate_of_a_chocolate_carries_two_times_in_three(family):
    # Ogino and Wilson 2004, the sib of a recessive: 2 in 3, moved a little by rates of slips
    boar, _sow, (black, _chocolate) = family(BLACK, BLACK, BLACK, CHOCOLATE)
    assert told(black, "chocolate").chance == pytest.approx(2 / 3, abs=0.02)
    assert told(boar, "chocolate").chance > 0.85
    assert told(boar, "chocolate").kin == Kin(pups=1, pups_noted=2)


def test_a_self_may_hide_it_doubled(family):
    # Mendel: of a chocolate and a carrier half carry it, half are chocolate; a self shows neither
    _boar, _sow, (plain, _chocolate) = family(BLACK, CHOCOLATE, {"coat": "cream"}, CHOCOLATE)
    carried = told(plain, "chocolate")
    assert carried.chance == pytest.approx(1 / 2, abs=0.03)
    assert carried.doubled == pytest.approx(1 / 2, abs=0.03)
    assert hands_on([plain], "chocolate")[plain.pk] == pytest.approx(3 / 4, abs=0.03)


def test_a_self_of_two_chocolates_is_told_of(family):
    _boar, _sow, (plain,) = family(CHOCOLATE, CHOCOLATE, {"coat": "cream"})
    assert told(plain, "chocolate").doubled > 0.95
    assert told(plain, "extension") is None, "the red series is no news"


def test_a_cream_carries_white_where_no_white_was_born(family):
    # by the table: a cream is one dose of cr or ca beside ck or cd; half its pups get that dose
    golden = {"coat": "golden"}
    _boar, sow, (pup, cream) = family(golden, BLACK, golden, BLACK)
    carried = told(sow, "albino")
    assert carried.chance > 0.95
    assert carried.kin == Kin(own=True, pups_noted=2, never_shown=True)
    assert told(cream, "albino").kin == Kin(own=True, dam_carries=True, never_shown=True)
    assert 0.2 < told(pup, "albino").chance < 0.8
    assert told(pup, "albino").kin == Kin(dam_carries=True, never_shown=True)


def test_a_litter_of_cream_to_cream_carries_white(family):
    boar, sow, _pups = family(BLACK, BLACK)
    (carried,) = (one for one in litter_colours(sow, boar).carriers if one.gene == "albino")
    assert carried.chance > 0.45, "the cream half, and of the golden those with cr or ca"


def test_colours_speak_once_for_a_possible_sire(family, cast):
    # By hand, errors of writing left out: the black boar carries with c = 2 pq / (p p + 2 pq); the
    # chocolate pup is the other's for sure or his with c / 2, each by an even chance at first
    chocolate, sow, _pups = family(CHOCOLATE, CHOCOLATE)
    black = AnimalFactory(herd=cast.herd, sex="boar", **BLACK)
    litter = LitterFactory(herd=cast.herd, dam=sow, boars=[chocolate, black], **HOME)
    AnimalFactory(herd=cast.herd, litter=litter, **CHOCOLATE)
    ensure_current()
    c = 2 * 0.85 * 0.15 / (1 - 0.15**2)
    by_hand = (c + c / 2) / (1 + c / 2)
    assert told(black, "chocolate").chance == pytest.approx(by_hand, abs=0.02)


def test_pups_that_do_not_show_it_speak_against_it(family, cast):
    boar, _sow, _pups = family(BLACK, CHOCOLATE, *[BLACK] * 6)
    unproved = AnimalFactory(herd=cast.herd, **BLACK)
    carried = told(boar, "chocolate")
    assert carried is None or carried.chance < 0.05
    assert told(unproved, "chocolate") is None, "no kin of it show it"


def test_where_nobody_shows_it_nothing_is_said(family):
    boar, _sow, _pups = family(BLACK, BLACK, BLACK)
    assert told(boar, "chocolate") is None
    assert told(boar, "satin") is None


def test_satin_in_a_pup_proves_both_parents(family):
    plain = {"coat_type": "plain", "coat": "red"}
    boar, sow, _pups = family(plain, plain, {"coat_type": "satin", "coat": "red"}, plain)
    assert told(boar, "satin").chance > 0.75
    assert told(sow, "satin").chance > 0.75


def test_it_is_kept_until_the_book_moves_on(family):
    boar, _sow, _pups = family(BLACK, BLACK, CHOCOLATE)
    may_carry(boar)
    Carried.objects.update(found={})
    assert may_carry(boar) == ()
    book, _new = Book.objects.get_or_create(pk=1)
    book.revision += 1
    book.save()
    assert told(boar, "chocolate") is not None


def test_every_animal_is_worked_out(family):
    family(BLACK, BLACK, CHOCOLATE)
    compute_carried()
    assert Carried.objects.count() == Animal.objects.count()


def test_a_large_book_is_worked_out_by_a_job(family, monkeypatch):
    boar, sow, _pups = family(BLACK, BLACK, CHOCOLATE)
    started = []
    monkeypatch.setattr("genetics.colours.carriers.AT_ONCE", 1)
    monkeypatch.setattr("genetics.colours.litter.AT_ONCE", 1)
    monkeypatch.setattr("genetics.jobs.start", lambda kind, work, **how: started.append(kind))
    assert may_carry(boar) is None
    assert started == ["reckon the colours"]
    assert litter_colours(sow, boar) is None


def test_words_that_are_not_in_the_table_say_nothing(cast):
    AnimalFactory(herd=cast.herd, coat="other", eye_colour="other", point_colour="")
    looks = read_looks()
    assert all(not any(words.values()) for words in looks.words[-1:])
    for gene in genes().values():
        assert (looks.likelihood(gene)[-1] == 1).sum() >= len(gene.pool) - 1


def test_a_litter_of_chocolate_to_chocolate(family):
    # Mendel: recessive to recessive gives nothing else, but for slips
    boar, sow, _pups = family(CHOCOLATE, CHOCOLATE)
    found = litter_colours(sow, boar)
    assert found.points[0].name == "chocolate"
    assert found.points[0].chance > 0.9
    assert found.error == 0


def test_a_litter_of_cream_to_cream(family):
    # Mendel, one dose of dilution each: a quarter coloured, half cream, a quarter white
    boar, sow, _pups = family(BLACK, BLACK)
    bodies = {one.name: one.chance for one in litter_colours(sow, boar).bodies}
    assert bodies["cream"] == pytest.approx(0.5, abs=0.05)
    assert bodies["white"] == pytest.approx(0.25, abs=0.06)
    assert bodies["red, golden or buff"] == pytest.approx(0.25, abs=0.06)


def test_roan_to_roan(family):
    # Mendel: a quarter doubled at birth; of those that live two in three are roan
    roan = {"coat": "black", "coat_type": "roan"}
    boar, sow, _pups = family(roan, roan)
    found = litter_colours(sow, boar)
    assert found.chance("roan", "lethal white") == pytest.approx(0.25, abs=0.03)
    assert found.chance("roan", "roan") == pytest.approx(0.5, abs=0.03)
    assert found.roan_weaned == pytest.approx(2 / 3, abs=0.03)


def test_roan_may_hide_under_a_white_body(family, cast):
    white = {"coat": "white", "coat_type": "plain", "point_colour": "black"}
    roan, red = {"coat": "red", "coat_type": "roan"}, {"coat": "red", "coat_type": "plain"}
    _boar, _sow, (hidden, plain) = family(roan, red, white, red)
    assert told(hidden, "roan").chance == pytest.approx(0.5, abs=0.05)
    plainly = told(plain, "roan")
    assert plainly is None or plainly.chance < 0.06


WHITE = {"coat": "white"}
GOLDEN = {"coat": "golden"}
ROAN = {"coat": "golden", "coat_type": "roan"}


def test_a_lethal_white_speaks_for_roan_in_both_parents(family):
    # Mendel: doubled roan takes a roan from each; of the albino series it says nothing
    boar, sow, _pups = family(WHITE, WHITE, GOLDEN, GOLDEN, GOLDEN, {"coat": "lethal"})
    assert told(boar, "roan").chance > 0.9
    assert told(sow, "roan").chance > 0.9
    assert told(sow, "roan").kin.pups == 1
    plain, _sow, _pups = family(GOLDEN, GOLDEN, GOLDEN, GOLDEN, GOLDEN, {"coat": "lethal"})
    assert told(plain, "albino") is None


def white_of(animal):
    found = told(animal, "albino")
    return 0.0 if found is None else found.chance


def test_a_white_pup_of_two_roans_says_nothing_of_the_albino_gene(family):
    boar, _sow, _pups = family(ROAN, ROAN, GOLDEN, GOLDEN, GOLDEN, WHITE)
    assert white_of(boar) < 0.3
    other, _sow, _pups = family(ROAN, GOLDEN, GOLDEN, GOLDEN, GOLDEN, WHITE)
    assert white_of(other) > 0.6


@pytest.mark.parametrize(
    "said", [{"point_colour": "black"}, {"coat_type": "plain"}, {"state": "sold"}]
)
def test_a_white_pup_of_two_roans_that_is_no_lethal_one_counts(family, said):
    boar, _sow, _pups = family(ROAN, ROAN, GOLDEN, GOLDEN, GOLDEN, WHITE | said)
    assert white_of(boar) > 0.6


def test_a_white_pup_of_two_roans_that_was_seen_grown_counts(family):
    boar, _sow, pups = family(ROAN, ROAN, GOLDEN, GOLDEN, GOLDEN, WHITE)
    LookFactory(animal=pups[-1], on="2026-03-15", stage="none")
    assert white_of(boar) > 0.6
    assert told(pups[-1], "roan").doubled == 0


def test_an_animal_that_is_its_own_ancestor_gives_nothing(cast):
    cast.march_litter.__class__.objects.filter(pk=cast.wren.litter_id).update(dam=cast.sorrel)
    assert litter_colours(cast.tansy, cast.bramble) is None
    assert may_carry(cast.tansy) is None
    assert not Carried.objects.exists()


def test_what_is_handed_on(family, cast):
    plain = {"coat_type": "plain", "coat": "red"}
    boar, _sow, (satin, _other) = family(plain, plain, {"coat_type": "satin", "coat": "red"}, plain)
    carried = told(boar, "satin")
    found = hands_on([boar, satin, cast.tansy], "satin")
    assert found == {boar.pk: carried.chance / 2, satin.pk: 1.0, cast.tansy.pk: 0.0}
    assert hands_on([AnimalFactory(herd=cast.herd, coat_type="roan")], "roan").popitem()[1] == 0.5
