"""The contributors' guide names every command and every setting of ours."""

import re
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
GUIDE = (ROOT / "DEVELOPERS.md").read_text()
SOURCES = [ROOT / "manage.py", *(ROOT / "herdbook").rglob("*.py")]
COMMANDS = sorted(
    file.stem
    for file in (ROOT / "herdbook").rglob("management/commands/*.py")
    if file.stem != "__init__"
)
SETTINGS = sorted(
    {name for file in SOURCES for name in re.findall(r"HERDBOOK_[A-Z_]+", file.read_text())}
)


def test_there_are_commands_and_settings_to_name():
    assert "start" in COMMANDS
    assert "HERDBOOK_HOME" in SETTINGS


@pytest.mark.parametrize("command", COMMANDS)
def test_it_names_the_command(command):
    assert f"| `{command}` |" in GUIDE


@pytest.mark.parametrize("setting", SETTINGS)
def test_it_names_the_setting(setting):
    assert f"| `{setting}` |" in GUIDE


def test_the_readme_shows_pictures_that_are_there():
    pictures = re.findall(r"\]\((static/[^)]+)\)", (ROOT / "README.md").read_text())

    assert pictures
    assert all((ROOT / picture).is_file() for picture in pictures)
