"""All settings. The environment is read here and nowhere else; docs/reference/settings.md lists each variable."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from uuid import uuid4

import dj_database_url
from cryptography.fernet import Fernet
from csp.constants import NONCE, NONE, SELF
from django.core.management.utils import get_random_secret_key

from compliance.config import env

BASE_DIR = Path(__file__).resolve().parent.parent.parent
DATA_DIR = Path(env.text("DATA_DIR", str(BASE_DIR / ".data")))
"""Where one machine keeps what must last: the SQLite file, the files, and the keys made on first start."""


def _secret(variable: str, make: Callable[[], str] = get_random_secret_key) -> str:
    """Return the secret given in the environment, or one made on first start, readable by its owner only."""
    given = env.text(variable)
    if given:
        return given
    DATA_DIR.mkdir(parents=True, exist_ok=True)
    kept = DATA_DIR / variable.lower().replace("_", "-")
    if not kept.exists():
        made = kept.with_name(f"{kept.name}.{uuid4().hex}")
        made.touch(mode=0o600)
        made.write_text(make())
        with suppress(FileExistsError):  # another process that starts beside this one was first: its secret counts
            kept.hardlink_to(made)
        made.unlink()
    return kept.read_text()


DEBUG = env.flag("DEBUG", default=False)
SECRET_KEY = _secret("SECRET_KEY")
RECORD_KEY = _secret("RECORD_KEY")
"""Seals the record of actions. Kept apart from SECRET_KEY, which may be changed at any time; this one never."""
FILE_KEYS = env.words("FILE_KEYS") or [_secret("FILE_KEY", lambda: Fernet.generate_key().decode())]
"""Encrypt photos and statements; the first for what is new, all of them for what is there."""
ALLOWED_HOSTS = env.words("ALLOWED_HOSTS") or ["localhost", "127.0.0.1", "[::1]"]
CSRF_TRUSTED_ORIGINS = env.words("CSRF_TRUSTED_ORIGINS")

INSTALLED_APPS = [
    "compliance.config.repair.RepairConfig",
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "whitenoise.runserver_nostatic",
    "django.contrib.staticfiles",
    "django.contrib.humanize",
    "csp",
    "django_htmx",
    "rest_framework",
    "drf_spectacular",
    "django_celery_beat",
    "menus",
    "roster",
    "compliance",
]

MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "csp.middleware.CSPMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django.contrib.auth.middleware.LoginRequiredMiddleware",
    "compliance.config.acting.acting",
    "compliance.config.no_store.no_store",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
]

ROOT_URLCONF = "compliance.config.urls"
WSGI_APPLICATION = "compliance.config.wsgi.application"
ASGI_APPLICATION = "compliance.config.asgi.application"

TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "DIRS": [BASE_DIR / "compliance" / "web" / "templates"],
        "APP_DIRS": True,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
                "compliance.web.context.page",
            ],
            "libraries": {"web": "compliance.web.tags"},
        },
    },
]

DATABASES = {
    "default": dj_database_url.config(
        default=f"sqlite:///{DATA_DIR / 'service.sqlite3'}", conn_max_age=60, conn_health_checks=True
    )
}
if DATABASES["default"]["ENGINE"].endswith("sqlite3"):
    DATA_DIR.mkdir(parents=True, exist_ok=True)
    # IMMEDIATE: two writers queue for the lock instead of one of them losing its write half-way.
    DATABASES["default"]["OPTIONS"] = {
        "transaction_mode": "IMMEDIATE",
        "timeout": 30,
        "init_command": "PRAGMA journal_mode=WAL; PRAGMA synchronous=NORMAL; PRAGMA foreign_keys=ON;",
    }
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

AUTH_USER_MODEL = "roster.User"
LOGIN_URL = "sign-in"
LOGIN_REDIRECT_URL = "home"
LOGOUT_REDIRECT_URL = "sign-in"
PASSWORD_HASHERS = [
    "django.contrib.auth.hashers.Argon2PasswordHasher",
    "django.contrib.auth.hashers.PBKDF2PasswordHasher",
]
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": "django.contrib.auth.password_validation.UserAttributeSimilarityValidator"},
    {
        "NAME": "django.contrib.auth.password_validation.MinimumLengthValidator",
        "OPTIONS": {"min_length": 12},
    },
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
]
PASSWORD_RESET_TIMEOUT = env.number("INVITATION_SECONDS", 24 * 3600)

LANGUAGE_CODE = "en-us"
TIME_ZONE = env.text("TIME_ZONE", "UTC")
USE_I18N = True
USE_TZ = True

STATIC_URL = "static/"
STATIC_ROOT = env.text("STATIC_ROOT") or None
STATICFILES_DIRS = [BASE_DIR / "compliance" / "web" / "static"]
# Serves straight from the source folders, so that no collect step stands between a checkout and a page.
WHITENOISE_USE_FINDERS = True

# No address leads into this folder: compliance/web hands a photo or a statement to those who may see it.
STORAGES = {
    "default": {
        "BACKEND": "menus.sealed.SealedStorage",
        "OPTIONS": {
            "keys": FILE_KEYS,
            "location": env.text("FILE_DIR", str(DATA_DIR / "files")),
            "file_permissions_mode": 0o600,
            "directory_permissions_mode": 0o700,
        },
    },
    "staticfiles": {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"},
}

DATA_UPLOAD_MAX_MEMORY_SIZE = 2_621_440
# A photo or a scan that may be kept never lies unencrypted in a temporary file.
FILE_UPLOAD_MAX_MEMORY_SIZE = 12_582_912
IMPORT_MAX_BYTES = env.number("IMPORT_MAX_BYTES", 5_000_000)
IMPORT_MAX_ROWS = env.number("IMPORT_MAX_ROWS", 50_000)

SESSION_COOKIE_HTTPONLY = True
SESSION_COOKIE_SAMESITE = "Lax"
BEHIND_HTTPS = env.flag("BEHIND_HTTPS", default=False)
SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = SECURE_SSL_REDIRECT = BEHIND_HTTPS
SECURE_HSTS_SECONDS = env.number("HSTS_SECONDS", 31_536_000 if BEHIND_HTTPS else 0)
SECURE_REDIRECT_EXEMPT = [r"^healthz$"]  # asked from inside, without the proxy
if BEHIND_HTTPS:
    SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https")
# Whether the other names of a school's domain speak HTTPS, and whether browsers list it, is not ours to say.
SILENCED_SYSTEM_CHECKS = ["security.W005", "security.W021"]
X_FRAME_OPTIONS = "DENY"
SECURE_REFERRER_POLICY = "same-origin"
CONTENT_SECURITY_POLICY = {
    "DIRECTIVES": {
        "default-src": [SELF],
        "script-src": [SELF, NONCE],
        "style-src": [SELF],
        "img-src": [SELF, "data:"],
        "media-src": [SELF],
        "object-src": [NONE],
        "base-uri": [SELF],
        "form-action": [SELF],
        "frame-ancestors": [NONE],
    }
}

REST_FRAMEWORK = {
    # DRF views pass by LoginRequiredMiddleware and are open unless this says otherwise.
    "DEFAULT_PERMISSION_CLASSES": ["rest_framework.permissions.IsAuthenticated"],
    "DEFAULT_AUTHENTICATION_CLASSES": ["rest_framework.authentication.SessionAuthentication"],
    "DEFAULT_RENDERER_CLASSES": ["rest_framework.renderers.JSONRenderer"],
    "DEFAULT_PARSER_CLASSES": ["rest_framework.parsers.JSONParser"],
    "DEFAULT_SCHEMA_CLASS": "drf_spectacular.openapi.AutoSchema",
    "DEFAULT_THROTTLE_CLASSES": ["rest_framework.throttling.UserRateThrottle"],
    # Counted in each process: it stops a client that runs wild, not an attacker.
    "DEFAULT_THROTTLE_RATES": {"user": "600/min"},
    "EXCEPTION_HANDLER": "compliance.api.problems.handle",
}
SPECTACULAR_SETTINGS = {
    "TITLE": "Menu compliance",
    "DESCRIPTION": "Treat checks, servings, exceptions and rosters. An information aid: a licensed person decides.",
    "VERSION": "1",
    "SERVE_INCLUDE_SCHEMA": False,
    "SERVE_PERMISSIONS": ["compliance.api.view.HoldsPost"],
    "OAS_VERSION": "3.1.0",
    "ENUM_NAME_OVERRIDES": {
        "OutcomeEnum": "compliance.api.parts.OUTCOMES",
        "StopEnum": "compliance.api.parts.STOPS",
    },
}

CELERY_BROKER_URL = env.text("CELERY_BROKER_URL", "memory://localhost")
ONE_PROCESS = CELERY_BROKER_URL.startswith("memory://")
CELERY_TASK_IGNORE_RESULT = True
CELERY_RESULT_EXPIRES = None  # there are no results, so beat need not schedule their removal
CELERY_TASK_ACKS_LATE = True
CELERY_WORKER_PREFETCH_MULTIPLIER = 1
CELERY_TIMEZONE = "UTC"
CELERY_BEAT_SCHEDULER = "django_celery_beat.schedulers:DatabaseScheduler"
CELERY_BEAT_SCHEDULE = {
    "catch up": {"task": "compliance.tasks.catch_up", "schedule": 300},
    "discard unused photos": {"task": "compliance.tasks.discard_unused_photos", "schedule": 24 * 3600},
}
CELERY_BEAT_ENABLE_REMOTE_CONTROL = not ONE_PROCESS  # lets a health check ask beat whether it still ticks
CELERY_WORKER_HIJACK_ROOT_LOGGER = False
CELERY_BROKER_CONNECTION_RETRY_ON_STARTUP = True
# A page that queues a recheck must not hang on a broker that is away.
CELERY_BROKER_TRANSPORT_OPTIONS = {"socket_connect_timeout": 3}
CELERY_TASK_PUBLISH_RETRY_POLICY = {"max_retries": 1}

NIGHTLY_HOUR = env.number("NIGHTLY_HOUR", 2)
NIGHTLY_WINDOW_DAYS = env.number("NIGHTLY_WINDOW_DAYS", 14)
LABEL_MAX_AGE_DAYS = env.number("LABEL_MAX_AGE_DAYS", 365)
ORDER_OF_WORK_SECONDS = env.number("ORDER_OF_WORK_SECONDS", 8)

EMAIL_BACKEND = (
    "django.core.mail.backends.smtp.EmailBackend"
    if env.text("EMAIL_HOST")
    else "django.core.mail.backends.console.EmailBackend"
)
EMAIL_HOST = env.text("EMAIL_HOST", "localhost")
EMAIL_PORT = env.number("EMAIL_PORT", 587)
EMAIL_HOST_USER = env.text("EMAIL_HOST_USER")
EMAIL_HOST_PASSWORD = env.text("EMAIL_HOST_PASSWORD")
EMAIL_USE_TLS = env.flag("EMAIL_USE_TLS", default=True)
DEFAULT_FROM_EMAIL = env.text("DEFAULT_FROM_EMAIL", "menu-compliance@localhost")
SITE_ADDRESS = env.text("SITE_ADDRESS", "http://127.0.0.1:8000")

LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "formatters": {"plain": {"format": "{asctime} {levelname} {name}: {message}", "style": "{"}},
    "handlers": {"console": {"class": "logging.StreamHandler", "formatter": "plain"}},
    "root": {"handlers": ["console"], "level": env.text("LOG_LEVEL", "WARNING")},
}
