"""The file of loci, and what the book's words say of each gene."""

import numpy as np
import pytest

from genetics.core.inheritance.loci import FIELDS, genes, merged, read_genes
from herdbook.book.models.animal import Coat, EyeColour, PointColour

GOOD = """
[[locus]]
key = "tail"
alleles = ["T", "t"]
dominance = "complete"
source = "made up"
standing = "made up"
misrecorded = 0.1
frequencies = [0.6, 0.4]
shown = "long"
words = [{ when = { coat = ["red"] }, classes = ["long"] }]
[locus.classes]
short = ["T/T", "T/t"]
long = ["t/t"]
"""


def read(tmp_path, text):
    file = tmp_path / "some.toml"
    file.write_text(text, encoding="utf-8")
    return read_genes(file)


def test_it_works(tmp_path):
    gene = read(tmp_path, GOOD)["tail"]
    assert gene.names == ("T/T", "T/t", "t/t")
    assert gene.pool == pytest.approx([0.36, 0.48, 0.16])
    assert gene.likelihood({"coat": {"red"}}) == pytest.approx([0.016, 0.016, 0.916])
    assert gene.likelihood({"coat": {"puce"}}) == pytest.approx([1, 1, 1])
    assert gene.shows({"coat": {"red"}}) == "long"
    assert gene.phenotypes(np.array([0.5, 0.25, 0.25])) == pytest.approx([0.75, 0.25])
    assert gene.carries(np.array([0.5, 0.25, 0.25])) == pytest.approx(0.25)


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ('"T/T", "T/t"]', '"T/T"]', "T/T, T/t, t/t once"),
        ("[0.6, 0.4]", "[0.6, 0.3]", "summing to one"),
        ("misrecorded = 0.1", "misrecorded = 0.6", "from 0 to a half"),
        ('shown = "long"', 'shown = "bent"', "'bent' is not one of short, long"),
        ("when = { coat", "when = { colour", "no field of the book is called colour"),
        (
            'short = ["T/T", "T/t"]\nlong = ["t/t"]',
            'short = ["T/T", "t/t"]\nlong = ["T/t"]',
            "no allele, doubled, makes the class that is shown",
        ),
        ('key = "tail"', 'key = ""', "a key of its own"),
    ],
)
def test_it_refuses_a_locus_that_cannot_be(tmp_path, old, new, said):
    with pytest.raises(ValueError, match="some.toml") as error:
        read(tmp_path, GOOD.replace(old, new))
    assert said in str(error.value)


def test_it_refuses_a_locus_twice(tmp_path):
    with pytest.raises(ValueError, match="a key of its own"):
        read(tmp_path, GOOD + GOOD)


@pytest.mark.parametrize("gene", genes().values(), ids=genes())
def test_every_locus_says_where_it_comes_from(gene):
    assert gene.dominance
    assert gene.source
    assert gene.standing
    assert gene.pool.sum() == pytest.approx(1)
    assert gene.shown is None or gene.carried


@pytest.mark.parametrize("gene", genes().values(), ids=genes())
def test_words_are_the_books_own(gene):
    words = {
        "coat": set(Coat.values),
        "point_colour": set(PointColour.values),
        "eye_colour": set(EyeColour.values),
    }
    for rule in gene.rules:
        for field, wanted in rule.when.items():
            assert field in FIELDS
            if field in words:
                assert set(wanted) <= words[field] - {""} | {"any"}


@pytest.mark.parametrize("gene", genes().values(), ids=genes())
def test_chances_of_all_classes_written_sum_to_one(gene):
    # each class written alone: the rows of one genotype are a distribution over what is written
    single = [rule for rule in gene.rules if len(rule.classes) == 1]
    written = {rule.classes[0]: rule for rule in single}
    if len(written) < len(gene.classes):
        return
    rows = [
        gene.likelihood({field: {words[0]} for field, words in rule.when.items()})
        for rule in written.values()
    ]
    assert np.sum(rows, axis=0) == pytest.approx(1)


