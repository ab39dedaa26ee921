"""The set-up: an environment built from a lock file by the standard library alone.

The lock here asks for one small package made on the spot, so nothing is fetched.
"""

import base64
import hashlib
import os
import subprocess
import sys
import threading
import zipfile

import pytest

from herdbook import bootstrap
from herdbook.bootstrap import PROJECT, STAMP, Environment, ensure, python_in


def write_wheel(folder, version):
    """A package `baa` with one module and one script; returns its line in a lock file."""
    path = folder / f"baa-{version}-py3-none-any.whl"
    about = f"baa-{version}.dist-info"
    files = {
        "baa.py": f"VERSION = '{version}'\ndef speak():\n    print('baa')\n",
        f"{about}/METADATA": f"Metadata-Version: 2.1\nName: baa\nVersion: {version}\n",
        f"{about}/WHEEL": "Wheel-Version: 1.0\nRoot-Is-Purelib: true\nTag: py3-none-any\n",
        f"{about}/entry_points.txt": "[console_scripts]\nbaa = baa:speak\n",
    }

    def recorded(name, text):
        digest = base64.urlsafe_b64encode(hashlib.sha256(text.encode()).digest()).rstrip(b"=")
        return f"{name},sha256={digest.decode()},{len(text.encode())}"

    record = [recorded(*file) for file in files.items()] + [f"{about}/RECORD,,"]
    files[f"{about}/RECORD"] = "\n".join(record) + "\n"
    with zipfile.ZipFile(path, "w") as wheel:
        for name, text in files.items():
            wheel.writestr(name, text)
    return f"baa=={version} --hash=sha256:{hashlib.sha256(path.read_bytes()).hexdigest()}\n"


@pytest.fixture
def wheels(tmp_path, monkeypatch):
    """A folder of packages, the only one that pip looks in."""
    folder = tmp_path / "wheels"
    folder.mkdir()
    monkeypatch.setenv("PIP_NO_INDEX", "1")
    monkeypatch.setenv("PIP_FIND_LINKS", str(folder))
    monkeypatch.setenv("PIP_CONFIG_FILE", os.devnull)
    return folder


@pytest.fixture
def environment(tmp_path, wheels):
    """Not built yet, in a folder with a blank in its name."""
    project = tmp_path / "the herd-book"
    project.mkdir()
    lock = project / "requirements.lock"
    lock.write_text(write_wheel(wheels, "1.0"))
    return Environment(project / ".venv", lock)


@pytest.fixture
def without_ensurepip(monkeypatch):
    """As Debian's Python is without python3-venv. (It is also the quicker way.)"""
    monkeypatch.setattr(bootstrap, "can_bring_pip", lambda: False)


def version_in(environment):
    ask = [environment.python, "-c", "import baa; print(baa.VERSION)"]
    return subprocess.run(ask, check=True, capture_output=True, text=True).stdout.strip()


def left_over(environment):
    return list(environment.folder.parent.glob(".building-*/"))


@pytest.mark.slow
def test_it_works(environment, capfd):
    ensure(environment)
    assert version_in(environment) == "1.0"
    assert left_over(environment) == []
    out, said = capfd.readouterr()
    assert out == ""
    assert said.startswith("Setting up .venv, once, from requirements.lock")


