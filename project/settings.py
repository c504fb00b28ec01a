"""Settings, from environment variables; the defaults run on one machine with nothing installed.

MODE is `development` (default), `demo` (what `manage.py demo` sets: one-tap sign-in, invented people) or `production`.
Production takes SECRET_KEY, ALLOWED_HOSTS and DATABASE_URL from the environment and refuses to start without them. No
key is ever one that stands in a repository: outside production each DATA_DIR has its own, made at the first start.
"""

import os
import re
import secrets
import tempfile
from contextlib import suppress
from pathlib import Path

import environ
from csp.constants import NONE, SELF
from django.core.exceptions import ImproperlyConfigured

BASE_DIR = Path(__file__).resolve().parent.parent
env = environ.Env()

MODE = env.str("MODE", "development")
if MODE not in ("development", "demo", "production"):
    raise ImproperlyConfigured(f"MODE is “{MODE}”; it can be development, demo or production.")
PRODUCTION = MODE == "production"
DEMO = MODE == "demo"

DATA_DIR = Path(env.str("DATA_DIR", str(BASE_DIR / ".data" / MODE)))
if not PRODUCTION:
    DATA_DIR.mkdir(parents=True, exist_ok=True)


def _own_key(path: Path) -> str:
    """The key of these data, made by whichever process is first."""
    if not path.exists():
        with tempfile.NamedTemporaryFile("w", dir=path.parent) as made, suppress(FileExistsError):
            made.write(secrets.token_urlsafe(48))
            made.flush()
            os.link(made.name, path)  # whole, or another process was first
    return path.read_text()


SECRET_KEY = env.str("SECRET_KEY", "") or ("" if PRODUCTION else _own_key(DATA_DIR / "secret-key"))
if len(SECRET_KEY) < 32 or SECRET_KEY.startswith(("development-only", "django-insecure")):
    raise ImproperlyConfigured("SECRET_KEY must be at least 32 characters that nobody else knows.")
DEBUG = env.bool("DEBUG", False) and not PRODUCTION
ALLOWED_HOSTS = [host for host in env.list("ALLOWED_HOSTS", default=[]) if host]
if not ALLOWED_HOSTS:
    if PRODUCTION:
        raise ImproperlyConfigured("ALLOWED_HOSTS must name the hosts under which this is reached.")
    ALLOWED_HOSTS = ["localhost", "127.0.0.1", "[::1]"]
# What stands in the code on a printed sheet; else the host under which whoever prints has the page open.
PUBLIC_ADDRESS = env.str("PUBLIC_ADDRESS", "").rstrip("/")
if PUBLIC_ADDRESS and not re.fullmatch(r"https?://[A-Za-z0-9.:\[\]-]+", PUBLIC_ADDRESS):
    raise ImproperlyConfigured(f"PUBLIC_ADDRESS is “{PUBLIC_ADDRESS}”; write https:// and the host, without a path.")
CSRF_TRUSTED_ORIGINS = env.list("CSRF_TRUSTED_ORIGINS", default=[])

INSTALLED_APPS = [
    "django.contrib.admin",
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "whitenoise.runserver_nostatic",
    "django.contrib.staticfiles",
    "csp",
    "django_htmx",
    "rest_framework",
    "rest_framework.authtoken",
    "drf_spectacular",
    "drf_spectacular_sidecar",
    "trusses",
    "changes",
    "project",
]

MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    # An elevation inline is large and shrinks to a seventh. Against guessing a secret from compressed lengths (BREACH):
    # the one secret on a page, the CSRF token, is masked anew each time, lengths are padded at random, and a foreign
    # site's requests carry no session (SameSite).
    "django.middleware.gzip.GZipMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "csp.middleware.CSPMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
    "project.middleware.keeps_lengths_whole",
    "project.middleware.explain_method",
    "project.middleware.reads_once",
    "project.offline.whose.tells_whose",
    "project.offline.sent.sent_once",  # innermost: what a form does and its key are written together
]

ROOT_URLCONF = "project.urls"
WSGI_APPLICATION = "project.wsgi.application"
TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "DIRS": [BASE_DIR / "templates"],
        "APP_DIRS": True,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
                "project.context.mode",
            ],
        },
    }
]

