"""The settings: one module, from the environment (deploy/environment.py names every variable)."""

import os
import sys
from pathlib import Path

from deploy import databases, environment
from deploy.secret import secret_key
from deploy.setup import reader

ENV = environment.read(os.environ)

DEBUG = ENV.debug
SECRET_KEY = secret_key(ENV)
ALLOWED_HOSTS = list(ENV.hosts)

INSTALLED_APPS = [
    "deploy.apps.DeployConfig",
    "api.apps.ApiConfig",
    "layups.apps.LayupsConfig",
    "inventory.apps.InventoryConfig",
    "rest_framework",
    "drf_spectacular",
    "whitenoise.runserver_nostatic",
    "django.contrib.admin",
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "django.contrib.staticfiles",
]
MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "deploy.csp.ContentSecurityPolicyMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "inventory.pages.reading.Readers",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "inventory.pages.errors.ErrorPages",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "inventory.pages.errors.ErrorPages",
]
ROOT_URLCONF = "deploy.urls"
WSGI_APPLICATION = "deploy.wsgi.application"
TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "APP_DIRS": True,
        "OPTIONS": {
            "autoescape": True,
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
                "inventory.pages.frames.frame",
            ],
        },
    }
]

# --- records ---------------------------------------------------------------------------------------------------------
# No ATOMIC_REQUESTS: on SQLite a transaction takes the writer lock, and most requests only read.
DATABASES = {"default": databases.default(ENV)}
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

# --- language and time: instants are µs UTC in the records; a site's own zone is applied on the screen -------------------
LANGUAGE_CODE = "en"
LANGUAGES = [("en", "English"), ("de", "Deutsch")]
TIME_ZONE = "UTC"
USE_TZ = True
USE_I18N = True

# --- people ----------------------------------------------------------------------------------------------------------
AUTH_USER_MODEL = "inventory.User"
LOGIN_URL = "/sign-in/"
LOGIN_REDIRECT_URL = "/"
LOGOUT_REDIRECT_URL = "/sign-in/"
PASSWORD_HASHERS = ["django.contrib.auth.hashers.Argon2PasswordHasher"]
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": "django.contrib.auth.password_validation.UserAttributeSimilarityValidator"},
    {"NAME": "django.contrib.auth.password_validation.MinimumLengthValidator", "OPTIONS": {"min_length": 10}},
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
]
# Cookie sessions: a session table would be a write, and on SQLite a queue, for every sign-in.
SESSION_ENGINE = "django.contrib.sessions.backends.signed_cookies"
SESSION_COOKIE_AGE = 12 * 3600
SESSION_COOKIE_HTTPONLY = True
SESSION_COOKIE_SAMESITE = "Lax"
CSRF_COOKIE_HTTPONLY = True
CSRF_COOKIE_SAMESITE = "Lax"
CSRF_FAILURE_VIEW = "inventory.pages.errors.csrf_failed"
MESSAGE_STORAGE = "inventory.pages.reading.Messages"

# --- what a browser may do -------------------------------------------------------------------------------------------
SECURE_CSP = {
    "default-src": ["'self'"],
    "img-src": ["'self'", "data:"],
    "frame-src": ["'self'", "blob:"],  # labels that were fetched are printed from a frame of the page
    "object-src": ["'none'"],
    "base-uri": ["'none'"],
    "form-action": ["'self'"],
    "frame-ancestors": ["'none'"],
}
SECURE_CONTENT_TYPE_NOSNIFF = True
SECURE_REFERRER_POLICY = "same-origin"
SECURE_CROSS_ORIGIN_OPENER_POLICY = "same-origin"
X_FRAME_OPTIONS = "DENY"
if ENV.https:
    # Behind a proxy that ends TLS and always sets this header itself.
    SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https")
    SECURE_SSL_REDIRECT = True
    SECURE_HSTS_SECONDS = 365 * 24 * 3600
    # Whether other names under the domain speak TLS, and whether browsers should be told in advance, is their owner's affair.
    SILENCED_SYSTEM_CHECKS = ["security.W005", "security.W021"]
    SESSION_COOKIE_SECURE = True
    CSRF_COOKIE_SECURE = True

