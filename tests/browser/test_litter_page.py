"""The page of a new litter in a real browser: its taps counted, on a phone and a wide screen."""

import re

import pytest
from playwright.sync_api import expect

from herdbook.book.models import Litter
from tests.browser.accessibility import assert_accessible, assert_no_sideways_scroll
from tests.factories import AnimalFactory

MOST_TAPS = 25

# Counts what the keeper does: each press of a finger or mouse button, and each key that is no digit
# typed into a weight. It counts in the browser itself and keeps the sum from page to page.
COUNTER = """
(() => {
  const add = (what) => {
    const taps = JSON.parse(sessionStorage.getItem("taps") || "[]");
    taps.push(what);
    sessionStorage.setItem("taps", JSON.stringify(taps));
  };
  const nameOf = (element) => (element.textContent || element.name || "").trim().slice(0, 30);
  const isDigitOfWeight = (event) =>
    /^[0-9]$/.test(event.key) && event.target.name?.endsWith("-birth_weight_g");
  addEventListener("pointerdown", (event) => add("tap " + nameOf(event.target)), true);
  addEventListener("keydown", (event) => {
    if (!isDigitOfWeight(event)) add("key " + event.key);
  }, true);
})();
"""
WEIGHTS = ["98", "102", "87", "95"]


@pytest.fixture(params=["phone", "desktop"])
def screen(request, today, live_server):
    """A page on either screen; `tap` is a touch on the phone and a click on the desk."""
    page = request.getfixturevalue(request.param)
    page.tap_it = lambda locator: locator.tap() if request.param == "phone" else locator.click()
    page.address = live_server.url
    return page


def taps_of(page):
    return page.evaluate("JSON.parse(sessionStorage.getItem('taps') || '[]')")


def record_four(page, dam, boar):
    """A litter of four with sexes and weights, from the dam's page to the save."""
    page.goto(f"{page.address}/animals/{dam.public_id}/")
    page.evaluate("sessionStorage.setItem('taps', '[]')")
    page.tap_it(page.get_by_role("main").get_by_role("link", name="New litter"))
    page.tap_it(page.get_by_text(boar.label, exact=True))
    for sex in ("+ Boar", "+ Sow", "+ Sow", "+ Boar"):
        page.tap_it(page.get_by_role("button", name=sex, exact=True))
    page.tap_it(page.get_by_label("Birth weight (g)").first)
    for weight in WEIGHTS:
        page.keyboard.type(weight)
        page.keyboard.press("Enter")
    page.tap_it(page.get_by_role("button", name="Save"))
    page.wait_for_url(re.compile(r"/litters/[0-9a-f-]{36}/$"))


def test_it_works(screen, cast):
    screen.add_init_script(COUNTER)
    record_four(screen, cast.wren, cast.bramble)
    litter = Litter.objects.latest("pk")
    assert litter.candidate_boars == [cast.bramble]
    assert str(litter.born) == "2026-11-25"
    assert [(pup.sex, pup.birth_weight_g, pup.coat) for pup in litter.pups.order_by("pk")] == [
        ("boar", 98, "white"),
        ("sow", 102, "white"),
        ("sow", 87, "white"),
        ("boar", 95, "white"),
    ]
    taps = taps_of(screen)
    # The listener did listen: a tap for each pup, an Enter after each weight, the first, the last.
    assert sum(tap.startswith("tap + ") for tap in taps) == 4
    assert taps.count("key Enter") == 4
    assert taps[0] == "tap New litter"
    assert taps[-1].startswith("tap Save")
    assert len(taps) <= MOST_TAPS, taps
    assert screen.get_by_role("status").filter(has_text="a litter of 4 pups").count() == 1
    for number in ("7", "8", "9", "10"):
        assert screen.get_by_role("link", name=f"No. {number}", exact=True).is_visible()


def test_26_taps_would_be_seen(screen, cast):
    """The counter does not stop short: as many taps as were made are counted."""
    screen.add_init_script(COUNTER)
    screen.goto(f"{screen.address}/litters/new/?dam={cast.wren.public_id}")
    screen.evaluate("sessionStorage.setItem('taps', '[]')")
    more = screen.get_by_role("button", name="One more: Born dead")
    for _ in range(MOST_TAPS + 1):
        screen.tap_it(more)
    assert len(taps_of(screen)) == MOST_TAPS + 1


def test_a_double_tap_writes_once(screen, cast):
    litters = Litter.objects.count()
    screen.goto(f"{screen.address}/litters/new/?dam={cast.wren.public_id}")
    screen.tap_it(screen.get_by_role("button", name="+ Sow"))
    save = screen.get_by_role("button", name="Save")
    save.dblclick()
    screen.wait_for_url(re.compile(r"/litters/[0-9a-f-]{36}/$"))
    assert Litter.objects.count() == litters + 1


