"""Settings of the herd-book: one place, read from the environment where a keeper may choose."""

import hashlib
import os
from pathlib import Path
from typing import Any

import dj_database_url
import tzlocal
from django.utils.functional import lazy

from herdbook.launcher.home import home, read_secret

# The calculation's matrices are small: threads of a linear algebra library would cost more than
# they bring, many times over on a busy machine. Read when numpy is first imported.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

BASE = Path(__file__).resolve().parent.parent
DEMO = os.environ.get("HERDBOOK_DEMO") == "1"  # manage.py says so, when --demo is given
HOME = home(demo=DEMO)
# Read on first use, so that a command which needs no secret leaves no folder behind.
SECRET_KEY = os.environ.get("HERDBOOK_SECRET_KEY") or lazy(read_secret, str)(HOME)
DEBUG = os.environ.get("HERDBOOK_DEBUG") == "1"
ALLOWED_HOSTS = os.environ.get("HERDBOOK_HOSTS", "127.0.0.1,localhost").split(",")

INSTALLED_APPS = [
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "django.contrib.staticfiles",
    "simple_history",
    "django_tables2",
    "django_filters",
    "django_htmx",
    "csp",
    "herdbook.launcher",
    "herdbook.book",
    "herdbook.pages",
    "herdbook.exchange",
    "genetics",
]

MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    # Before the static files, so that these carry the policy as well.
    "csp.middleware.CSPMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
]

ROOT_URLCONF = "herdbook.urls"
TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "DIRS": [BASE / "templates"],
        "APP_DIRS": True,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
            ]
        },
    }
]

_ELSEWHERE = None if DEMO else os.environ.get("HERDBOOK_DATABASE")
DATABASES: dict[str, Any] = {
    "default": dj_database_url.parse(_ELSEWHERE)
    if _ELSEWHERE
    else {"ENGINE": "django.db.backends.sqlite3", "NAME": HOME / "book.sqlite3"}
}
if DATABASES["default"]["ENGINE"].endswith("sqlite3"):
    # A writer takes the lock at once: two saves at the same moment wait, none fails half-way.
    DATABASES["default"]["OPTIONS"] = {
        "transaction_mode": "IMMEDIATE",
        "timeout": 20,
        "init_command": "PRAGMA journal_mode=WAL; PRAGMA synchronous=NORMAL;",
    }
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

AUTH_USER_MODEL = "book.User"
LOGIN_URL = "sign-in"
LOGIN_REDIRECT_URL = "home"

# Two books on one host (a book and its demo) keep their own sign-in.
_BOOK_MARK = hashlib.sha256(str(HOME.resolve()).encode()).hexdigest()[:8]
SESSION_COOKIE_NAME = f"herdbook-{_BOOK_MARK}"
CSRF_COOKIE_NAME = f"herdbook-form-{_BOOK_MARK}"
SESSION_COOKIE_HTTPONLY = True
SESSION_COOKIE_SAMESITE = "Lax"
CSRF_FAILURE_VIEW = "herdbook.pages.common.csrf_failure.form_again"
X_FRAME_OPTIONS = "DENY"
SECURE_REFERRER_POLICY = "same-origin"

CONTENT_SECURITY_POLICY = {
    "DIRECTIVES": {
        "default-src": ["'none'"],
        "script-src": ["'self'"],
        "style-src": ["'self'"],
        "img-src": ["'self'", "data:", "blob:"],
        "connect-src": ["'self'"],
        "font-src": ["'self'"],
        "form-action": ["'self'"],
        "base-uri": ["'none'"],
        "frame-ancestors": ["'none'"],
    }
}

LANGUAGE_CODE = "en-gb"
LOCALE_PATHS = [BASE / "locale"]
USE_I18N = True
USE_TZ = True
TIME_ZONE = tzlocal.get_localzone_name() or "UTC"

STATIC_URL = "static/"
STATICFILES_DIRS = [BASE / "static"]
WHITENOISE_USE_FINDERS = True
MEDIA_ROOT = HOME / "photos"
FILE_UPLOAD_PERMISSIONS = 0o600  # for its owner's eyes only
DATA_UPLOAD_MAX_MEMORY_SIZE = 20 * 1024 * 1024

DJANGO_TABLES2_TEMPLATE = "tables/table.html"
MESSAGE_STORAGE = "django.contrib.messages.storage.session.SessionStorage"

# Errors go to the terminal and to a file that is still there when the terminal is gone. A log
# holds the path of a request and never what stands behind its question mark, as a key does.
LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "formatters": {"dated": {"format": "{asctime} {name} {levelname} {message}", "style": "{"}},
    "handlers": {
        "terminal": {"class": "logging.StreamHandler"},
        "file": {
            "class": "logging.handlers.RotatingFileHandler",
            "filename": HOME / "errors.log",
            "maxBytes": 1_000_000,
            "backupCount": 3,
            "delay": True,
            "encoding": "utf-8",
            "formatter": "dated",
        },
    },
    "root": {"handlers": ["terminal", "file"], "level": "ERROR"},
    "loggers": {"django": {"handlers": [], "level": "ERROR"}},
}