# Database: PostgreSQL in an office; SQLite needs IMMEDIATE transactions, or a read-then-write loses to "locked".
if PRODUCTION or env.str("DATABASE_URL", ""):
    DATABASES = {"default": env.db("DATABASE_URL")}
else:
    DATABASES = {"default": {"ENGINE": "django.db.backends.sqlite3", "NAME": DATA_DIR / "chord-change.sqlite3"}}
if DATABASES["default"]["ENGINE"] == "django.db.backends.sqlite3":
    DATABASES["default"]["OPTIONS"] = {
        "transaction_mode": "IMMEDIATE",
        "timeout": 20,
        "init_command": "PRAGMA journal_mode=WAL; PRAGMA synchronous=FULL;",
    }
    # A file, not memory: locking between threads and processes is part of what the tests exercise.
    DATABASES["default"]["TEST"] = {"NAME": DATA_DIR / "test.sqlite3"}
else:
    DATABASES["default"]["CONN_MAX_AGE"] = env.int("CONN_MAX_AGE", 60)
    DATABASES["default"]["CONN_HEALTH_CHECKS"] = True
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

# What is bounded, tries to sign in and calls by a token, is counted in a file, by all of a server's processes together.
CACHES = {
    "default": {
        "BACKEND": "django.core.cache.backends.filebased.FileBasedCache",
        "LOCATION": DATA_DIR / "cache",
        "OPTIONS": {"MAX_ENTRIES": 10_000},
    },
    # Drawings, by what they are of: none is ever out of date. About 50 kB each, a sixth of that on the disk.
    "drawings": {
        "BACKEND": "django.core.cache.backends.filebased.FileBasedCache",
        "LOCATION": DATA_DIR / "drawings",
        "TIMEOUT": None,
        "OPTIONS": {"MAX_ENTRIES": 5_000},
    },
}

AUTHENTICATION_BACKENDS = ["project.accounts.Accounts"]
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": "django.contrib.auth.password_validation.UserAttributeSimilarityValidator"},
    {"NAME": "django.contrib.auth.password_validation.MinimumLengthValidator", "OPTIONS": {"min_length": 10}},
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
]
LOGIN_URL = "sign-in"
LOGIN_REDIRECT_URL = "home"
LOGOUT_REDIRECT_URL = "sign-in"

LANGUAGE_CODE = "en-us"
TIME_ZONE = "UTC"
USE_TZ = True
USE_I18N = False
FORMAT_MODULE_PATH = ["project.formats"]

STATIC_URL = "static/"
STATIC_ROOT = DATA_DIR / "static"
if not PRODUCTION:
    STATIC_ROOT.mkdir(exist_ok=True)  # empty: files come from the apps' own folders, but its absence is warned of
WHITENOISE_USE_FINDERS = not PRODUCTION
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    "staticfiles": {
        "BACKEND": "whitenoise.storage.CompressedManifestStaticFilesStorage"
        if PRODUCTION
        else "django.contrib.staticfiles.storage.StaticFilesStorage"
    },
}

# Safety of the pages: no inline script or style, nothing from elsewhere.
CONTENT_SECURITY_POLICY = {
    "DIRECTIVES": {
        "default-src": [SELF],
        "img-src": [SELF, "data:"],
        "object-src": [NONE],
        "base-uri": [SELF],
        "form-action": [SELF],
        "frame-ancestors": [NONE],
    }
}
X_FRAME_OPTIONS = "DENY"
SECURE_REFERRER_POLICY = "same-origin"
SESSION_COOKIE_HTTPONLY = True
SESSION_COOKIE_SAMESITE = "Lax"
CSRF_COOKIE_SAMESITE = "Lax"
SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = PRODUCTION
SECURE_SSL_REDIRECT = PRODUCTION and env.bool("SECURE_SSL_REDIRECT", True)
SECURE_HSTS_SECONDS = 31536000 if PRODUCTION else 0
SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https") if env.bool("BEHIND_PROXY", False) else None

