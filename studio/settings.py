"""Settings of a Fourbar studio, all from the environment, with defaults for one machine.

FOURBAR_DATA        folder for the database, the secret and collected files (.state)
FOURBAR_SECRET_KEY  signing secret; made once and kept in FOURBAR_DATA if not given
FOURBAR_HOSTS       comma-separated names the studio answers to
FOURBAR_HTTPS       1 where the studio is served over HTTPS
FOURBAR_DEBUG       1 for contributors only
DATABASE_URL        postgres://...; SQLite in FOURBAR_DATA if not given
"""

import os
from pathlib import Path

import dj_database_url
from django.core.management.utils import get_random_secret_key

BASE_DIR = Path(__file__).resolve().parent.parent
DATA_DIR = Path(os.environ.get("FOURBAR_DATA", BASE_DIR / ".state"))
DATA_DIR.mkdir(parents=True, exist_ok=True)

DEBUG = os.environ.get("FOURBAR_DEBUG") == "1"
HTTPS = os.environ.get("FOURBAR_HTTPS") == "1"


def _kept_secret() -> str:
    path = DATA_DIR / "secret_key"
    try:
        with os.fdopen(os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "w") as file:
            file.write(get_random_secret_key())
    except FileExistsError:
        pass
    return path.read_text()


SECRET_KEY = os.environ.get("FOURBAR_SECRET_KEY") or _kept_secret()
ALLOWED_HOSTS = os.environ.get("FOURBAR_HOSTS", "localhost,127.0.0.1,[::1]").split(",")
CSRF_TRUSTED_ORIGINS = [f"https://{host}" for host in ALLOWED_HOSTS] if HTTPS else []

INSTALLED_APPS = [
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "whitenoise.runserver_nostatic",
    "django.contrib.staticfiles",
    "django_htmx",
    "axes",
    "studio",
    "studio.accounts",
    "pieces",
    "students",
    "studio.lessons",
    "studio.handouts",
    "studio.overview",
]

MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "studio.middleware.content_security",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
    "studio.middleware.who_is_asking",
    "axes.middleware.AxesMiddleware",
]

ROOT_URLCONF = "studio.urls"
WSGI_APPLICATION = "studio.wsgi.application"

TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "DIRS": [BASE_DIR / "templates"],
        "APP_DIRS": False,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.messages.context_processors.messages",
                "studio.accounts.access.actor_for_templates",
            ],
            "builtins": ["studio.templatetags.fourbar"],
        },
    }
]

DATABASES = {
    "default": dj_database_url.config(default=f"sqlite:///{DATA_DIR / 'fourbar.sqlite3'}", conn_max_age=600)
}
if DATABASES["default"]["ENGINE"] == "django.db.backends.sqlite3":
    # FULL: with NORMAL a power cut can lose a tick that was already acknowledged.
    # IMMEDIATE: a transaction that will write takes its turn at the start instead of failing midway.
    DATABASES["default"]["OPTIONS"] = {
        "transaction_mode": "IMMEDIATE",
        "timeout": 20,
        "init_command": "PRAGMA journal_mode=WAL; PRAGMA synchronous=FULL; PRAGMA secure_delete=ON;",
    }
    # A file even in tests: the live server and the test share it from several threads.
    DATABASES["default"]["TEST"] = {"NAME": str(DATA_DIR / "test.sqlite3")}
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

AUTH_USER_MODEL = "accounts.User"
AUTHENTICATION_BACKENDS = [
    "axes.backends.AxesStandaloneBackend",
    "django.contrib.auth.backends.ModelBackend",
]
AUTH_PASSWORD_VALIDATORS = [
    {
        "NAME": "django.contrib.auth.password_validation.MinimumLengthValidator",
        "OPTIONS": {"min_length": 12},
    },
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
    {"NAME": "django.contrib.auth.password_validation.UserAttributeSimilarityValidator"},
    {"NAME": "studio.accounts.passwords.NotPadded"},
]
LOGIN_URL = "sign_in"
LOGIN_REDIRECT_URL = "overview"
LOGOUT_REDIRECT_URL = "sign_in"

# Keyed on name and address together, so that a stranger cannot lock a teacher out.
AXES_LOCKOUT_PARAMETERS = [["username", "ip_address"]]
AXES_FAILURE_LIMIT = 8
AXES_COOLOFF_TIME = 0.25
AXES_LOCKOUT_TEMPLATE = "accounts/wait.html"
AXES_ENABLE_ADMIN = False

SESSION_COOKIE_AGE = 60 * 60 * 24 * 30
SESSION_COOKIE_HTTPONLY = True
SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = HTTPS
SECURE_HSTS_SECONDS = 60 * 60 * 24 * 365 if HTTPS else 0
SECURE_HSTS_INCLUDE_SUBDOMAINS = SECURE_HSTS_PRELOAD = HTTPS
SECURE_SSL_REDIRECT = HTTPS
SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https") if HTTPS else None
SECURE_REFERRER_POLICY = "same-origin"
X_FRAME_OPTIONS = "DENY"

DATA_UPLOAD_MAX_MEMORY_SIZE = FILE_UPLOAD_MAX_MEMORY_SIZE = 5 * 2**20
DATA_UPLOAD_MAX_NUMBER_FILES = 1000  # more than are read at a time, so that the form can say so

LANGUAGE_CODE = "en-gb"
USE_I18N = True
USE_TZ = True
TIME_ZONE = "UTC"

STATIC_URL = "static/"
STATIC_ROOT = DATA_DIR / "static"
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    "staticfiles": {
        "BACKEND": (
            "django.contrib.staticfiles.storage.StaticFilesStorage"
            if DEBUG
            else "studio.storage.ModuleStorage"
        )
    },
}

# Errors are logged with the path and the traceback, never with what a person typed (studio.logs).
LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "formatters": {"plain": {"()": "studio.logs.WithoutWords"}},
    "handlers": {"console": {"class": "logging.StreamHandler", "formatter": "plain"}},
    "root": {"handlers": ["console"], "level": "WARNING"},
    # It warns of every media query that only screens need.
    "loggers": {"weasyprint": {"level": "ERROR"}},
}
SILENCED_SYSTEM_CHECKS = [] if HTTPS else ["security.W004", "security.W008", "security.W012", "security.W016"]
