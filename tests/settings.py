"""The herd-book's settings, with a data folder of the tests' own: no test touches a real book."""

import os
import tempfile

_HOME = tempfile.TemporaryDirectory(prefix="herdbook-tests-")
os.environ["HERDBOOK_HOME"] = _HOME.name

from herdbook.settings import *  # noqa: E402, F403

PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]  # quick; no real passwords
TIME_ZONE = "Europe/London"
