"""The contributors' guide names every command and every setting of ours."""

import re
from pathlib import Path

import pytest
from platformdirs.macos import MacOS
from platformdirs.unix import Unix

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


def test_it_is_short():
    assert len((ROOT / "DEVELOPERS.md").read_bytes()) <= 5000


def test_each_file_that_it_names_is_there():
    named = re.findall(r"`([a-z]+/[\w./]+)`|\]\(([^)]+)\)", GUIDE)
    assert named
    assert [path for pair in named for path in pair if path and not (ROOT / path).exists()] == []


def test_the_map_names_every_part_of_the_core():
    folders = {path.parent.name for path in (ROOT / "genetics/core").glob("*/__init__.py")}
    assert {folder for folder in folders if folder not in GUIDE} == set()


@pytest.mark.parametrize(
    ("question", "decided_by"),
    [
        ("parting date", "BOAR_STAYS_DAYS = "),
        ("a caution's words", "Caution("),
        ("elimination (peeling) order", "min-fill"),
    ],
)
def test_a_newcomer_finds_the_line_in_one_guess(question, decided_by):
    (row,) = (line for line in GUIDE.splitlines() if line.startswith("| ") and question in line)
    first = re.findall(r"`([^`]+)`", row)[0]
    assert decided_by in (ROOT / first).read_text()


def test_the_readme_shows_pictures_that_are_there():
    pictures = re.findall(r"static/pictures/[\w-]+\.png", (ROOT / "README.md").read_text())

    assert pictures
    assert all((ROOT / picture).is_file() for picture in pictures)


@pytest.mark.parametrize("system", [Unix, MacOS])
def test_the_readme_says_where_the_records_are(system, monkeypatch):
    monkeypatch.delenv("XDG_DATA_HOME", raising=False)
    folder = Path(system("herdbook", appauthor=False).user_data_dir).relative_to(Path.home())

    assert f"`~/{folder.as_posix()}`" in (ROOT / "README.md").read_text()


def test_the_readme_links_to_files_that_are_there():
    linked = re.findall(r"\]\(([\w/.-]+)\)", (ROOT / "README.md").read_text())

    assert linked
    assert [name for name in linked if not (ROOT / name).is_file()] == []
