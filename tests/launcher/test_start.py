"""`start`: what a keeper meets, in processes of their own."""

import contextlib
import shutil
import signal
import socket
import sqlite3
import stat
import sys
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command

from .running import Visitor, manage, started


@pytest.fixture(scope="session")
def first_book(tmp_path_factory):
    """A book as it stands after its first start, in a folder that was not there before."""
    home = tmp_path_factory.mktemp("first-book") / "new" / "home"
    with started(home) as book:
        assert book.end() == (0, "", "")
    return home


@pytest.fixture
def home(first_book, tmp_path):
    """A copy of the first book, for a test of its own."""
    return Path(shutil.copytree(first_book, tmp_path / "home"))


@pytest.fixture(scope="module")
def served(first_book, tmp_path_factory):
    """A copy of the first book that is being served, for the tests that only visit it."""
    home = Path(shutil.copytree(first_book, tmp_path_factory.mktemp("served") / "home"))
    with started(home) as book:
        yield home, book


@contextlib.contextmanager
def book_in(home):
    with contextlib.closing(sqlite3.connect(home / "book.sqlite3")) as connection:
        yield connection


def test_it_works(tmp_path):
    with started(tmp_path) as book:
        visitor = Visitor()
        status, where, page = visitor.get(book.first)
        assert (status, where) == (200, f"{book.site}/")
        assert "<h1" in page
        assert visitor.get(f"{book.site}/static/book.css")[0] == 200
        assert book.end() == (0, "", "")


def test_it_serves_this_machine_alone(served):
    _, book = served
    assert book.site.startswith("http://127.0.0.1:")
    assert Visitor().get(f"{book.site}/sign-in/", Host="elsewhere.example")[0] == 400


def test_a_key_signs_in_once_and_a_fresh_one_is_given_on_request(served):
    home, book = served
    assert Visitor().get(book.first)[0] == 200
    status, _, page = Visitor().get(book.first)
    assert status == 403
    assert "manage.py key" in page
    fresh = manage(home, "key").stdout.removeprefix("Open ").strip()
    assert fresh.startswith(book.site)
    assert Visitor().get(fresh)[1] == f"{book.site}/"


def test_there_is_no_key_to_a_closed_book(tmp_path):
    answer = manage(tmp_path, "key")
    assert (answer.returncode, answer.stdout) == (1, "")
    assert "'manage.py start' opens it" in answer.stderr


def test_a_key_stands_nowhere(home):
    with started(home) as book:
        for _twice in range(2):
            Visitor().get(book.first)
        Visitor().get(f"{book.first}&next=%00")
        _, rest, faults = book.end()
    key = book.first.partition("?key=")[2]
    assert len(key) >= 32
    kept = b"".join(file.read_bytes() for file in home.rglob("*") if file.is_file())
    assert key.encode() not in kept + (rest + faults).encode()


def test_the_secret_is_for_its_owner_only(first_book):
    assert stat.S_IMODE((first_book / "secret.key").stat().st_mode) == 0o600
    assert stat.S_IMODE(first_book.stat().st_mode) == 0o700


@pytest.mark.slow
@pytest.mark.skipif(sys.platform == "win32", reason="Windows has no such modes")
def test_the_book_is_for_its_owner_only_in_a_folder_that_others_may_enter(tmp_path):
    home = tmp_path / "shared"
    home.mkdir()
    home.chmod(0o755)
    (home / "backups").mkdir()
    (home / "backups").chmod(0o755)
    (home / "book.sqlite3").touch(0o644)
    with started(home):
        pass
    open_to_others = [path.name for path in home.iterdir() if path.stat().st_mode & 0o077]
    assert (home / "book.sqlite3").stat().st_size > 0
    assert open_to_others == []


def counted(home):
    """How many users, herds and memberships the book has."""
    tables = ("book_user", "book_herd", "book_membership")
    with book_in(home) as connection:
        return [connection.execute(f"select count(*) from {one}").fetchone()[0] for one in tables]


def test_one_owner_and_one_herd(first_book):
    assert counted(first_book) == [1, 1, 1]


def test_a_second_start_adds_nothing(home):
    def files():
        return sorted(file.relative_to(home) for file in home.rglob("*"))

    before = files()
    with started(home) as book:
        assert book.end() == (0, "", "")
    assert files() == before
    assert counted(home) == [1, 1, 1]


@pytest.mark.skipif(sys.platform == "win32", reason="Windows has no such signal")
def test_it_ends_well_when_the_system_asks(home):
    with started(home) as book:
        assert book.end(signal.SIGTERM)[0] == 0