def test_a_question_is_answered_and_nothing_typed_is_lost(screen, cast):
    screen.goto(f"{screen.address}/litters/new/?dam={cast.wren.public_id}")
    screen.tap_it(screen.get_by_role("button", name="+ Sow"))
    screen.get_by_label("Birth weight (g)").fill("400")
    screen.get_by_text("Identification, name, tag", exact=False).click()
    screen.get_by_label("Details of the mark").fill("white blaze")
    screen.tap_it(screen.get_by_role("button", name="Save"))
    screen.tap_it(screen.get_by_label("Yes, that's right.", exact=False))
    assert screen.get_by_label("Birth weight (g)").input_value() == "400"
    assert screen.get_by_label("Details of the mark").input_value() == "white blaze"
    assert_accessible(screen)
    assert_no_sideways_scroll(screen)
    screen.tap_it(screen.get_by_role("button", name="Save"))
    screen.wait_for_url(re.compile(r"/litters/[0-9a-f-]{36}/$"))
    pup = Litter.objects.latest("pk").pups.get()
    assert (pup.birth_weight_g, pup.sex, pup.told_apart_note) == (400, "sow", "white blaze")


def test_a_refusal_is_met_first_and_stands_in_words(screen, cast):
    screen.goto(f"{screen.address}/litters/new/")
    screen.get_by_label("Dam", exact=True).fill("Rook")
    screen.tap_it(screen.get_by_role("button", name="+ Sow"))
    screen.tap_it(screen.get_by_role("button", name="Save"))
    screen.get_by_text("is a boar: choose a sow").wait_for()
    expect(screen.locator(".faults")).to_be_focused()
    assert screen.get_by_label("Dam", exact=True).get_attribute("aria-invalid") == "true"
    assert screen.locator(".pup").count() == 1
    assert_accessible(screen)


def test_lines_follow_the_count_and_one_is_taken_out(screen, cast):
    screen.goto(f"{screen.address}/litters/new/?dam={cast.wren.public_id}")
    alive = screen.get_by_label("Born alive", exact=True)
    assert (alive.input_value(), screen.locator(".pup").count()) == ("0", 0)
    for _ in range(3):
        screen.tap_it(screen.get_by_role("button", name="One more: Born alive"))
    assert (alive.input_value(), screen.locator(".pup").count()) == ("3", 3)
    middle = screen.locator(".pup").nth(1)
    screen.tap_it(screen.locator(".pup").nth(2).get_by_text("Sow", exact=True))
    screen.tap_it(middle.get_by_role("button", name="Delete"))
    assert (alive.input_value(), screen.locator(".pup").count()) == ("2", 2)
    assert screen.locator(".own-number").all_inner_texts() == ["7", "8"]
    screen.tap_it(screen.get_by_role("button", name="Save"))
    screen.wait_for_url(re.compile(r"/litters/[0-9a-f-]{36}/$"))
    assert [pup.sex for pup in Litter.objects.latest("pk").pups.order_by("pk")] == ["", "sow"]


def test_the_first_click_on_save_counts_where_the_number_was_typed_last(desktop, cast, live_server):
    desktop.goto(f"{live_server.url}/litters/new/?dam={cast.wren.public_id}")
    alive = desktop.get_by_label("Born alive", exact=True)
    alive.click()
    alive.press("ControlOrMeta+a")
    desktop.keyboard.type("5")
    save = desktop.get_by_role("button", name="Save")
    save.scroll_into_view_if_needed()
    place = save.bounding_box()
    # A hand rests on the button: the press and its release are two things, in one place.
    desktop.mouse.move(place["x"] + place["width"] / 2, place["y"] + place["height"] / 2)
    desktop.mouse.down()
    desktop.wait_for_timeout(100)
    desktop.mouse.up()
    desktop.wait_for_url(re.compile(r"/litters/[0-9a-f-]{36}/$"))
    assert Litter.objects.latest("pk").pups.count() == 5


def test_a_number_that_is_typed_anew_loses_no_pup_that_was_written_on(desktop, cast, live_server):
    desktop.goto(f"{live_server.url}/litters/new/?dam={cast.wren.public_id}")
    alive = desktop.get_by_label("Born alive", exact=True)
    alive.fill("3")
    assert desktop.locator(".pup").count() == 3
    desktop.locator(".pup").nth(1).get_by_text("Sow", exact=True).click()
    alive.fill("")
    assert (alive.input_value(), desktop.locator(".pup").count()) == ("", 1)
    alive.press_sequentially("12")
    assert (alive.input_value(), desktop.locator(".pup").count()) == ("12", 12)
    assert desktop.locator(".pup input[value=sow]:checked").count() == 1


