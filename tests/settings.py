"""The settings under test: a home folder that is thrown away, one database a worker, and a quick password hash.

Only SELVEDGE_TEST_DATABASE_URL and SELVEDGE_TEST_REDIS_URL choose services: a SELVEDGE_DATABASE_URL that a person
has set for the real shop must never reach a test.
"""

import atexit
import os
import shutil
import tempfile
from pathlib import Path

for name in [name for name in os.environ if name.startswith("SELVEDGE_") and not name.startswith("SELVEDGE_TEST_")]:
    del os.environ[name]
if "TESTS_HOME" not in os.environ:
    # In memory where the machine has such a folder: a run syncs a great many times. Workers inherit the name.
    _parent = Path("/dev/shm" if os.access("/dev/shm", os.W_OK) else tempfile.gettempdir())
    _owner = os.getpid()
    for left in _parent.glob("selvedge-tests-*-*"):
        # A run that was killed could not tidy up, and memory is precious.
        if not Path(f"/proc/{left.name.split('-')[2]}").exists() and Path("/proc/self").exists():
            shutil.rmtree(left, ignore_errors=True)
    _home = tempfile.mkdtemp(prefix=f"selvedge-tests-{_owner}-", dir=_parent)
    os.environ["TESTS_HOME"] = _home
    # A forked child runs the same exit functions; only the process that made the folder removes it.
    atexit.register(lambda: shutil.rmtree(_home, ignore_errors=True) if os.getpid() == _owner else None)
os.environ |= {
    "SELVEDGE_HOME": os.environ["TESTS_HOME"],
    "SELVEDGE_SECRET_KEY": "a key for tests only, never for a shop",
    "SELVEDGE_DATABASE_URL": os.environ.get("SELVEDGE_TEST_DATABASE_URL", ""),
    "SELVEDGE_REDIS_URL": os.environ.get("SELVEDGE_TEST_REDIS_URL", ""),
    # The pool would keep connections open while the test database is dropped.
    "SELVEDGE_POOL": "0",
    "SELVEDGE_HOSTS": "testserver,localhost,127.0.0.1",
}

from deploy.settings import *  # noqa: E402, F403  # the environment above has to stand first
from deploy.settings import DATABASES, STORAGES  # noqa: E402

PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
EMAIL_BACKEND = "django.core.mail.backends.locmem.EmailBackend"
STORAGES = STORAGES | {"staticfiles": {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"}}
WHITENOISE_USE_FINDERS = True
WHITENOISE_AUTOREFRESH = True
if DATABASES["default"]["ENGINE"] == "deploy.sqlite":
    DATABASES["default"]["TEST"] = {"NAME": f"{os.environ['TESTS_HOME']}/test.sqlite3"}
