"""The pedigree sheet as PDF, read back with pypdf, a reader that has nothing to do with typst."""

import unicodedata

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from herdbook.papers.dose_statement import DoseStatement
from herdbook.papers.exceptions import PrintingError
from herdbook.papers.pedigree_sheet import pedigree_sheet_pdf
from herdbook.papers.sheet import PATHS, Ancestor, Inbreeding, Sheet, SheetAnimal, Weighing
from herdbook.papers.typesetting import printable, printable_characters
from tests.examples import examples

from .samples import ancestors, animal, holds, printed, sheet, squeezed, text_of

A4_LANDSCAPE = (841.89, 595.28)  # points: 297 mm and 210 mm (ISO 216) at 72 to the inch


def test_it_works():
    text = text_of(sheet())
    for said in (
        "Thornmoor Marigold",
        "TM-241",
        "June 2026",
        "a pale toe, sure",
        "Ansel Quillby, Thornmoor",
        "Maud Fenwright, Little Sedge",
        "Osric Tarn",
        "Clean marked (one dose), proved by offspring",
        "Chance: 99.6%.",
        "Mated to selfs: 15 judged pups (7 selfs, 8 clean marked).",
        "6.25%",
        "30 of 30 ancestors in four generations are known",
        "455 g",
        "25 November 2026",
        "Signature of the seller",
        "A vet decides on health",
    ):
        assert squeezed(said) in text
    for path in PATHS:
        assert squeezed(f"Thornmoor {path}") in text
    assert text.count(squeezed("cream, black points")) == 30


def test_it_is_one_a4_page_in_landscape():
    page = printed(sheet()).pages[0]
    assert (float(page.mediabox.width), float(page.mediabox.height)) == pytest.approx(
        A4_LANDSCAPE, abs=0.5
    )


def elements(node, kind):
    """Every structure element of a kind below a node of the tag tree."""
    node = node.get_object()
    if isinstance(node, list):
        return [one for child in node for one in elements(child, kind)]
    if not isinstance(node, dict):
        return []
    own = [node] if node.get("/S") == kind else []
    return own + (elements(node["/K"], kind) if "/K" in node else [])


def test_it_is_tagged_with_a_title_a_language_headings_and_table_headers():
    reader = printed(sheet())
    root = reader.root_object
    assert root["/MarkInfo"]["/Marked"] == True  # noqa: E712 (a PDF boolean, not Python's)
    assert root["/Lang"] == "en-GB"
    assert reader.metadata.title == "Pedigree: Thornmoor Marigold"
    assert "pdfuaid" in root["/Metadata"].get_object().get_data().decode()
    tree = root["/StructTreeRoot"]
    assert len(elements(tree, "/H1")) == 1
    assert len(elements(tree, "/H2")) == 5
    assert len(elements(tree, "/Table")) == 2
    assert len(elements(tree, "/TH")) == 4 + 3
    assert len(elements(tree, "/TD")) == 30 + 2 * 3


def test_its_fonts_are_embedded_and_its_bold_is_a_cut_of_its_own():
    weights = {}
    for font in printed(sheet()).pages[0]["/Resources"]["/Font"].values():
        descendant = font.get_object()["/DescendantFonts"][0].get_object()
        descriptor = descendant["/FontDescriptor"].get_object()
        embedded = descriptor.get("/FontFile2") or descriptor.get("/FontFile3")
        weights[descriptor["/FontName"].split("+")[1]] = embedded.get_object().get_data()
    assert {"FiraSans-Regular", "FiraSans-SemiBold", "FiraSans-Italic"} <= set(weights)
    assert weights["FiraSans-Regular"] != weights["FiraSans-SemiBold"]


def test_a_missing_ancestor_is_a_blank_box_and_no_gap():
    few = sheet(ancestors=ancestors(["s", "sd"]))
    tree = printed(few).root_object["/StructTreeRoot"]
    assert len(elements(tree, "/TD")) == 30 + 2 * 3
    assert "Thornmoord" not in text_of(few)
    assert holds(few, "Dam unknown.")
    assert holds(
        few, "2 of 30 ancestors in four generations are known: 1 of 2, 1 of 4, 0 of 8, 0 of 16."
    )


def test_it_says_plainly_what_is_not_known():
    bare = Sheet(SheetAnimal("", number="N 12"), DoseStatement("unknown"), Inbreeding(None), "2026")
    text = text_of(bare)
    for said in (
        "N 12",
        "Parents unknown.",
        "Not recorded: sex, date of birth, coat colour, point colour, eye colour",
        "Dose not known",
        "not worked out",
        "No ancestors recorded.",
        "No weights recorded.",
    ):
        assert squeezed(said) in text


def test_an_uncertain_sire_is_one_or_the_other():
    uncertain = sheet(ancestors={"s": Ancestor("Bramble", ("Flint", "Rook"))})
    assert holds(uncertain, "Bramble, Flint or Rook")
    assert holds(uncertain, "Sire not certain: Bramble, Flint or Rook.")


def test_a_long_list_of_weights_keeps_the_first_and_the_last():
    weights = tuple(Weighing(f"day {n}", 100 + n) for n in range(40))
    text = text_of(sheet(weights=weights))
    assert "day0100g" in text
    assert "day39139g" in text
    assert squeezed("8 of 40 weighings") in text


