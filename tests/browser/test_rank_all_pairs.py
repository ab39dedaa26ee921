"""The grid of all pairs and its weights in a real browser, wide and on a phone."""

import pytest

from herdbook.book.models import GivenEvidence, RankingWeights
from herdbook.book.partial_date import PartialDate
from tests.browser.accessibility import assert_accessible, assert_no_sideways_scroll
from tests.factories import AnimalFactory, JudgementFactory, LitterFactory


@pytest.fixture(params=["desktop", "phone"])
def screen(request, transactional_db, today):
    """Each test runs on both screens."""
    return request.getfixturevalue(request.param)


@pytest.fixture
def alder(cast):
    """A stranger of one dose; Bramble, sire of Sorrel, has two. She has littered and rested."""
    LitterFactory(herd=cast.herd, dam=cast.sorrel, born=PartialDate(2026, 8, 1), source="home")
    alder = AnimalFactory(herd=cast.herd, sex="boar", name="Alder")
    for animal, dose in ((alder, 1), (cast.bramble, 2), (cast.sorrel, 0)):
        share = {f"like{number}": float(number == dose) for number in range(3)}
        GivenEvidence.objects.create(herd=cast.herd, animal=animal, **share)
    return alder


def test_all_pairs_are_seen_and_one_is_opened(screen, live_server, cast, alder):
    screen.goto(f"{live_server.url}/matings/")
    screen.get_by_role("link", name="All pairs of the herd").click()
    screen.get_by_role("heading", level=1, name="All pairs").wait_for()
    assert_accessible(screen)
    assert_no_sideways_scroll(screen)
    screen.get_by_role("table").last.get_by_role("link", name="Thornmoor Sorrel").first.click()
    screen.get_by_role("heading", level=1, name="Thornmoor Sorrel to").wait_for()


def test_a_cell_of_the_grid_is_opened(desktop, live_server, cast, alder, today):
    desktop.goto(f"{live_server.url}/matings/grid/")
    row = desktop.locator("table.pairs tbody tr", has_text="Sorrel")
    row.locator("a").first.click()
    desktop.get_by_role("heading", level=1, name="Thornmoor Sorrel to").wait_for()


def test_a_phone_takes_one_animal_at_a_time(phone, live_server, cast, alder, today):
    phone.goto(f"{live_server.url}/matings/grid/?boar_in=2026-12-01")
    assert not phone.get_by_role("heading", name="Sows by boars").is_visible()
    phone.get_by_role("region", name="One animal at a time").get_by_text("Boars").click()
    assert_no_sideways_scroll(phone)
    phone.get_by_role("link", name="Thornmoor Alder", exact=True).click()
    phone.get_by_role("heading", level=1, name="Sows for Thornmoor Alder").wait_for()
    assert "boar_in=2026-12-01" in phone.url


def test_other_weights_re_rank_in_place_and_are_kept(screen, live_server, cast, alder):
    screen.goto(f"{live_server.url}/matings/?sow=Sorrel")
    first = screen.locator("#ranked ol.best li").first
    first.get_by_text("Thornmoor Alder").wait_for()
    screen.get_by_role("main").get_by_text("How pairs are ranked").click()
    screen.evaluate("window.stays = true")
    for name in ("10% inbreeding", "10% relatedness to the herd", "one caution"):
        screen.get_by_label(f"Pups I would give up to avoid {name}").fill("0")
    first.get_by_text("Thornmoor Bramble").wait_for()
    assert screen.evaluate("window.stays"), "the page was not loaded anew"
    assert "per_caution=0" in screen.url
    assert_accessible(screen)
    assert_no_sideways_scroll(screen)
    screen.get_by_role("button", name="Save these weights").click()
    screen.get_by_role("status").get_by_text("Saved.").wait_for()
    assert RankingWeights.of(cast.herd).per_inbreeding == 0


def test_a_cell_keeps_both_names_beside_it(desktop, live_server, cast, alder, today):
    screen = desktop
    for number in range(14):
        AnimalFactory(herd=cast.herd, sex="sow", name=f"Mallow {number}")
        AnimalFactory(herd=cast.herd, sex="boar", name=f"Yarrow {number}")
    screen.goto(f"{live_server.url}/matings/grid/")
    grid = screen.get_by_role("group", name="Sows by boars")
    grid.evaluate("box => box.scrollTo(box.scrollWidth, box.scrollHeight)")
    edge, last = grid.bounding_box(), grid.locator("tbody tr").last
    boar, sow = grid.locator("thead th").last, last.locator("th")
    assert edge["height"] < screen.viewport_size["height"]
    assert boar.bounding_box()["y"] == pytest.approx(edge["y"], abs=1)
    assert sow.bounding_box()["x"] == pytest.approx(edge["x"], abs=1)
    cell = last.locator("a").last.bounding_box()
    assert cell["y"] >= boar.bounding_box()["y"] + boar.bounding_box()["height"]
    assert min(cell["width"], cell["height"]) >= 44
    right = edge["x"] + edge["width"]
    grid.evaluate("box => box.scrollTo(0, 0)")
    names = [one.bounding_box() for one in grid.locator("thead th").all()]
    assert sum(name["x"] + name["width"] <= right + 1 for name in names) >= 3
    assert_accessible(screen)
    assert_no_sideways_scroll(screen)


def test_a_focused_cell_is_not_under_a_name(desktop, live_server, cast, alder, today):
    screen = desktop
    for number in range(14):
        AnimalFactory(herd=cast.herd, sex="sow", name=f"Mallow {number}")
    screen.goto(f"{live_server.url}/matings/grid/")
    grid = screen.get_by_role("group", name="Sows by boars")
    grid.evaluate("box => box.scrollTo(0, box.scrollHeight)")
    first = grid.locator("tbody a").first
    first.focus()
    head = grid.locator("thead th").first.bounding_box()
    assert first.bounding_box()["y"] >= head["y"] + head["height"] - 1


def test_without_the_script_the_button_re_ranks(live_server, browser, cast, client, alder, today):
    context = browser.new_context(java_script_enabled=False)
    client.force_login(cast.owner)
    for name, cookie in client.cookies.items():
        context.add_cookies([{"name": name, "value": cookie.value, "url": live_server.url}])
    page = context.new_page()
    page.goto(f"{live_server.url}/matings/?sow=Sorrel")
    page.get_by_role("main").get_by_text("How pairs are ranked").click()
    for avoided in ("10% inbreeding", "one caution"):
        page.get_by_label(f"Pups I would give up to avoid {avoided}").fill("0")
    page.get_by_role("button", name="Rank again").click()
    page.locator("#ranked ol.best li").first.get_by_text("Thornmoor Bramble").wait_for()
    context.close()


def test_an_animal_is_judged(screen, live_server, cast):
    JudgementFactory(animal=cast.rook, on="2026-10-01", verdict="pet")
    screen.goto(live_server.url + cast.rook.get_absolute_url())
    screen.get_by_role("link", name="Judge", exact=True).click()
    screen.get_by_role("heading", level=1, name="Judge Thornmoor Rook").wait_for()
    assert_accessible(screen)
    assert_no_sideways_scroll(screen)
    screen.get_by_label("good enough to show").check()
    screen.get_by_role("button", name="Save").click()
    screen.get_by_role("status").get_by_text("Saved.").wait_for()
    shown = screen.get_by_role("region", name="Judgements")
    assert shown.get_by_text("Ansel Quillby").is_visible()
    assert_accessible(screen)
    assert_no_sideways_scroll(screen)