REST_FRAMEWORK = {
    "DEFAULT_AUTHENTICATION_CLASSES": [
        "project.accounts.Tokens",
        "rest_framework.authentication.SessionAuthentication",
    ],
    "DEFAULT_PERMISSION_CLASSES": ["rest_framework.permissions.IsAuthenticated"],
    "EXCEPTION_HANDLER": "project.parsers.explain",
    "DEFAULT_SCHEMA_CLASS": "drf_spectacular.openapi.AutoSchema",
    "DEFAULT_PAGINATION_CLASS": "rest_framework.pagination.PageNumberPagination",
    "PAGE_SIZE": 100,
    "DEFAULT_PARSER_CLASSES": ["project.parsers.BoundedJSONParser"],
    "DEFAULT_THROTTLE_RATES": {
        "token": env.str("TOKEN_RATE", "20/min"),
        "sign-in": env.str("SIGN_IN_RATE", "20/min"),  # wrong tries from one address
        "paper": env.str("PAPER_RATE", "120/min"),  # printed codes looked up from one address
        "account": env.str("ACCOUNT_RATE", "100/hour"),  # wrong tries for one account from wherever it isn't known
    },
    # without a proxy in front, whoever tries could write another address into each try
    "NUM_PROXIES": 1 if env.bool("BEHIND_PROXY", False) else 0,
    "DEFAULT_RENDERER_CLASSES": ["rest_framework.renderers.JSONRenderer"],
}
SPECTACULAR_SETTINGS = {
    "TITLE": "Chord Change",
    "DESCRIPTION": "Changes to a job's wood trusses: asked, computed, decided. It computes; it doesn't seal.",
    "VERSION": "1",
    "SERVE_INCLUDE_SCHEMA": False,
    "ENUM_NAME_OVERRIDES": {
        "RequestState": "changes.models.State",
        "AskVerdict": "changes.models.Verdict",
        "DecisionVerdict": "changes.models.Decision.Choice",
    },
    "SWAGGER_UI_DIST": "SIDECAR",
    "SWAGGER_UI_FAVICON_HREF": "SIDECAR",
}

# The queue. The database row is the truth and a message only a nudge; see DEVELOPERS.md, "The worker".
REDIS_URL = env.str("REDIS_URL", "")
CELERY_BROKER_URL = REDIS_URL or "spool://"
SPOOL_DIR = DATA_DIR / "spool"
COMPUTE_LEASE_S = env.float("COMPUTE_LEASE_S", 60)
COMPUTE_SOFT_LIMIT_S = env.float("COMPUTE_SOFT_LIMIT_S", 20)
COMPUTE_HARD_LIMIT_S = env.float("COMPUTE_HARD_LIMIT_S", 30)
COMPUTE_SWEEP_S = env.float("COMPUTE_SWEEP_S", 10)
COMPUTE_STALL_S = env.float("COMPUTE_STALL_S", 20)
COMPUTE_ATTEMPTS = env.int("COMPUTE_ATTEMPTS", 3)
ATLAS_SEARCHES = env.int("ATLAS_SEARCHES", 60)

# Limits on what comes in.
DATA_UPLOAD_MAX_MEMORY_SIZE = 2 * 1024 * 1024
DOCUMENT_MAX_BYTES = env.int("DOCUMENT_MAX_BYTES", 1024 * 1024)
UPLOAD_MAX_BYTES = env.int("UPLOAD_MAX_BYTES", 16 * 1024 * 1024)
FILE_UPLOAD_HANDLERS = [
    "project.uploads.BoundedUploadHandler",
    "django.core.files.uploadhandler.TemporaryFileUploadHandler",
]
ASKS_PER_REQUEST = env.int("ASKS_PER_REQUEST", 40)

# For how many hours a page that a phone kept may be called current without a signal.
KEPT_CURRENT_H = env.float("KEPT_CURRENT_H", 24)

LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "formatters": {
        "line": {
            "class": "project.logs.WithoutTokens",
            "format": "%(asctime)s %(levelname)s %(name)s: %(message)s",
        },
    },
    "handlers": {"console": {"class": "logging.StreamHandler", "formatter": "line"}},
    # the development server's own, which would write each address as it came
    "loggers": {"django.server": {"handlers": ["console"], "propagate": False}},
    "root": {"handlers": ["console"], "level": env.str("LOG_LEVEL", "INFO")},
}
