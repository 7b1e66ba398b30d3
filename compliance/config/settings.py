"""All settings. The environment is read here and nowhere else; docs/reference/settings.md lists each variable."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import suppress
from datetime import timedelta
from pathlib import Path
from uuid import uuid4

import dj_database_url
from cryptography.fernet import Fernet
from csp.constants import NONCE, NONE, SELF
from django.core.management.utils import get_random_secret_key
from kombu import Queue

from compliance.config import env
from compliance.config.sso import single_sign_on

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
    "allauth",
    "allauth.account",
    "allauth.mfa",
    "allauth.socialaccount",
    "allauth.socialaccount.providers.openid_connect",
    "axes",
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
    "compliance.config.request_id.request_id",
    "django.middleware.security.SecurityMiddleware",
    "compliance.config.browser_rights.browser_rights",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "csp.middleware.CSPMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django.contrib.auth.middleware.LoginRequiredMiddleware",
    "compliance.config.second_factor.SecondFactor",
    "compliance.web.gatekeeper.Gatekeeper",
    "compliance.config.acting.acting",
    "compliance.config.no_store.no_store",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
    "compliance.config.session_end.session_end",
    "allauth.account.middleware.AccountMiddleware",
    "axes.middleware.AxesMiddleware",
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

AUTHENTICATION_BACKENDS = [
    "axes.backends.AxesStandaloneBackend",
    "allauth.account.auth_backends.AuthenticationBackend",
]
ACCOUNT_ADAPTER = "compliance.web.accounts_adapter.AccountAdapter"
ACCOUNT_LOGIN_METHODS = {"username"}
ACCOUNT_EMAIL_VERIFICATION = "none"  # an account comes by invitation: whoever opened the link has the address
ACCOUNT_SESSION_REMEMBER = False
ACCOUNT_REAUTHENTICATION_TIMEOUT = 600
# Beside the lock below, which counts for one name from one address: one address (a whole school may be behind it at
# half past seven), and one name from anywhere.
ACCOUNT_RATE_LIMITS = {"login": "120/m/ip", "login_failed": "60/m/ip,50/h/key"}

SECOND_FACTOR_ROLES = env.text("SECOND_FACTOR_ROLES", "licensed,administrator,auditor").replace(",", " ").split()
"""Who must have a second factor; whoever may repair must as well. Empty: nobody, for the demo and for tests alone."""
MFA_ADAPTER = "compliance.web.accounts_adapter.FactorAdapter"
MFA_SUPPORTED_TYPES = ["totp", "webauthn", "recovery_codes"]
MFA_TOTP_ISSUER = "Menu compliance"
MFA_TOTP_TOLERANCE = 1  # one step back and forth, as RFC 6238 section 5.2 recommends, for clocks that are not exact
MFA_RECOVERY_CODES_SHOW_ONCE = True
MFA_ALLOW_UNVERIFIED_EMAIL = True

SIGN_IN_TRIES = env.number("SIGN_IN_TRIES", 5)
SIGN_IN_PAUSE_MINUTES = env.number("SIGN_IN_PAUSE_MINUTES", 15)
SIGN_IN_KEPT_DAYS = env.number("SIGN_IN_KEPT_DAYS", 180)
AXES_LOCKOUT_PARAMETERS = [["username", "ip_address"]]
AXES_FAILURE_LIMIT = SIGN_IN_TRIES
AXES_COOLOFF_TIME = timedelta(minutes=SIGN_IN_PAUSE_MINUTES)
AXES_RESET_COOL_OFF_ON_FAILURE_DURING_LOCKOUT = False  # so that the end of the pause can be told
AXES_RESET_ON_SUCCESS = True
AXES_USERNAME_CALLABLE = "roster.accounts.locks.name_tried"
AXES_LOCKOUT_CALLABLE = "compliance.web.lockout.locked_out"
AXES_DISABLE_ACCESS_LOG = True  # the sign-in history is our own, and shorter
AXES_ENABLE_ADMIN = False
AXES_VERBOSE = False

SSO_ISSUER = env.text("SSO_ISSUER").rstrip("/")
SSO_NAME = env.text("SSO_NAME", "single sign-on")
SOCIALACCOUNT_ADAPTER = "compliance.web.sso.SingleSignOnAdapter"
SOCIALACCOUNT_EMAIL_VERIFICATION = "none"
SOCIALACCOUNT_LOGIN_ON_GET = True  # a form that leads to another host is stopped by our content policy; a link is not
SOCIALACCOUNT_PROVIDERS = single_sign_on(
    issuer=SSO_ISSUER,
    name=SSO_NAME,
    client_id=env.text("SSO_CLIENT_ID"),
    secret=env.text("SSO_CLIENT_SECRET"),
)

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
UP_TO_DATE_SECONDS = env.number("UP_TO_DATE_SECONDS", 45)
ROSTER_END_DATE_INCLUSIVE = env.flag("ROSTER_END_DATE_INCLUSIVE", default=True)

SESSION_COOKIE_AGE = 12 * 3600  # at the longest; roster/accounts/data/sessions.csv ends most of them earlier
SESSION_COOKIE_HTTPONLY = True
SESSION_COOKIE_SAMESITE = "Lax"
BEHIND_HTTPS = env.flag("BEHIND_HTTPS", default=False)
SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = SECURE_SSL_REDIRECT = BEHIND_HTTPS
if BEHIND_HTTPS:  # a name that browsers keep to this host and to HTTPS (RFC 6265bis, cookie name prefixes)
    SESSION_COOKIE_NAME, CSRF_COOKIE_NAME = "__Host-session", "__Host-csrf"
SECURE_HSTS_SECONDS = env.number("HSTS_SECONDS", 31_536_000 if BEHIND_HTTPS else 0)
SECURE_REDIRECT_EXEMPT = [r"^(healthz|readyz|metrics)$"]  # asked from inside, without the proxy
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
        "base-uri": [NONE],
        "form-action": [SELF],
        "frame-ancestors": [NONE],
    }
}

REST_FRAMEWORK = {
    # DRF views pass by LoginRequiredMiddleware and are open unless this says otherwise.
    "DEFAULT_PERMISSION_CLASSES": ["compliance.api.permission.HoldsPost"],
    "DEFAULT_AUTHENTICATION_CLASSES": ["rest_framework.authentication.SessionAuthentication"],
    "DEFAULT_RENDERER_CLASSES": ["rest_framework.renderers.JSONRenderer"],
    "DEFAULT_PARSER_CLASSES": ["rest_framework.parsers.JSONParser"],
    "DEFAULT_SCHEMA_CLASS": "drf_spectacular.openapi.AutoSchema",
    "DEFAULT_THROTTLE_CLASSES": ["rest_framework.throttling.UserRateThrottle"],
    "DEFAULT_THROTTLE_RATES": {
        "user": env.rate("RATE_API", "600/min"),
        "treat": env.rate("RATE_TREAT", "30/min"),
        "search": env.rate("RATE_SEARCH", "120/min"),
    },
    "EXCEPTION_HANDLER": "compliance.api.problems.handle",
}
SPECTACULAR_SETTINGS = {
    "TITLE": "Menu compliance",
    "DESCRIPTION": "Treat checks, servings, exceptions and rosters. An information aid: a licensed person decides.",
    "VERSION": "1",
    "SERVE_INCLUDE_SCHEMA": False,
    "SERVE_PERMISSIONS": ["compliance.api.permission.HoldsPost"],
    "OAS_VERSION": "3.1.0",
    "ENUM_NAME_OVERRIDES": {
        "OutcomeEnum": "compliance.api.parts.OUTCOMES",
        "StopEnum": "compliance.api.parts.STOPS",
        "RunStateEnum": "compliance.models.run.Run.State",
        "NightStateEnum": "compliance.models.night.Night.State",
        "SliceStateEnum": "compliance.models.night.NightSlice.State",
    },
}

CELERY_BROKER_URL = env.text("CELERY_BROKER_URL", "memory://localhost")
ONE_PROCESS = CELERY_BROKER_URL.startswith("memory://")
if CELERY_BROKER_URL.startswith(("redis://", "rediss://", "valkey://", "valkeys://")):
    # Else each process counts by itself, which is right where there is one.
    CACHES = {
        "default": {
            "BACKEND": "compliance.config.cache.SharedCounts",
            "LOCATION": CELERY_BROKER_URL.replace("valkey", "redis", 1),
            "KEY_PREFIX": "counts",
            "OPTIONS": {"socket_connect_timeout": 1, "socket_timeout": 1},
        }
    }
CELERY_TASK_IGNORE_RESULT = True
CELERY_RESULT_EXPIRES = None  # there are no results, so beat need not schedule their removal
NIGHT_TICK_SECONDS = env.number("NIGHT_TICK_SECONDS", 30)
NIGHT_SLICE_SITES = env.number("NIGHT_SLICE_SITES", 100)
NIGHT_SLICES_AT_ONCE = env.number("NIGHT_SLICES_AT_ONCE", 8)
NIGHT_SLICE_SECONDS = env.number("NIGHT_SLICE_SECONDS", 300)
NIGHT_LEASE_SECONDS = env.number("NIGHT_LEASE_SECONDS", 120)
CELERY_TASK_ACKS_LATE = True
CELERY_WORKER_PREFETCH_MULTIPLIER = 1
# Slices of a night wait in a queue of their own, beside which what a change has touched comes first in, first out. A
# worker takes from both in turn.
CELERY_TASK_QUEUES = [Queue(name, routing_key=name) for name in ("celery", "nights")]
CELERY_TASK_ROUTES = {"compliance.tasks.run_slice": {"queue": "nights"}}
# A process that hangs is killed. Its slice comes back when nobody renews the lease; a message is not sent again for a
# process that was killed, or what kills it would go round for ever.
CELERY_TASK_TIME_LIMIT = NIGHT_SLICE_SECONDS + 60
CELERY_TASK_REJECT_ON_WORKER_LOST = False
CELERY_TIMEZONE = "UTC"
CELERY_BEAT_SCHEDULER = "django_celery_beat.schedulers:DatabaseScheduler"
# A tick that nobody took is dropped after a while, since the next one sees the same. Not at once: clocks of machines
# differ, and a worker whose clock is ahead would drop them all.
NIGHT_TICK_KEPT = max(300, 10 * NIGHT_TICK_SECONDS)
CELERY_BEAT_SCHEDULE = {
    "start nights": {
        "task": "compliance.tasks.start_nights",
        "schedule": NIGHT_TICK_SECONDS,
        "options": {"expire_seconds": NIGHT_TICK_KEPT},
    },
    "sweep nights": {
        "task": "compliance.tasks.sweep_nights",
        "schedule": NIGHT_TICK_SECONDS,
        "options": {"expire_seconds": NIGHT_TICK_KEPT},
    },
    "catch up": {"task": "compliance.tasks.catch_up", "schedule": 300},
    "escalate referrals": {"task": "compliance.tasks.escalate_referrals", "schedule": 600},
    "send mail": {"task": "compliance.tasks.send_mail", "schedule": 60, "options": {"expire_seconds": 60}},
    "tell late": {"task": "compliance.tasks.tell_late", "schedule": 600},
    "discard unused photos": {"task": "compliance.tasks.discard_unused_photos", "schedule": 24 * 3600},
}
KEEP_CHECKS_DAYS = env.number("KEEP_CHECKS_DAYS", 400)
"""After how many days what checks found is thrown away; 0: never."""
RECORD_KEEP_DAYS = env.number("RECORD_KEEP_DAYS", 0)
"""After how many days entries of the record of actions are emptied; 0: never."""
if RECORD_KEEP_DAYS:
    CELERY_BEAT_SCHEDULE["purge record"] = {"task": "compliance.tasks.purge_record", "schedule": 24 * 3600}
CELERY_BEAT_ENABLE_REMOTE_CONTROL = not ONE_PROCESS  # lets a health check ask beat whether it still ticks
CELERY_WORKER_HIJACK_ROOT_LOGGER = False
CELERY_BROKER_CONNECTION_RETRY_ON_STARTUP = True
# A page that queues a recheck must not hang on a broker that is away.
# What is not acknowledged for so long is given to another worker as well, so it has to be longer than the longest task
# and the one that may run before it in the same process (Celery user guide, Redis, “Visibility timeout”).
CELERY_BROKER_TRANSPORT_OPTIONS = {"socket_connect_timeout": 3, "visibility_timeout": 2 * CELERY_TASK_TIME_LIMIT + 60}
CELERY_TASK_PUBLISH_RETRY_POLICY = {"max_retries": 1}

NIGHTLY_HOUR = env.number("NIGHTLY_HOUR", 2)
NIGHTLY_WINDOW_DAYS = env.number("NIGHTLY_WINDOW_DAYS", 14)
SERVING_HOUR = env.number("SERVING_HOUR", 7)
ESCALATE_HOURS = env.number("ESCALATE_HOURS", 24)
ESCALATE_ADMINISTRATOR_HOURS = env.number("ESCALATE_ADMINISTRATOR_HOURS", 4)
LABEL_MAX_AGE_DAYS = env.number("LABEL_MAX_AGE_DAYS", 365)
ORDER_OF_WORK_SECONDS = env.number("ORDER_OF_WORK_SECONDS", 8)
WHOLE_MEALS_SECONDS = env.number("WHOLE_MEALS_SECONDS", 5)

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
EMAIL_TIMEOUT = 20  # seconds for each answer of the server: a try must end while its claim lasts (outbox.LEASE)
DEFAULT_FROM_EMAIL = env.text("DEFAULT_FROM_EMAIL", "menu-compliance@localhost")
SITE_ADDRESS = env.text("SITE_ADDRESS", "http://127.0.0.1:8000")

METRICS_TOKEN = env.text("METRICS_TOKEN")
"""What whoever collects the figures has to send; without it there are none to collect."""
METRICS_BY_SITE = env.flag("METRICS_BY_SITE", default=False)
LOG_FORMAT = env.choice("LOG_FORMAT", "text", "json")
LOG_LINES = {
    "text": {
        "()": "compliance.config.logs.PrivateFormatter",
        "format": "{asctime} {levelname} {name}: {message}",
        "style": "{",
    },
    "json": {"()": "compliance.config.logs_json.PrivateJsonFormatter"},
}
LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "filters": {"about": {"()": "compliance.operations.about.AboutFilter"}},
    "formatters": {"private": LOG_LINES[LOG_FORMAT]},
    "handlers": {"console": {"class": "logging.StreamHandler", "formatter": "private", "filters": ["about"]}},
    "root": {"handlers": ["console"], "level": env.text("LOG_LEVEL", "WARNING")},
    "loggers": {
        "django": {"handlers": [], "propagate": True},  # else it mails faults with the whole request in them
        "axes": {"level": "ERROR"},  # its warnings name who tried to sign in
    },
}
