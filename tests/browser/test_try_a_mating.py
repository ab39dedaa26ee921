"""A mating looked up in a real browser, wide and on a phone."""

import pytest
from playwright.sync_api import expect

from herdbook.book.models import Animal
from tests.browser.accessibility import assert_accessible, assert_no_sideways_scroll
from tests.factories import AnimalFactory, LitterFactory, WeighingFactory


@pytest.fixture(params=["desktop", "phone"])
def screen(request, transactional_db, today):
    """Each test runs on both screens."""
    return request.getfixturevalue(request.param)


def choose(screen, name, typed, wanted):
    """Type into a field and take what it suggests."""
    field = screen.get_by_label(name, exact=True)
    field.press_sequentially(typed)
    screen.locator(f"#id_{name.lower()}-found option[value='{wanted}']").wait_for(state="attached")
    field.fill(wanted)


def test_a_pair_is_looked_up(screen, live_server, cast):
    WeighingFactory(animal=cast.sorrel, on="2026-09-04", weight_g=430)
    screen.goto(live_server.url)
    screen.get_by_text("Menu", exact=True).click()
    screen.get_by_role("link", name="Try a mating").click()
    screen.get_by_role("heading", level=1, name="Try a mating").wait_for()
    assert_accessible(screen)
    assert_no_sideways_scroll(screen)
    choose(screen, "Sow", "sor", "Thornmoor Sorrel (6)")
    choose(screen, "Boar", "roo", "Thornmoor Rook (5)")
    screen.get_by_label("Boar goes in").fill("2026-12-01")
    screen.get_by_role("button", name="Look up").click()
    screen.get_by_role("heading", level=1, name="Thornmoor Sorrel to Thornmoor Rook").wait_for()
    assert screen.locator(".glance").get_by_text("25%").is_visible()
    assert screen.get_by_text("430 g").is_visible()
    assert_accessible(screen)
    assert_no_sideways_scroll(screen)
    for part in ("Due dates and show classes", "How they are related"):
        screen.locator("summary", has_text=part).click()
    assert screen.get_by_text("29 January 2027 to 1 March 2027").is_visible()
    caption = screen.get_by_text("Show classes of the pups, by age")
    table = screen.locator("table", has=caption)
    assert caption.bounding_box()["width"] == table.bounding_box()["width"], "not in a column"
    assert screen.locator("svg.chart path.path-1").count() == 2
    assert screen.locator("svg.chart path.path-2").count() == 2
    assert_accessible(screen)
    assert_no_sideways_scroll(screen)


def test_the_boars_of_a_sow_are_ranked_and_one_is_opened(screen, live_server, cast):
    screen.goto(live_server.url + cast.tansy.get_absolute_url())
    screen.get_by_role("link", name="Try a mating").click()
    screen.get_by_role("heading", level=1, name="Boars for Thornmoor Tansy").wait_for()
    assert_accessible(screen)
    assert_no_sideways_scroll(screen)
    screen.get_by_role("table").get_by_role("link", name="Thornmoor Rook").click()
    screen.get_by_role("heading", level=1, name="Thornmoor Tansy to Thornmoor Rook").wait_for()
    screen.get_by_text("Change animals or dates").click()
    assert screen.get_by_label("Sow", exact=True).input_value() == "Thornmoor Tansy (3)"
    assert_accessible(screen)


def test_more_ancestors_of_the_litter_in_place(screen, live_server, cast):
    screen.goto(f"{live_server.url}/matings/?sow=Sorrel&boar=Rook")
    screen.locator("summary", has_text="Ancestors of the litter").click()
    screen.get_by_role("link", name="5", exact=True).click()
    screen.locator("a[aria-current=true]", has_text="5").wait_for()
    assert "generations" not in screen.url
    assert_no_sideways_scroll(screen)


@pytest.fixture
def cousins(cast):
    """A sow and a boar who are double first cousins: four grandparents of both stand abreast."""

    def pup(name, sex, sire=None, dam=None):
        parents = {"dam": dam, "boars": [sire] if sire else []}
        litter = LitterFactory(herd=cast.herd, source="paper", **parents)
        return AnimalFactory(herd=cast.herd, name=name, sex=sex, litter=litter)

    first, second = ((pup(f"Ash {n}", "boar"), pup(f"Elm {n}", "sow")) for n in (1, 2))
    boars = [pup(f"Fir {n}", "boar", *first) for n in (1, 2)]
    sows = [pup(f"Oak {n}", "sow", *second) for n in (1, 2)]
    sow = pup("Yew", "sow", boars[0], sows[0])
    return sow, pup("Box", "boar", boars[1], sows[1])