@pytest.mark.usefixtures("without_ensurepip")
class TestWithTheSystemsPip:
    def test_it_works(self, environment):
        ensure(environment)
        assert version_in(environment) == "1.0"

    @pytest.mark.slow
    def test_a_second_time_adds_nothing(self, environment, capfd):
        ensure(environment)
        capfd.readouterr()
        before = os.stat(environment.folder / STAMP).st_mtime_ns
        ensure(environment)
        assert os.stat(environment.folder / STAMP).st_mtime_ns == before
        assert capfd.readouterr() == ("", "")

    @pytest.mark.slow
    def test_scripts_run_where_they_are_at_last(self, environment):
        ensure(environment)
        script = python_in(environment.folder).parent / "baa"
        done = subprocess.run([script], check=True, capture_output=True, text=True)
        assert done.stdout == "baa\n"

    @pytest.mark.slow
    def test_another_lock_is_built_anew(self, environment, wheels):
        ensure(environment)
        environment.lock.write_text(write_wheel(wheels, "2.0"))
        ensure(environment)
        assert version_in(environment) == "2.0"
        assert left_over(environment) == []

    @pytest.mark.slow
    def test_an_environment_without_a_stamp_is_built_anew(self, environment):
        environment.folder.mkdir()
        (environment.folder / "stray").touch()
        ensure(environment)
        assert version_in(environment) == "1.0"
        assert not (environment.folder / "stray").exists()

    @pytest.mark.slow
    def test_an_environment_whose_python_is_gone_is_built_anew(self, environment):
        ensure(environment)
        environment.python.unlink()
        environment.python.symlink_to("/nowhere/python3")
        ensure(environment)
        assert version_in(environment) == "1.0"

    @pytest.mark.slow
    def test_what_a_killed_set_up_left_is_taken_away(self, environment):
        half = environment.folder.parent / ".building-killed"
        (half / "new").mkdir(parents=True)
        ensure(environment)
        assert left_over(environment) == []

    @pytest.mark.slow
    def test_another_file_than_was_locked_is_refused(self, environment, capfd):
        ensure(environment)
        environment.lock.write_text("baa==1.0 --hash=sha256:" + "0" * 64 + "\n")
        with pytest.raises(SystemExit) as refused:
            ensure(environment)
        assert "Setting up did not finish" in str(refused.value)
        assert "do not match the hashes" in " ".join(capfd.readouterr().err.split()).lower()
        assert version_in(environment) == "1.0"  # the old one still stands
        assert left_over(environment) == []

    def test_two_at_once_build_one(self, environment, monkeypatch):
        built = []
        build = bootstrap.build
        monkeypatch.setattr(bootstrap, "build", lambda one: (built.append(one), build(one)))
        both = [threading.Thread(target=ensure, args=[environment]) for _ in range(2)]
        for thread in both:
            thread.start()
        for thread in both:
            thread.join()
        assert len(built) == 1
        assert version_in(environment) == "1.0"

    def test_a_folder_that_cannot_be_written_is_told(self, environment, tmp_path):
        (tmp_path / "file").touch()
        with pytest.raises(SystemExit, match="cannot set itself up in"):
            ensure(environment._replace(folder=tmp_path / "file" / ".venv"))

    def test_no_pip_anywhere_is_told(self, environment, monkeypatch):
        monkeypatch.setattr(bootstrap, "pip_elsewhere", list)
        monkeypatch.setattr(bootstrap, "is_root", lambda: False)
        with pytest.raises(SystemExit, match="apt install python3-venv"):
            ensure(environment)


def test_the_tests_have_an_environment_of_their_own():
    assert bootstrap.environment_for("start").lock.name == "requirements.lock"
    assert bootstrap.environment_for("test").lock.name == "requirements-test.lock"


def test_inside_is_told_by_the_prefix(environment, monkeypatch, capfd):
    ran = []
    monkeypatch.setattr(bootstrap, "environment_for", lambda command: environment)
    monkeypatch.setattr(bootstrap, "ensure", ran.append)
    monkeypatch.setattr(bootstrap, "run_again", lambda python, argv: ran.append(argv))
    bootstrap.enter(["manage.py", "start"])
    assert ran == [environment, ["manage.py", "start"]]
    ran.clear()
    monkeypatch.setattr(sys, "prefix", str(environment.folder))
    bootstrap.enter(["manage.py", "start"])
    assert ran == []
    assert "was not built from the current requirements.lock" in capfd.readouterr().err


def test_it_needs_the_standard_library_alone():
    ask = "import sys; sys.path.insert(0, sys.argv[1]); import herdbook.bootstrap"
    subprocess.run([sys.executable, "-I", "-S", "-c", ask, str(PROJECT)], check=True)


@pytest.mark.parametrize("version", [(3, 10, 12), (3, 7, 0)], ids=str)
def test_an_older_python_is_told(version):
    ask = f"import runpy, sys; sys.version_info = {version}; runpy.run_path(sys.argv[1], {{}}, "
    command = [sys.executable, "-c", ask + "'__main__')", str(PROJECT / "manage.py")]
    answer = subprocess.run(command, check=False, capture_output=True, text=True)
    assert answer.returncode == 1
    assert answer.stdout == ""
    assert answer.stderr.startswith("The herd-book needs Python 3.11 or newer, and this is Python")
    assert answer.stderr.count("\n") == 1