# --- what comes in and goes out --------------------------------------------------------------------------------------
DATA_UPLOAD_MAX_MEMORY_SIZE = 2_500_000
DATA_UPLOAD_MAX_NUMBER_FIELDS = 2_000
DATA_UPLOAD_MAX_NUMBER_FILES = 10
FILE_UPLOAD_MAX_MEMORY_SIZE = 1_000_000
FILE_UPLOAD_PERMISSIONS = 0o600
FILE_UPLOAD_DIRECTORY_PERMISSIONS = 0o700
SELVEDGE_HOME = ENV.home
SELVEDGE_MAX_UPLOAD = ENV.max_upload
SELVEDGE_ADDRESS = ENV.address
SELVEDGE_LABEL_DPI = ENV.label_dpi
# Certificates are kept by their hash and handed out by a view that asks who is reading; never served as a folder.
MEDIA_ROOT = ENV.home / "uploads"
STATIC_URL = "/static/"
STATIC_ROOT = ENV.home / "static"
# What reads codes in browsers that read none, where the set-up has brought it into this environment.
STATICFILES_DIRS = [("codes", folder)] if (folder := reader.folder(Path(sys.prefix))).is_dir() else []
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    "staticfiles": {"BACKEND": "deploy.statics.Statics"},
}
if ENV.email == "console":
    EMAIL_BACKEND = "django.core.mail.backends.console.EmailBackend"
else:
    _mail = environment.address(ENV.email)
    EMAIL_BACKEND = "django.core.mail.backends.smtp.EmailBackend"
    EMAIL_HOST, EMAIL_HOST_USER, EMAIL_HOST_PASSWORD = _mail.host, _mail.user, _mail.password
    EMAIL_USE_SSL = ENV.email.startswith("smtps:")
    EMAIL_USE_TLS = not EMAIL_USE_SSL and _mail.query.get("tls") != "0"
    EMAIL_PORT = int(_mail.port or (465 if EMAIL_USE_SSL else 587))
    EMAIL_TIMEOUT = 20
DEFAULT_FROM_EMAIL = SERVER_EMAIL = ENV.mail_from

# --- machines --------------------------------------------------------------------------------------------------------
REST_FRAMEWORK = {
    "DEFAULT_RENDERER_CLASSES": ["api.rendering.Renderer"],
    "DEFAULT_PARSER_CLASSES": ["api.parsing.StrictJSONParser"],
    "DEFAULT_AUTHENTICATION_CLASSES": ["api.auth.TokenAuthentication", "api.auth.BrowserSession"],
    "DEFAULT_PERMISSION_CLASSES": ["api.auth.SignedIn"],
    "EXCEPTION_HANDLER": "api.errors.handler",
    "DEFAULT_SCHEMA_CLASS": "drf_spectacular.openapi.AutoSchema",
    "UNAUTHENTICATED_USER": "django.contrib.auth.models.AnonymousUser",
    # `?format=csv` is for our own lists: the framework would look for a renderer of that name, and say 404.
    "URL_FORMAT_OVERRIDE": None,
}
SPECTACULAR_SETTINGS = {
    "TITLE": "Selvedge",
    "DESCRIPTION": "Materials, batches and the parts made of them: receive, move, cut, mix, build in, hold, trace.",
    "VERSION": "1",
    "OAS_VERSION": "3.1.1",
    "SERVE_INCLUDE_SCHEMA": False,
}

# --- tasks: what must happen stands in the database; the queue only pushes it along ------------------------------------
CELERY_BROKER_URL = ENV.redis_url or "memory://localhost/"
CELERY_BROKER_CONNECTION_RETRY_ON_STARTUP = True
# The broker in memory is asked every so often; a task that another worker lost comes back after the second figure.
CELERY_BROKER_TRANSPORT_OPTIONS = {"visibility_timeout": 600} if ENV.redis_url else {"polling_interval": 0.25}
CELERY_TIMEZONE = "UTC"
CELERY_ENABLE_UTC = True
CELERY_BEAT_SCHEDULER = "celery.beat:Scheduler"  # the default one keeps a file of its own
CELERY_TASK_IGNORE_RESULT = True
CELERY_TASK_ACKS_LATE = True
CELERY_TASK_REJECT_ON_WORKER_LOST = True
CELERY_TASK_TIME_LIMIT = 300
CELERY_TASK_SOFT_TIME_LIMIT = 240
CELERY_TASK_SERIALIZER = "json"
CELERY_ACCEPT_CONTENT = ["json"]
CELERY_WORKER_PREFETCH_MULTIPLIER = 1
CELERY_WORKER_HIJACK_ROOT_LOGGER = False
CELERY_WORKER_REDIRECT_STDOUTS = False
CELERY_WORKER_SEND_TASK_EVENTS = False

LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "formatters": {"line": {"format": "{asctime} {levelname} {name}: {message}", "style": "{"}},
    "handlers": {"stderr": {"class": "logging.StreamHandler", "formatter": "line"}},
    "root": {"handlers": ["stderr"], "level": ENV.log_level},
    "loggers": {
        "django": {"handlers": [], "level": ENV.log_level, "propagate": True},
        # A line for every task, every five seconds, would hide the others.
        "celery.beat": {"level": "WARNING"},
        "celery.worker.strategy": {"level": "WARNING"},
        "celery.app.trace": {"level": "WARNING"},
        "celery.worker.request": {"level": "WARNING"},  # a tick that the next one overtook while something long ran
    },
}
