"""The programs on this machine that tests need: a browser, PostgreSQL, graphviz."""

import os
import shutil
import subprocess
import sys
from pathlib import Path

from herdbook.bootstrap import apt_install, is_root

BROWSERS = ["chromium", "chromium-browser", "google-chrome", "google-chrome-stable"]
BROWSERS += ["microsoft-edge", "microsoft-edge-stable"]
MAC_BROWSERS = [
    "Google Chrome.app/Contents/MacOS/Google Chrome",
    "Chromium.app/Contents/MacOS/Chromium",
    "Microsoft Edge.app/Contents/MacOS/Microsoft Edge",
]
WINDOWS_BROWSERS = [
    "Google/Chrome/Application/chrome.exe",
    "Chromium/Application/chrome.exe",
    "Microsoft/Edge/Application/msedge.exe",
]
# What starts the program that drives the browser; its wheel brings no libraries of the system.
DRIVER = [sys.executable, "-m", "playwright", "--version"]
# The Debian package of each library that the driver is linked with and a bare Debian lacks.
LIBRARIES = {"libatomic.so.1": "libatomic1"}


def find_browser() -> str | None:
    """An installed Chrome, Chromium or Edge."""
    for place in places_of_browsers():
        if place.is_file():
            return str(place)
    return next((found for name in BROWSERS if (found := shutil.which(name))), None)


def places_of_browsers() -> list[Path]:
    """Where the platforms keep browsers that are not on the path."""
    if sys.platform == "darwin":
        folders = [Path("/Applications"), Path.home() / "Applications"]
        return [folder / name for folder in folders for name in MAC_BROWSERS]
    if sys.platform == "win32":
        variables = ["PROGRAMFILES", "PROGRAMFILES(X86)", "LOCALAPPDATA"]
        folders = [Path(os.environ[name]) for name in variables if name in os.environ]
        return [folder / name for folder in folders for name in WINDOWS_BROWSERS]
    return []


def find_postgresql() -> Path | None:
    """The folder of PostgreSQL's server programs, the newest if there are several."""
    debian = Path("/usr/lib/postgresql").glob("*/bin/initdb")
    newest = max(debian, key=lambda program: float(program.parts[-3]), default=None)
    on_path = shutil.which("initdb")
    found = newest or (Path(on_path) if on_path else None)
    return found.parent if found else None


def fault_of_playwright() -> str:
    """The first line of what its driver says where it does not start; empty where it starts."""
    outcome = subprocess.run(DRIVER, check=False, capture_output=True, text=True)
    if outcome.returncode == 0:
        return ""
    return (outcome.stderr.strip() or f"exit status {outcome.returncode}").splitlines()[0]


def libraries_for_playwright() -> list[str]:
    """The Debian packages of the libraries that its driver asks for and does not find."""
    fault = fault_of_playwright()
    return [package for library, package in LIBRARIES.items() if library in fault]


def missing_packages() -> list[str]:
    """The Debian packages that this machine lacks for the tests."""
    wanted = {
        "chromium": find_browser(),
        "postgresql": find_postgresql(),
        "graphviz": shutil.which("dot"),
        "gettext": shutil.which("xgettext"),
    }
    packages = [name for name, found in wanted.items() if not found]
    if "chromium" in packages:
        packages.append("fonts-dejavu-core")  # a bare machine has no letters to draw
    return packages + libraries_for_playwright()


def install_what_is_missing() -> None:
    """Installs by apt, as root on Debian and its relatives; elsewhere the report names what is
    missing."""
    if not is_root() or not shutil.which("apt-get"):
        return
    packages = missing_packages()
    if packages:
        print(f"Installing {', '.join(packages)} by apt …", file=sys.stderr, flush=True)
        apt_install(*packages)
