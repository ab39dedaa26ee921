"""Tests keep away from every real book, however they are started."""

import os
import subprocess
import sys
from pathlib import Path

from django.conf import settings

PROJECT = Path(__file__).resolve().parents[2]


def test_the_data_folder_is_the_tests_own():
    assert "herdbook-tests-" in settings.HOME.name


def test_it_is_so_under_settings_named_in_the_environment(tmp_path):
    named = os.environ | {
        "DJANGO_SETTINGS_MODULE": "herdbook.settings",
        "HERDBOOK_HOME": str(tmp_path),
    }
    this = f"{Path(__file__).relative_to(PROJECT)}::test_the_data_folder_is_the_tests_own"

    done = subprocess.run(
        [sys.executable, "-m", "pytest", "-q", "-p", "no:cacheprovider", this],
        cwd=PROJECT,
        env=named,
        capture_output=True,
        text=True,
        check=False,
    )

    assert done.returncode == 0, done.stdout
    assert not list(tmp_path.iterdir())
