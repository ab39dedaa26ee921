"""The installed browser, signed in, on a wide screen and on a phone, and what no page may do."""

import os

import pytest
from django.conf import settings

from herdbook.bootstrap import is_root
from herdbook.launcher.machine import find_browser

# Playwright keeps an event loop in the thread of the test, where Django would refuse the database.
os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "true"

PHONE = {"width": 390, "height": 844}
ALONE = [  # the browser is to speak to nobody but the server under test
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-quic",
    "--disable-sync",
    "--no-first-run",
]


@pytest.fixture(scope="session")
def browser_type_launch_args(browser_type_launch_args):
    browser = find_browser()
    if browser is None:
        pytest.skip("no Chrome, Chromium or Edge is installed here")
    without_sandbox = ["--no-sandbox"] if is_root() else []
    arguments = ALONE + without_sandbox
    return browser_type_launch_args | {"executable_path": browser, "args": arguments}


@pytest.fixture
def signed_in(live_server, client):
    """`signed_in(page, user)` gives the page that user's sign-in; returns the page."""

    def sign_in(page, user):
        client.force_login(user)
        name = settings.SESSION_COOKIE_NAME
        cookie = {"name": name, "value": client.cookies[name].value, "url": live_server.url}
        page.context.add_cookies([cookie])
        return page

    return sign_in


@pytest.fixture
def desktop(page, cast, signed_in, faults_of):
    """A page on a wide screen, signed in as the owner of the cast."""
    faults_of(page)
    return signed_in(page, cast.owner)


@pytest.fixture
def phone(new_context, cast, signed_in, faults_of):
    """A page on a phone's screen, 390 px wide, signed in as the owner of the cast."""
    context = new_context(viewport=PHONE, has_touch=True, is_mobile=True)
    page = context.new_page()
    faults_of(page)
    return signed_in(page, cast.owner)


@pytest.fixture
def faults_of(live_server):
    """Watches a page: an error in a script, a breach of the content security policy or a request
    to anywhere but the server fails the test at its end."""
    faults = []

    def of_console(message):
        # A refused form answers 4xx: the browser calls that an error, the book does not.
        if message.type == "error" and "Failed to load resource" not in message.text:
            faults.append(message.text)

    def of_request(request):
        if not request.url.startswith((live_server.url, "data:", "blob:")):
            faults.append(f"asked {request.url}")

    def watch(page):
        page.on("console", of_console)
        page.on("pageerror", lambda error: faults.append(str(error)))
        page.on("request", of_request)

    yield watch
    assert faults == []
