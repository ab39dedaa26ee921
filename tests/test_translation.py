"""Every sentence that the herd-book shows can be translated: makemessages finds each."""

import ast
import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

PROJECT = Path(__file__).resolve().parent.parent
#: What makemessages looks for, by the names that it knows (Django's own list), and the argument
#: that holds the sentence.
KEYWORDS = {
    "_": 0,
    "gettext": 0,
    "gettext_lazy": 0,
    "gettext_noop": 0,
    "ngettext": 0,
    "ngettext_lazy": 0,
    "pgettext": 1,
    "pgettext_lazy": 1,
    "npgettext": 1,
    "npgettext_lazy": 1,
}


def sources():
    for folder in ("herdbook", "genetics"):
        for path in sorted((PROJECT / folder).rglob("*.py")):
            if "migrations" not in path.parts:
                yield path, ast.parse(path.read_text("utf-8"))


def imported_as(tree):
    """The names under which a module has the functions that translate."""
    for node in ast.walk(tree):
        if isinstance(node, ast.ImportFrom) and node.module == "django.utils.translation":
            yield from (one.asname or one.name for one in node.names if "gettext" in one.name)


def sentences(tree):
    for node in ast.walk(tree):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name):
            place = KEYWORDS.get(node.func.id)
            if place is not None and len(node.args) > place:
                sentence = node.args[place]
                if isinstance(sentence, ast.Constant) and isinstance(sentence.value, str):
                    yield sentence.value


def test_no_sentence_is_hidden_behind_a_name_of_our_own():
    hidden = {
        f"{path.relative_to(PROJECT)}: {name}"
        for path, tree in sources()
        for name in imported_as(tree)
        if name not in KEYWORDS
    }
    assert not hidden


def test_no_sentence_is_put_together_before_it_is_translated():
    """A sentence that is not plain text in the call would be looked up and never found."""
    put_together = {
        f"{path.relative_to(PROJECT)}:{node.lineno}"
        for path, tree in sources()
        if set(imported_as(tree)) & set(KEYWORDS)
        for node in ast.walk(tree)
        if isinstance(node, ast.Call)
        and isinstance(node.func, ast.Name)
        and node.func.id in set(imported_as(tree))
        and node.args
        and isinstance(node.args[0], ast.JoinedStr | ast.BinOp)
    }
    assert not put_together


def test_no_sentence_stands_inside_an_f_string():
    """makemessages does not look there."""
    inside = {
        f"{path.relative_to(PROJECT)}:{call.lineno}"
        for path, tree in sources()
        for text in ast.walk(tree)
        if isinstance(text, ast.JoinedStr)
        for call in ast.walk(text)
        if isinstance(call, ast.Call)
        and isinstance(call.func, ast.Name)
        and call.func.id in KEYWORDS
    }
    assert not inside


@pytest.fixture(scope="module")
def messages(tmp_path_factory):
    """All that makemessages finds, as one text without its line breaks."""
    if shutil.which("xgettext") is None:
        pytest.skip("makemessages needs xgettext, which is not installed here")
    folder = tmp_path_factory.mktemp("messages")
    for name in ("herdbook", "genetics", "templates"):
        shutil.copytree(
            PROJECT / name, folder / name, ignore=shutil.ignore_patterns("__pycache__", "*.png")
        )
    (folder / "locale").mkdir()
    command = [sys.executable, "-m", "django", "makemessages", "--locale", "en", "--no-location"]
    subprocess.run(
        command,
        cwd=folder,
        env=os.environ | {"DJANGO_SETTINGS_MODULE": "tests.settings", "PYTHONPATH": str(PROJECT)},
        check=True,
        capture_output=True,
        text=True,
    )
    found = "".join(path.read_text("utf-8") for path in folder.rglob("django.po"))
    return found.replace('"\n"', "")


def test_makemessages_finds_every_sentence(messages):
    wanted = {sentence for _path, tree in sources() for sentence in sentences(tree)}
    assert len(wanted) > 500
    missed = {one for one in wanted if f'"{_escaped(one)}"' not in messages}
    assert not missed


def _escaped(sentence):
    plain = sentence.replace("\\", "\\\\").replace('"', '\\"').replace("\t", "\\t")
    return plain.replace("\n", "\\n")
