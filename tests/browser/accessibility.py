"""The rules of axe-core (WCAG 2.2, A and AA), run on the page as it stands."""

from axe_playwright_python.sync_playwright import Axe

RULES = {"runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]}


def assert_accessible(page):
    """Fails naming each breach, its rule and where it is."""
    page.wait_for_load_state()  # a link has come when its page begins, before the stylesheet has
    outcome = Axe().run(page, options=RULES)
    assert outcome.violations_count == 0, outcome.generate_report()


def assert_no_sideways_scroll(page):
    """Everything fits the width of the screen."""
    page.wait_for_load_state()
    width, seen = page.evaluate(
        "[document.documentElement.scrollWidth, document.documentElement.clientWidth]"
    )
    assert width <= seen, f"the page is {width} px wide on a screen of {seen} px"
