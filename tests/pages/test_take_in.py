"""Import a spreadsheet through the page: previewed, asked about, saved once."""

import html
import re

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from herdbook.book.models import Animal, Answer, ChangeSet
from tests.factories import AnimalFactory

HERD = """\
id,name,sire,dam,litter,born,coat
11,Ash,,,,2024-01-05,white
12,Birch,,,,2024-02-05,cream
13,"Cedar, the ""old""\n one",11,12,A,2025-03-01,white
14,,11,12,A,2025-03-01,white
"""
YOUNG = "id,sire,dam,born\n11,,,2025-01-01\n12,,,2025-01-01\n13,11,12,2025-03-20\n"


@pytest.fixture
def client(owner_client, today):
    return owner_client


def look(client, text, **more):
    """Choose a file and ask for the preview."""
    data = text if isinstance(text, bytes) else text.encode()
    sent = {
        "submission_key": "one",
        "state": "in_herd",
        "coat": "white",
        "step": "look",
        "file": SimpleUploadedFile("herd.csv", data, "text/csv"),
        **more,
    }
    return client.post(reverse("take-in"), sent)


def sent_on(response, form=0):
    """What a browser would send of a form on the page: its hidden fields."""
    page = response.content.decode()
    forms = re.findall(r"<form method=\"post\".*?</form>", page, re.S)
    own = [shown for shown in forms if reverse("sign-out") not in shown][form]
    found = {}
    for tag in re.findall(r"<input type=\"hidden\"[^>]*>", own):
        name = re.search(r'name="([^"]*)"', tag)[1]
        value = re.search(r'value="([^"]*)"', tag)
        # A browser sends every line end of a form as CR LF.
        found[name] = re.sub(r"\r?\n", "\r\n", html.unescape(value[1])) if value else ""
    found.pop("csrfmiddlewaretoken")
    return found


def write(client, shown, **more):
    return client.post(reverse("take-in"), sent_on(shown) | {"step": "write", **more})


def test_it_works(client, cast):
    before = Animal.objects.count()
    shown = look(client, HERD)
    page = shown.content.decode()
    assert "Preview: nothing is saved yet" in page
    assert "Import 4 animals" in page
    assert Animal.objects.count() == before
    done = write(client, shown)
    assert done.status_code == 302
    assert Animal.objects.filter(herd=cast.herd).count() == before + 4
    cedar = Animal.objects.get(number="13")
    assert cedar.name == 'Cedar, the "old" one'
    assert (cedar.dam.name, [boar.name for boar in cedar.litter.candidate_boars]) == (
        "Birch",
        ["Ash"],
    )
    page = client.get(done["Location"]).content.decode()
    assert "4 animals imported." in page
    assert "Cedar" in page


def test_a_double_tap_writes_once(client):
    shown = look(client, HERD)
    changes = ChangeSet.objects.count()
    first, second = write(client, shown), write(client, shown)
    assert (first.status_code, second.status_code) == (302, 302)
    assert ChangeSet.objects.count() == changes + 1
    assert "This file is already imported." in client.get(second["Location"]).content.decode()


def test_the_same_file_again_is_refused_by_its_numbers(client):
    write(client, look(client, HERD))
    page = look(client, HERD, submission_key="two").content.decode()
    assert "row 2, id: No. &#x27;11&#x27; is already in the herd" in page
    assert "Import 4 animals" not in page


def test_a_fault_in_the_last_row_writes_nothing(client):
    before = Animal.objects.count()
    response = look(client, HERD + "15,,,,,,tartan\n", step="write")
    page = response.content.decode()
    assert "Nothing was imported" in page
    assert "row 6, coat: " in page  # as a spreadsheet counts: the line break in a name is no row
    assert Animal.objects.count() == before


def test_the_choices_stay_when_the_file_is_faulty(client):
    page = look(client, "id\n1\n1\n", state="paper", coat="buff", since="2022-01-01")
    form = page.context["form"]
    chosen = [form[name].value() for name in ("state", "coat", "since")]
    assert chosen == ["paper", "buff", "2022-01-01"]


def test_it_can_be_shown_again_otherwise_without_choosing_the_file_again(client):
    shown = look(client, HERD)
    sent = sent_on(shown, form=1) | {"state": "in_herd", "coat": "white", "step": "look"}
    again = client.post(reverse("take-in"), sent | {"since": "2025-01-01"})
    assert "2 born on or after 1 January 2025 will be in the herd" in again.content.decode()
    write(client, again)
    states = Animal.objects.filter(number__in=["11", "12", "13", "14"]).order_by("number")
    assert [animal.state for animal in states] == ["paper", "paper", "in_herd", "in_herd"]


def test_what_is_hard_to_believe_needs_a_word(client):
    before = Animal.objects.count()
    shown = look(client, YOUNG)
    assert "Row 4: No. 11 was at most 19 days old" in shown.content.decode()
    refused = write(client, shown)
    assert refused.status_code == 200
    assert "Tick this box if all of it is right" in refused.content.decode()
    assert Animal.objects.count() == before
    assert write(client, refused, so="on").status_code == 302
    assert Answer.objects.count() == 2


def test_a_question_that_was_not_shown_is_not_answered(client, cast):
    text = "id\nFern\n"
    shown = look(client, text)
    AnimalFactory(herd=cast.herd, name="Fern")  # meanwhile, by someone else
    refused = write(client, shown, so="on")
    assert refused.status_code == 200
    page = refused.content.decode()
    assert "Is this another animal?" in page
    assert "checked" not in re.search(r'<input type="checkbox" name="so"[^>]*>', page)[0]
    assert write(client, refused, so="on").status_code == 302


def test_nasty_names_stay_text(client):
    text = 'id,name,breeder\n=cmd,<b>Fern</b>,"<script>alert(1)</script>"\n\'"><i>,,\n'
    shown = look(client, text)
    page = shown.content.decode()
    assert "&lt;b&gt;Fern&lt;/b&gt;" in page
    for raw in ("<b>Fern", "<script>alert", '"><i>'):
        assert raw not in page
    done = write(client, shown)
    assert Animal.objects.get(breeder="<script>alert(1)</script>").name == "<b>Fern</b>"
    assert "<b>Fern" not in client.get(done["Location"]).content.decode()


def test_another_herds_numbers_do_not_clash(client, cast, other_herd):
    client.force_login(other_herd[0])
    taken = "id\n" + "".join(f"{number}\n" for number in range(1, 7))
    write(client, look(client, taken))
    assert Animal.objects.filter(herd=other_herd[1]).count() == 6


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "This file is empty. Choose another."),
        (b"id,name\n1,\xff\n", "not UTF-8"),
        (b"id;name\n1;Ash\n", "separated by semicolons"),
        (b"id\n1\n" + b" " * (2 * 1024 * 1024), "larger than 2 MB"),
    ],
)
def test_a_file_that_is_none_says_what_to_do(data, words, client):
    response = look(client, data)
    assert response.status_code == 200
    assert words in response.content.decode()


def test_it_asks_for_a_file(client):
    sent = {"submission_key": "one", "state": "in_herd", "coat": "white", "step": "look"}
    page = client.post(reverse("take-in"), sent).content.decode()
    assert "Choose the file with your herd." in page


def test_an_empty_book_and_the_list_lead_here(client, other_herd):
    where = f'href="{reverse("take-in")}"'
    assert where in client.get(reverse("animals")).content.decode()
    client.force_login(other_herd[0])
    assert where in client.get(reverse("home")).content.decode()
