"""What all tests share: the cast, a signed-in client, the day it is, and the rule on skips."""

import contextlib
import datetime
import os

import hypothesis
import pytest
import time_machine
from django.db import connection
from hypothesis import Phase

from genetics.snapshot.kept import Kept
from tests.cast import make_cast, make_other_herd
from tests.examples import QUICK

TODAY = datetime.date(2026, 11, 25)

hypothesis.settings.register_profile("herdbook", deadline=None, derandomize=True)
hypothesis.settings.register_profile(
    QUICK, deadline=None, derandomize=True, max_examples=25, phases=[Phase.explicit, Phase.generate]
)
hypothesis.settings.load_profile("herdbook")


def forget_what_is_kept():
    """As if the process had just started; for a test that sets another limit than before."""
    for kept in Kept.all:
        kept.forget()


@pytest.fixture(autouse=True)
def nothing_kept_of_another_book(request):
    """Tests write to tables directly, where only a service moves the book's revision: whatever is
    kept by it goes with any such write, and at the end of the test."""
    if "django_db_setup" not in request.fixturenames and "db" not in request.fixturenames:
        yield
        return

    def forget(execute, sql, params, many, context):
        if not sql.startswith("SELECT") and ('"book_' in sql or '"genetics_' in sql):
            forget_what_is_kept()
        return execute(sql, params, many, context)

    with connection.execute_wrapper(forget):
        yield
    forget_what_is_kept()


@pytest.fixture
def cast(db):
    """The Thornmoor herd, in the database."""
    return make_cast()


@pytest.fixture
def other_herd(db):
    """Another breeder and herd in the same book, as (user, herd)."""
    return make_other_herd()


@pytest.fixture
def owner_client(client, cast):
    """A client signed in as the owner of the cast."""
    client.force_login(cast.owner)
    return client


@pytest.fixture
def travel():
    """`travel(datetime.date(2026, 11, 25))` makes it noon of that day, until the test ends."""
    with contextlib.ExitStack() as journeys:

        def to(day):
            noon = datetime.datetime.combine(day, datetime.time(12), tzinfo=datetime.UTC)
            journeys.enter_context(time_machine.travel(noon, tick=False))

        yield to


@pytest.fixture
def today(travel):
    """It is 25 November 2026, the day on which the cast is as its file says."""
    travel(TODAY)
    return TODAY


@pytest.fixture(autouse=True)
def nobody_waits_for_a_compiler(request, monkeypatch):
    """Approximate doses by plain Python, but where a test is slow anyway."""
    if not request.node.get_closest_marker("slow"):
        monkeypatch.setattr("genetics.core.large_pedigree.solver.available", lambda: False)


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(items):
    """Marks the tests that touch the database: they run on PostgreSQL too."""
    for item in items:
        if "browser/" in item.nodeid:
            item.add_marker("browser")
        if item.get_closest_marker("django_db") or "db" in getattr(item, "fixturenames", ()):
            item.add_marker("database")


@pytest.hookimpl(trylast=True)
def pytest_sessionfinish(session):
    """What could not run is a failure in CI: `-ra` names it, this makes it count."""
    reporter = session.config.pluginmanager.get_plugin("terminalreporter")
    skipped = reporter and reporter.stats.get("skipped")
    if skipped and os.environ.get("CI") == "true" and session.exitstatus == pytest.ExitCode.OK:
        session.exitstatus = pytest.ExitCode.TESTS_FAILED