def refusal(*arguments, **more):
    """The one sentence, and exit status 1, with which `start` refuses."""
    answer = manage(*arguments, **more)
    assert (answer.returncode, answer.stdout) == (1, "")
    assert "Traceback" not in answer.stderr
    assert answer.stderr.count("\n") == 1
    return answer.stderr


def test_it_refuses_a_taken_port(tmp_path):
    with socket.create_server(("127.0.0.1", 0)) as taken:
        port = taken.getsockname()[1]
        said = refusal(tmp_path, "start", "--no-browser", "--port", str(port))
    assert f"Port {port} is not available" in said
    assert not (tmp_path / "book.sqlite3").exists()


@pytest.mark.parametrize("port", ["65536", "-1", "eighty"])
def test_it_refuses_what_is_no_port(port):
    with pytest.raises(CommandError, match="a port is a number up to 65535"):
        call_command("start", f"--port={port}")


def test_it_refuses_a_folder_it_cannot_write(tmp_path):
    (tmp_path / "file").touch()
    said = refusal(tmp_path / "file" / "home", "start", "--no-browser", "--port", "0")
    assert "set HERDBOOK_HOME to another" in said


def test_it_refuses_a_book_made_by_a_newer_version(home):
    with book_in(home) as connection:
        newer = "insert into django_migrations(app, name, applied) values ('book', '9999_on', '')"
        connection.execute(newer.replace("''", "'2027-01-01'"))
        connection.commit()
    said = refusal(home, "start", "--no-browser", "--port", "0")
    assert "newer version" in said
    assert "book 9999_on" in said


def test_it_refuses_what_is_no_book(tmp_path):
    (tmp_path / "book.sqlite3").write_bytes(b"a list of sows" * 100)
    said = refusal(tmp_path, "start", "--no-browser", "--port", "0")
    assert "does not answer" in said


def test_it_refuses_a_book_that_is_open(served):
    home, book = served
    said = refusal(home, "start", "--no-browser", "--port", "0")
    assert book.site in said


@pytest.mark.slow
def test_a_book_left_by_a_killed_start_opens(home):
    with started(home) as book:
        book.process.kill()
        book.process.wait()
    with started(home) as book:
        assert Visitor().get(book.first)[0] == 200


@pytest.mark.slow
def test_a_book_is_copied_before_it_is_brought_up_to_date(home):
    assert list((home / "backups").iterdir()) == []
    assert manage(home, "migrate", "genetics", "zero").returncode == 0
    with started(home) as book:
        book.end()
    [copy] = (home / "backups").iterdir()
    with contextlib.closing(sqlite3.connect(copy)) as connection:
        assert connection.execute("select count(*) from book_herd").fetchone() == (1,)
        applied = connection.execute("select 1 from django_migrations where app = 'genetics'")
        assert applied.fetchone() is None


@pytest.mark.slow
def test_the_demo_is_a_book_of_its_own(tmp_path):
    with started(tmp_path) as book, started(tmp_path, "--demo") as demo:
        visitor = Visitor()
        assert visitor.get(book.first)[1] == f"{book.site}/"
        assert visitor.get(demo.first)[1] == f"{demo.site}/"
        names = {cookie.name for cookie in visitor.cookies}
        assert len({name for name in names if not name.startswith("herdbook-form")}) == 2
        assert visitor.get(f"{book.site}/")[1] == f"{book.site}/"  # still signed in
    with book_in(tmp_path) as connection:
        assert connection.execute("select count(*) from book_animal").fetchone() == (0,)
    with book_in(tmp_path / "demo") as connection:
        assert connection.execute("select count(*) from book_animal").fetchone()[0] > 100


@pytest.mark.slow
def test_the_demo_is_never_written_into_another_database(tmp_path):
    elsewhere = f"sqlite:///{tmp_path / 'elsewhere.sqlite3'}"
    with started(tmp_path, "--demo", HERDBOOK_DATABASE=elsewhere):
        assert not (tmp_path / "elsewhere.sqlite3").exists()


@pytest.mark.slow
def test_the_demo_is_made_afresh_on_another_day(tmp_path):
    with started(tmp_path, "--demo") as demo:
        demo.end()
    (tmp_path / "demo" / "made-on.txt").write_text("2026-01-01")
    with book_in(tmp_path / "demo") as connection:
        connection.execute("update book_herd set name = 'Tried out'")
        connection.commit()
    with started(tmp_path, "--demo") as demo:
        demo.end()
    with book_in(tmp_path / "demo") as connection:
        assert connection.execute("select name from book_herd").fetchone() != ("Tried out",)
