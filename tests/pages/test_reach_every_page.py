"""From the bar at the top, every page that is about no single row is two clicks away."""

import re

from django.urls import reverse

from herdbook.pages.help.handbook import handbook
from herdbook.pages.help.subjects import SUBJECTS
from tests.pages.test_who_may_see_what import pages

# Reached otherwise: before a sign-in, by a button that sends a form, by htmx as one types, and by
# the search box on every page of the handbook.
NOT_BY_A_LINK = {"sign-in", "sign-out", "suggest-animals", "search-help"}
BAR = re.compile(r'<header class="top">.*?</header>', re.DOTALL)
MENU = re.compile(r'<details class="menu">.*?</details>', re.DOTALL)
LINK = re.compile(r'(?:<a\s[^>]*?href|<form\s[^>]*?action)="([^"#?]*)')


def pages_without_arguments():
    """The names of all addresses that can be written down without knowing a row."""
    return {pattern.name for pattern in pages() if not pattern.pattern.converters}


def bar_of(page):
    return BAR.search(page.content.decode()).group()


def in_two_clicks(client):
    """Opening the menu is one click, and so is following a link or sending the search box."""
    bar = bar_of(client.get(reverse("home")))
    first = set(LINK.findall(MENU.sub("", bar)))
    second = {
        link
        for address in first - {reverse("find-animal")}
        for link in LINK.findall(client.get(address).content.decode())
    }
    return first | set(LINK.findall(bar)) | second


def test_every_page_is_two_clicks_away(owner_client, today):
    reached = in_two_clicks(owner_client)
    wanted = pages_without_arguments() - NOT_BY_A_LINK
    assert {name for name in wanted if reverse(name) not in reached} == set()


def test_the_bar_stands_on_each_of_them(owner_client, today):
    differing = re.compile(r' aria-current="page"|"/help/[^"]*"')
    bars = {
        differing.sub("", MENU.sub("", bar_of(owner_client.get(reverse(name), follow=True))))
        for name in pages_without_arguments() - NOT_BY_A_LINK
    }
    assert len(bars) == 1


def help_of(page):
    return re.search(r'href="([^"]*)">Help with this page', bar_of(page)).group(1)


def test_help_leads_to_the_page_of_the_handbook(owner_client, today):
    assert help_of(owner_client.get(reverse("limits"))) == "/help/using/herd/"
    assert help_of(owner_client.get(reverse("glossary"))) == "/help/"
    assert help_of(owner_client.get("/nowhere/")) == "/help/"


def test_every_page_that_is_explained_is_there():
    explained = [name for names in SUBJECTS.values() for name in names]
    assert set(explained) <= {pattern.name for pattern in pages()}
    assert len(explained) == len(set(explained))
    assert set(SUBJECTS) <= set(handbook())


def test_every_link_of_the_bar_leads_somewhere(owner_client, today):
    for address in set(LINK.findall(bar_of(owner_client.get(reverse("home"))))):
        assert owner_client.get(address, follow=True).status_code == 200


def test_the_page_that_is_open_is_marked(owner_client, today):
    bar = bar_of(owner_client.get(reverse("limits")))
    assert f'<a href="{reverse("limits")}" aria-current="page">' in bar


def test_one_who_is_not_signed_in_sees_no_menu(client, db):
    assert "<nav" not in client.get(reverse("sign-in")).content.decode()
