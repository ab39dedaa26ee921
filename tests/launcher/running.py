"""Runs `manage.py` as a keeper does: another process, a data folder, what it prints."""

import contextlib
import http.cookiejar
import os
import signal
import subprocess
import sys
import urllib.error
import urllib.request

from herdbook.bootstrap import PROJECT


def environment(home, **more):
    kept = {name: value for name, value in os.environ.items() if not name.startswith("HERDBOOK_")}
    kept.pop("DJANGO_SETTINGS_MODULE", None)
    return kept | {"HERDBOOK_HOME": str(home), "TZ": "UTC"} | more


def manage(home, *arguments, python=sys.executable, **more):
    """Runs a command to its end."""
    return subprocess.run(
        [python, str(PROJECT / "manage.py"), *arguments],
        check=False,
        capture_output=True,
        text=True,
        stdin=subprocess.DEVNULL,
        env=environment(home, **more),
        timeout=120,
    )


class Running:
    """A `start` that serves: `first` is the address that it printed."""

    def __init__(self, process):
        self.process = process
        line = process.stdout.readline()
        if not line.startswith("Open "):
            raise AssertionError(f"it printed {line!r}; {process.stderr.read()}")
        self.first = line.removeprefix("Open ").strip()
        self.site = self.first[: self.first.index("/", len("http://"))]

    def end(self, request=signal.SIGINT):
        """Asks it to end; returns (exit status, what else it printed, what it said of faults)."""
        self.process.send_signal(request)
        rest, faults = self.process.communicate(timeout=30)
        return self.process.returncode, rest, faults


@contextlib.contextmanager
def started(home, *arguments, **more):
    command = [sys.executable, str(PROJECT / "manage.py"), "start", "--no-browser", *arguments]
    if "--port" not in arguments:
        command += ["--port", "0"]
    pipes = {"stdout": subprocess.PIPE, "stderr": subprocess.PIPE, "stdin": subprocess.DEVNULL}
    process = subprocess.Popen(command, text=True, env=environment(home, **more), **pipes)
    try:
        yield Running(process)
    finally:
        if process.poll() is None:
            process.kill()
            process.communicate()


class Visitor:
    """A browser with a jar of cookies, and no more."""

    def __init__(self):
        self.cookies = http.cookiejar.CookieJar()
        jar = urllib.request.HTTPCookieProcessor(self.cookies)
        self.opener = urllib.request.build_opener(urllib.request.ProxyHandler({}), jar)

    def get(self, address, **headers):
        """(status, where it ended, the page)."""
        request = urllib.request.Request(address, headers=headers)
        try:
            answer = self.opener.open(request, timeout=30)
        except urllib.error.HTTPError as error:
            answer = error
        with answer:
            return answer.status, answer.geturl(), answer.read().decode(errors="replace")
