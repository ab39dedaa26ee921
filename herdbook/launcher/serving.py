"""The server: on this machine alone, by waitress, until Ctrl-C."""

import contextlib
import json
import os
import signal
import socket
import sys
import threading
import webbrowser
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any, NoReturn

import waitress
from django.core.wsgi import get_wsgi_application
from django.db import connection
from django.urls import reverse

from genetics.core import compiler_installed
from herdbook.book.services.opening import make_sign_in_key, open_book
from herdbook.file_lock import LockTakenError, only_one

from .exceptions import StartError
from .precompile import warming

HOST = "127.0.0.1"
LARGEST_REQUEST = 64 * 1024 * 1024  # bytes; a form with a few photos from a phone's camera


def listen(port: int) -> socket.socket:
    """Takes the port on this machine alone; 0 takes any free one."""
    taken = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    if sys.platform != "win32":  # there it would let two servers share a port
        taken.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        taken.bind((HOST, port))
        taken.listen()
    except OSError as error:
        taken.close()
        raise StartError(
            f"Port {port} is not available ({error.strerror}): another program may be using it. "
            f"Choose another, as in 'start --port {port + 1 if port < 65535 else 8000}'."
        ) from error
    return taken


@contextlib.contextmanager
def only_server(home: Path) -> Iterator[Callable[[str], None]]:
    """Locks the book for this process; yields a function that publishes its address."""
    with contextlib.ExitStack() as held:
        try:
            file = held.enter_context(only_one(home / "serving.lock"))
        except LockTakenError as error:
            address = address_in(str(error)) or "another address"
            raise StartError(
                f"This herd-book is already open at {address}: use it there, or stop it with "
                "Ctrl-C first. 'manage.py key' prints a new sign-in link."
            ) from error

        def tell(address: str) -> None:
            json.dump({"address": address, "process": os.getpid()}, file)
            file.flush()

        yield tell


def running_address(home: Path) -> str | None:
    """The address at which this book is served; empty while it starts; None if not served."""
    try:
        with only_one(home / "serving.lock"):
            return None
    except LockTakenError as error:
        return address_in(str(error))


def address_in(told: str) -> str:
    return str(json.loads(told)["address"]) if told else ""


def sign_in_address(address: str) -> str:
    """An address with a new key that signs the owner in once. It is never logged: a log holds
    the path of a request, and the key stands behind the question mark."""
    try:
        return f"{address}{reverse('sign-in')}?key={make_sign_in_key(open_book())}"
    finally:
        connection.close()


def serve(listening: socket.socket, address: str, *, browser: bool) -> None:
    """Serves until Ctrl-C or a request to end."""
    application = get_wsgi_application()
    options: dict[str, Any] = {"max_request_body_size": LARGEST_REQUEST, "ident": None}
    server = waitress.create_server(application, sockets=[listening], **options)
    for request_to_end in (signal.SIGINT, signal.SIGTERM):
        signal.signal(request_to_end, end)
    first = sign_in_address(address)
    say_open(first)
    if browser and has_screen():
        webbrowser.open(first)
    if sys.stdin and sys.stdin.isatty():
        print("Press Enter for a new sign-in link, Ctrl-C to stop.", file=sys.stderr, flush=True)
        threading.Thread(target=give_keys_on_enter, args=[address], daemon=True).start()
    say_what_is_missing()
    with warming():
        server.run()
    server.close()


def say_open(address: str) -> None:
    print(f"Open {address}", flush=True)


def say_what_is_missing() -> None:
    if not compiler_installed():
        print(
            "Note: numba is not installed (it has no version for some machines). A herd of close "
            "relatives takes minutes where it would take seconds, and fewer of its figures are "
            "exact.",
            file=sys.stderr,
            flush=True,
        )


def give_keys_on_enter(address: str) -> None:
    for _line in sys.stdin:
        say_open(sign_in_address(address))


def end(*_signal: object) -> NoReturn:
    raise SystemExit(0)


def has_screen() -> bool:
    """Whether a browser would open in a window, and not in this terminal."""
    if sys.platform in ("win32", "darwin"):
        return True
    return bool(os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY"))