def test_a_white_coat_says_nothing_of_what_it_may_hide():
    white = {"coat": {"white"}, "eye_colour": set(), "coat_type": {"plain"}}
    for key in ("extension", "spotting", "roan", "pink eye"):
        assert genes()[key].said(white) is None, key


def test_a_lethal_white_speaks_for_roan_doubled_alone():
    lethal = {"coat": {"lethal"}, "eye_colour": set(), "coat_type": set()}
    assert genes()["roan"].shows(lethal) == "lethal white"
    assert genes()["roan"].bears_sign(lethal)
    assert [key for key, gene in genes().items() if gene.said(lethal) is not None] == ["roan"]


def test_a_pink_eye_tells_on_a_coloured_coat_only():
    gene = genes()["pink eye"]
    assert gene.shows({"eye_colour": {"pink"}, "coat": {"red"}}) == "pink"
    assert gene.said({"eye_colour": {"pink"}, "coat": {"white"}}) is None


def test_nothing_is_inferred_from_what_sources_disagree_on():
    gene = genes()["albino"]
    assert "Sources disagree on what parts red, golden and buff" in gene.disputed
    rows = [gene.likelihood({"coat": {coat}}).tolist() for coat in ("red", "golden", "buff")]
    assert rows[0] == rows[1] == rows[2]


def test_points_are_read_from_looks_and_not_from_words():
    assert genes()["points"].rules == ()


def test_alleles_that_look_alike_are_worked_out_as_one():
    gene = genes()["albino"]
    fewer = merged(gene)
    assert fewer.alleles == ("C", "ck or cd", "cr or ca")
    assert fewer.phenotypes(fewer.pool) == pytest.approx(gene.phenotypes(gene.pool))
    assert fewer.carries(fewer.pool) == pytest.approx(gene.carries(gene.pool))
    assert merged(genes()["chocolate"]).class_of == genes()["chocolate"].class_of


def test_what_is_carried_follows_from_the_classes():
    # an allele that an animal has and does not show, and that its pups may show: by hand
    carried = {
        key: {gene.names[number] for number in gene.carried} for key, gene in genes().items()
    }
    assert carried["points"] == set()
    assert carried["extension"] == {"E/e", "ep/e"}
    assert carried["roan"] == {"rn/Rn"}
    assert carried["satin"] == {"Sa/sa"}
    assert carried["albino"] == {
        "C/cr", "C/ca", "ck/cr", "ck/ca", "cd/cr", "cd/ca",
    }  # fmt: skip


def test_every_cream_carries_white():
    gene = genes()["albino"]
    assert gene.must_carry({"coat": {"cream"}})
    assert not gene.must_carry({"coat": {"white"}}), "it shows it"
    assert not gene.must_carry({"coat": {"golden"}})
    assert not gene.must_carry({})
    cream = gene.pool * gene.likelihood({"coat": {"cream"}})
    assert gene.carries(cream / cream.sum()) > 0.95


def test_a_sign_is_seen_in_words_that_leave_nothing_else_open():
    assert genes()["albino"].bears_sign({"coat": {"white"}})
    assert not genes()["albino"].bears_sign({"coat": {"cream"}})
    assert genes()["roan"].bears_sign({"coat_type": {"roan"}})
    assert not genes()["roan"].bears_sign({"coat_type": {"patches"}})


@pytest.mark.parametrize("gene", genes().values(), ids=genes())
def test_a_rare_word_is_seldom_a_slip(gene):
    for rule in gene.rules:
        words = {field: {said[0]} for field, said in rule.when.items()}
        posterior = gene.pool * gene.likelihood(words)
        posterior /= posterior.sum()
        open_to = np.isin(gene.class_of, rule.classes)
        assert posterior[open_to].sum() >= 1 - gene.misrecorded - 1e-12