def test_one_tap_gives_all_pups_a_colour(screen, cast):
    screen.goto(f"{screen.address}/litters/new/?dam={cast.wren.public_id}")
    for _ in range(3):
        screen.tap_it(screen.get_by_role("button", name="+ Not sexed"))
    screen.get_by_label("Body colour").first.select_option("cream")
    screen.tap_it(screen.get_by_role("button", name="This colour for all pups"))
    colours = [field.input_value() for field in screen.get_by_label("Body colour").all()]
    assert colours == ["cream"] * 3


def test_a_boar_that_was_not_there_is_typed(screen, cast):
    AnimalFactory(herd=cast.herd, name="Farren", sex="boar", state="paper", number="30")
    screen.goto(f"{screen.address}/litters/new/?dam={cast.wren.public_id}")
    screen.get_by_text("Another boar", exact=True).first.click()
    typed = screen.get_by_label("Another boar", exact=True)
    typed.press_sequentially("far")
    option = screen.locator("datalist option[value='Thornmoor Farren (30)']").first
    option.wait_for(state="attached")
    typed.fill("Thornmoor Farren (30)")
    screen.tap_it(screen.get_by_role("button", name="+ Sow"))
    screen.tap_it(screen.get_by_role("button", name="Save"))
    screen.wait_for_url(re.compile(r"/litters/[0-9a-f-]{36}/$"))
    assert [boar.name for boar in Litter.objects.latest("pk").candidate_boars] == ["Farren"]


@pytest.mark.parametrize("below", ["", "correct/", "pups/new/", "weigh/", "look/", "mix-up/"])
def test_each_page_of_a_litter_is_for_everyone_and_fits(screen, cast, below):
    screen.goto(f"{screen.address}/litters/{cast.march_litter.public_id}/{below}")
    assert_accessible(screen)
    assert_no_sideways_scroll(screen)


@pytest.mark.parametrize(
    "address",
    ["/litters/", "/litters/new/", "/animals/{}/weighings/new/", "/animals/{}/looks/new/"],
)
def test_each_page_beside_it_is_for_everyone_and_fits(screen, cast, address):
    screen.goto(screen.address + address.format(cast.rook.public_id))
    if address == "/litters/new/":
        screen.tap_it(screen.get_by_role("button", name="+ Boar"))
    screen.evaluate("document.querySelectorAll('main details').forEach(fold => fold.open = true)")
    assert_accessible(screen)
    assert_no_sideways_scroll(screen)


def test_a_whole_litter_is_weighed_with_enter_alone(screen, cast):
    screen.goto(f"{screen.address}/litters/{cast.march_litter.public_id}/weigh/")
    screen.tap_it(screen.get_by_label("Weight (g)").first)
    for weight in ("812", "790"):
        screen.keyboard.type(weight)
        screen.keyboard.press("Enter")
    screen.keyboard.press("Enter")
    screen.wait_for_url(re.compile(r"/litters/[0-9a-f-]{36}/$"))
    assert [pup.weighings.get().weight_g for pup in (cast.rook, cast.sorrel)] == [812, 790]


def test_points_of_a_litter_take_one_tap_a_pup(screen, cast):
    screen.goto(f"{screen.address}/litters/{cast.march_litter.public_id}/look/")
    for pup, stage in ((cast.rook, "full"), (cast.sorrel, "overmarked")):
        screen.tap_it(screen.get_by_role("group", name=pup.label).get_by_text(stage, exact=True))
    screen.tap_it(screen.get_by_role("button", name="Save"))
    screen.wait_for_url(re.compile(r"/litters/[0-9a-f-]{36}/$"))
    assert [pup.looks.get().stage for pup in (cast.rook, cast.sorrel)] == ["full", "overmarked"]


def test_without_a_script_a_litter_is_recorded_too(browser, cast, today, live_server, signed_in):
    context = browser.new_context(java_script_enabled=False)
    page = signed_in(context.new_page(), cast.owner)
    page.goto(f"{live_server.url}/litters/new/?dam={cast.wren.public_id}")
    page.get_by_text(cast.bramble.label, exact=True).click()
    page.locator(".pup").nth(0).get_by_text("Boar", exact=True).click()
    page.locator(".pup").nth(0).get_by_label("Birth weight (g)").fill("98")
    page.get_by_role("button", name="More lines for pups").click()
    assert page.locator(".pup").count() == 8
    page.locator(".pup").nth(6).get_by_text("Sow", exact=True).click()
    page.get_by_role("button", name="Save").click()
    page.wait_for_url(re.compile(r"/litters/[0-9a-f-]{36}/$"))
    litter = Litter.objects.latest("pk")
    assert litter.candidate_boars == [cast.bramble]
    assert [(pup.sex, pup.birth_weight_g) for pup in litter.pups.order_by("pk")] == [
        ("boar", 98),
        ("sow", None),
    ]
    context.close()