@pytest.mark.parametrize(
    "name",
    [
        '#import "@preview/x:0.1.0"',
        "$x^2$",
        "*bold* _slant_",
        "<label> @label",
        "`raw` ```code```",
        "= Heading",
        "// comment /* and */",
        r"\u{41} \ #[x]",
        '"quoted" -- ---',
        "{{ name }} {% if %}",
        "Šárka Þórðr Ωμέγα Ёлка",
    ],
)
def test_nasty_names_stay_as_they_were_written(name):
    one = sheet(
        animal=animal(name=name, tag=name),
        ancestors={"s": Ancestor(name), "dddd": Ancestor(name)},
        seller=name,
    )
    assert text_of(one).count(squeezed(name)) >= 5


def test_names_as_long_as_the_book_takes_are_printed_whole():
    # A stud prefix of 40 and a name of 80 characters are the most that the book holds.
    prefix = "Gooseberry-upon-Thistledown of Sedge Ho"
    name = "Marigold the Second out of Lower Marsh and Upper Fen by the Old Mill at Hay End"
    long = f"{prefix} {name}"
    everywhere = {path: Ancestor(f"{long} {path}", colours="red, black") for path in PATHS}
    text = text_of(sheet(animal=animal(name=long), ancestors=everywhere))
    assert all(squeezed(f"{long} {path}") in text for path in PATHS)
    assert text.count(squeezed("red, black")) == 30


def test_text_beyond_its_box_is_cut_with_an_ellipsis_on_one_page():
    endless, unbroken = "endless words " * 200, "x" * 3000
    everywhere = {path: Ancestor(endless, colours=unbroken) for path in PATHS}
    one = sheet(
        animal=animal(name=unbroken, told_apart=endless),
        ancestors=everywhere,
        breeder=endless,
        seller=unbroken,
        buyer=endless,
        dose=DoseStatement("probable", 2, 0.4, (endless, unbroken)),
        cautions=(endless, unbroken) * 5,
    )
    assert text_of(one).count("…") > 60


def test_it_refuses_a_character_that_it_has_no_shape_for_and_says_where():
    with pytest.raises(PrintingError) as refused:
        pedigree_sheet_pdf(sheet(ancestors={"sd": Ancestor("Pip \U0001f439")}))
    assert refused.value.character == "\U0001f439"
    assert refused.value.field == "sire’s dam"
    assert "U+1F439, HAMSTER FACE" in str(refused.value)


@pytest.mark.parametrize("field", ["breeder", "seller", "buyer", "issued_on"])
def test_the_refusal_names_the_field(field):
    with pytest.raises(PrintingError) as refused:
        pedigree_sheet_pdf(sheet(**{field: "שלום"}))
    labels = sheet().as_data()["labels"]
    assert refused.value.field == labels[field]


def test_plainer_characters_stand_in_for_special_ones():
    assert printable("\uff21\u2011b\tc\u202e\u200b\u200d", "x") == "A-b c"


def test_every_character_that_is_called_printable_prints():
    # All that the fonts hold, in the boldest and the lightest cut, on as many sheets as it takes.
    characters = [
        chr(point)
        for point in sorted(printable_characters())
        if unicodedata.category(chr(point))[0] not in "ZC"
    ]
    for start in range(0, len(characters), 600):
        some = "".join(characters[start : start + 600])
        assert printed(sheet(animal=animal(name=some), seller=some, breeder=some))


anything = st.text(max_size=300)


@settings(max_examples=examples(40))
@given(name=anything, number=anything, seller=anything, other=anything, ground=anything)
def test_any_text_is_printed_on_one_page_or_refused_by_name(name, number, seller, other, ground):
    one = sheet(
        animal=animal(name=name, tag=number),
        ancestors={"s": Ancestor("A", (name, other)), "ddss": Ancestor("B", colours=other)},
        seller=seller,
        dose=DoseStatement("probable", 0, 0.5, (ground, name)),
    )
    written = unicodedata.normalize("NFC", "\n".join((name, number, seller, other, ground)))
    refused = None
    try:
        printed(one)
    except PrintingError as reason:
        refused = reason
    assert refused is None or refused.character in written


latin = st.text(
    st.characters(codec="latin-1", categories=["L", "N", "P", "S", "Zs", "M", "Cf"]), max_size=400
)


@settings(max_examples=examples(40))
@given(name=latin, seller=latin, other=latin, born=latin)
def test_western_text_always_prints(name, seller, other, born):
    printed(
        sheet(
            animal=animal(name=name, born=born),
            ancestors={path: Ancestor("A" + name, colours=other, born=born) for path in PATHS},
            seller=seller,
        )
    )


def test_what_is_written_stands_beside_what_all_records_say():
    made = Inbreeding(0.1244, full_generations=4, deepest_generation=6, as_written=0.0625)
    one = sheet(inbreeding=made)
    assert holds(one, "12.44%")
    said = "Possible sires are weighted by all records; as entered it would be 6.25%."
    assert holds(one, said)
    assert not holds(sheet(), "Possible sires")
