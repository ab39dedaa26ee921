"""Import a spreadsheet in a real browser: the file is chosen once, previewed, and saved."""

import pytest
from django.urls import reverse
from playwright.sync_api import expect

from herdbook.book.models import Animal
from tests.browser.accessibility import assert_accessible, assert_no_sideways_scroll

HERD = """\
id,name,sire,dam,litter,sex,born,coat,points,seen
11,Larkhill Ash,,,,,2024-05-02,white,overmarked,2024-09-01
12,"Birch of the very long
name",,,,,2025-02-10,,none,2025-08-01
13,,11,12,spring,boar,2026-03-14,white,full,2026-03-30
"""


@pytest.fixture(params=["desktop", "phone"])
def screen(request):
    return request.getfixturevalue(request.param)


def test_it_works(screen, live_server, cast, tmp_path):
    file = tmp_path / "herd.csv"
    file.write_text(HERD)
    screen.goto(live_server.url + reverse("take-in"))
    assert_accessible(screen)
    assert_no_sideways_scroll(screen)

    screen.get_by_label("Pedigree file").set_input_files(file)
    screen.get_by_role("button", name="Preview").click()
    expect(screen.get_by_text("3 animals, 2 founders, 1 litter, 3 checks")).to_be_visible()
    assert_accessible(screen)
    assert_no_sideways_scroll(screen)

    screen.get_by_role("button", name="Import 3 animals").click()
    expect(screen.get_by_text("Tick this box if all of it is right")).to_be_visible()
    assert not Animal.objects.filter(number="11").exists()
    assert_accessible(screen)

    screen.get_by_label("Yes, all of this is right.").check()
    screen.get_by_role("button", name="Import 3 animals").click()
    expect(screen.get_by_text("3 animals imported.")).to_be_visible()
    assert Animal.objects.get(number="13").dam.name == "Birch of the very long name"


def test_it_names_each_fault(screen, live_server, tmp_path):
    file = tmp_path / "herd.csv"
    file.write_text("id,coat,dam\n1,tartan,\n2,,\n3,,1|2\n")
    screen.goto(live_server.url + reverse("take-in"))
    screen.get_by_label("Pedigree file").set_input_files(file)
    screen.get_by_role("button", name="Preview").click()
    told = screen.get_by_role("alert").get_by_role("listitem")
    expect(told).to_contain_text(["row 2, coat: ", "row 4, dam: "])
    assert_accessible(screen)
    assert_no_sideways_scroll(screen)