def names_in_sight(chart):
    """The names in the boxes that lie whole between the edges of a chart's place."""
    return chart.evaluate(
        """place => {
            const seen = place.getBoundingClientRect();
            return [...place.querySelectorAll(".box")].filter(box => {
                const frame = box.querySelector("polygon, path").getBoundingClientRect();
                return frame.left >= seen.left - 1 && frame.right <= seen.right + 1;
            }).map(box => box.querySelector("title").textContent.split(",")[0]);
        }"""
    )


def least_words(chart):
    """The height of the smallest words of a chart, in pixels of the screen."""
    return chart.evaluate(
        """place => {
            const svg = place.querySelector("svg");
            const scale = svg.getBoundingClientRect().width / svg.viewBox.baseVal.width;
            const height = words => parseFloat(getComputedStyle(words).fontSize);
            return scale * Math.min(...[...svg.querySelectorAll("text")].map(height));
        }"""
    )


def test_a_chart_of_relatives_begins_with_the_litter_and_its_parents(screen, live_server, cousins):
    sow, boar = cousins
    screen.goto(f"{live_server.url}/matings/?sow={sow.public_id}&boar={boar.public_id}")
    screen.wait_for_load_state()
    screen.locator("summary", has_text="How they are related").click()
    chart = screen.get_by_role("group", name="Chart of how they are related")
    expect(chart).to_be_visible()
    in_sight = names_in_sight(chart)
    assert {"The litter", "Thornmoor Yew", "Thornmoor Box"} <= set(in_sight)
    is_phone = screen.viewport_size["width"] < 768
    assert screen.get_by_text("There is more of it to the sides").is_visible() == is_phone
    assert (len(in_sight) == 11) != is_phone
    assert least_words(chart) >= 11
    chart.evaluate("place => place.scrollTo(place.scrollWidth, 0)")
    after = names_in_sight(chart)
    chart.evaluate("place => place.scrollTo(0, 0)")
    assert len(set(after) | set(names_in_sight(chart)) | set(in_sight)) == 11
    assert_accessible(screen)
    assert_no_sideways_scroll(screen)


@pytest.mark.parametrize("generations", [3, 5])
def test_the_ancestors_of_a_litter_fit_the_screen(screen, live_server, cousins, generations):
    sow, boar = cousins
    asked = f"sow={sow.public_id}&boar={boar.public_id}&generations={generations}"
    screen.goto(f"{live_server.url}/matings/?{asked}")
    screen.wait_for_load_state()
    chart = screen.get_by_role("group", name="Chart of ancestors")
    assert chart.evaluate("place => place.scrollWidth <= place.clientWidth")
    assert {"The litter", "Thornmoor Yew", "Thornmoor Box"} <= set(names_in_sight(chart))
    assert least_words(chart) >= 11
    assert_accessible(screen)
    assert_no_sideways_scroll(screen)


def test_a_refusal_is_seen_first_and_the_form_stays(screen, live_server, cast):
    screen.goto(f"{live_server.url}/matings/")
    screen.get_by_label("Sow", exact=True).fill("Rook")
    screen.get_by_role("button", name="Look up").click()
    screen.get_by_text("is a boar. Choose a sow").wait_for()
    assert screen.get_by_label("Sow", exact=True).input_value() == "Rook"
    expect(screen.locator(".faults")).to_be_focused()
    assert_accessible(screen)
    assert_no_sideways_scroll(screen)


def test_names_without_a_space_do_not_widen_the_page(phone, live_server, cast, today):
    Animal.objects.filter(pk=cast.rook.pk).update(name="Rook" * 18, number="123456789")
    for address in ("?sow=Sorrel", f"?sow=Sorrel&boar={cast.rook.public_id}"):
        phone.goto(f"{live_server.url}/matings/{address}")
        assert_no_sideways_scroll(phone)


def test_a_show_and_a_class_tell_when_to_pair_and_the_pair_tells_its_classes(
    screen, live_server, cast
):
    screen.goto(f"{live_server.url}/matings/")
    show = screen.get_by_role("region", name="Mating for a show")
    show.get_by_label("Show date").fill("2027-10-18")
    show.get_by_label("Class").select_option("5 to 8 months")
    show.get_by_role("button", name="Find the dates").click()
    show.get_by_text("22 Dec 2026 to 6 Mar 2027").wait_for()
    assert_accessible(screen)
    assert_no_sideways_scroll(screen)
    screen.get_by_label("Sow", exact=True).fill("Sorrel")
    screen.get_by_label("Boar", exact=True).fill("Rook")
    screen.get_by_role("button", name="Look up").click()
    screen.get_by_role("heading", level=1, name="Thornmoor Sorrel to Thornmoor Rook").wait_for()
    assert screen.get_by_text("Show on 18 October 2027").is_visible()
    screen.locator("summary", has_text="Due dates and show classes").click()
    assert screen.get_by_role("row", name="5 to 8 months").is_visible()
    assert_accessible(screen)
    assert_no_sideways_scroll(screen)
