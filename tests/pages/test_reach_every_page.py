"""From the bar at the top, every page that is about no single row is two clicks away."""

import re

from django.urls import URLPattern, get_resolver, reverse

# Reached otherwise: before a sign-in, by a button that sends a form, by htmx as one types, and by
# the search box on every page of the handbook.
NOT_BY_A_LINK = {"sign-in", "sign-out", "suggest-animals", "search-help"}
BAR = re.compile(r'<header class="top">.*?</header>', re.DOTALL)
MENU = re.compile(r'<details class="menu">.*?</details>', re.DOTALL)
LINK = re.compile(r'(?:<a\s[^>]*?href|<form\s[^>]*?action)="([^"#?]*)')


def pages_without_arguments(patterns=None):
    """The names of all addresses that can be written down without knowing a row."""
    for pattern in patterns if patterns is not None else get_resolver().url_patterns:
        if not isinstance(pattern, URLPattern):
            yield from pages_without_arguments(pattern.url_patterns)
        elif not pattern.pattern.converters:
            yield pattern.name


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
    wanted = set(pages_without_arguments()) - NOT_BY_A_LINK
    assert {name for name in wanted if reverse(name) not in reached} == set()


def test_the_bar_stands_on_each_of_them(owner_client, today):
    bars = {
        MENU.sub("", bar_of(owner_client.get(reverse(name), follow=True))).replace(
            ' aria-current="page"', ""
        )
        for name in set(pages_without_arguments()) - NOT_BY_A_LINK
    }
    assert len(bars) == 1


def test_every_link_of_the_bar_leads_somewhere(owner_client, today):
    for address in set(LINK.findall(bar_of(owner_client.get(reverse("home"))))):
        assert owner_client.get(address, follow=True).status_code == 200


def test_the_page_that_is_open_is_marked(owner_client, today):
    bar = bar_of(owner_client.get(reverse("limits")))
    assert f'<a href="{reverse("limits")}" aria-current="page">' in bar


def test_one_who_is_not_signed_in_sees_no_menu(client, db):
    assert "<nav" not in client.get(reverse("sign-in")).content.decode()
