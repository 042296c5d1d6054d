"""The legs that read the code without running the service."""

import hashlib
import os
import re
import shutil
import sqlite3
from contextlib import closing
from pathlib import Path

from deploy.environment import REPOSITORY
from deploy.setup.packages import install_with_apt
from deploy.testing.legs import Bench, DidNotRun, Leg

NO_DATABASE = {"DJANGO_SETTINGS_MODULE": "tests.settings"}
PIN = re.compile(r"^([a-z0-9][a-z0-9._-]*)==([^ ;\\]+)", re.MULTILINE | re.IGNORECASE)


def check_format(bench: Bench, leg: Leg) -> None:
    """Formatted as ruff formats."""
    bench.tool(leg, "ruff", "format", "--check", ".")


def check_lint(bench: Bench, leg: Leg) -> None:
    """Ruff's rules, among them: the clock is read at the edges only."""
    bench.tool(leg, "ruff", "check", ".")


def check_imports(bench: Bench, leg: Leg) -> None:
    """The contracts in .importlinter."""
    bench.command(leg, [bench.python.parent / "lint-imports", "--config", ".importlinter", "--no-cache"])


def check_templates(bench: Bench, leg: Leg) -> None:
    """Templates that djlint understands, by the rules left on in .djlintrc."""
    bench.tool(leg, "djlint", "inventory", "layups", "--lint", "--quiet")


def check_types(bench: Bench, leg: Leg) -> None:
    """Strict in the cores and in deploy; bodies checked everywhere."""
    bench.tool(leg, "mypy")


def check_migrations(bench: Bench, leg: Leg) -> None:
    """No model without its migration."""
    bench.tool(leg, "django", "makemigrations", "--check", "--dry-run", env=NO_DATABASE)


def check_from_nothing(bench: Bench, leg: Leg) -> None:
    """All migrations on an empty database. The suites on SQLite begin with a copy of what comes out, instead of a run of them for
    each process; they migrate it all the same, so what a copy lacks is never missing."""
    home = bench.scratch / "migrated"
    home.mkdir(exist_ok=True)
    made = home / "migrated.sqlite3"
    env = {name: "" for name in os.environ if name.startswith("SELVEDGE_")}
    env |= {"SELVEDGE_HOME": str(home), "SELVEDGE_DATABASE_URL": f"sqlite:///{made}", "DJANGO_SETTINGS_MODULE": "deploy.settings"}
    bench.tool(leg, "django", "migrate", "--verbosity", "0", env=env)
    # One file, nothing beside it: a copy of the file is a copy of the database.
    with closing(sqlite3.connect(made)) as database:
        database.execute("PRAGMA journal_mode = DELETE")
    bench.migrated = made


def check_system(bench: Bench, leg: Leg) -> None:
    """Django's own checks, with those for production."""
    production = {"SELVEDGE_HOME": str(bench.scratch / "home"), "SELVEDGE_HTTPS": "1", "DJANGO_SETTINGS_MODULE": "deploy.settings"}
    bench.tool(leg, "django", "check", "--deploy", "--fail-level", "WARNING", env=production)


def check_scripts(bench: Bench, leg: Leg) -> None:
    """The browser's scripts, the parts of them that need no browser."""
    if not shutil.which("node"):
        install_with_apt("nodejs")
    node = shutil.which("node")
    if not node:
        raise DidNotRun("no node: install nodejs 20 or newer")
    bench.command(leg, [node, "--test", *sorted((REPOSITORY / "tests" / "browser" / "js").glob("*.test.mjs"))])


def check_lock(bench: Bench, leg: Leg) -> None:
    """Each lock was made from its list as it is now, every pin has a hash, and the two agree. Needs no network."""
    service, tests = REPOSITORY / "requirements.txt", REPOSITORY / "tests" / "requirements.txt"
    complaints = lock_complaints(service, REPOSITORY / "deploy" / "requirements.in")
    complaints += lock_complaints(tests, REPOSITORY / "tests" / "requirements.in")
    complaints += lock_complaints(REPOSITORY / "deploy" / "npm.txt", REPOSITORY / "deploy" / "npm.in")
    theirs = dict(PIN.findall(tests.read_text()))
    complaints += [
        f"{name} is {version} in requirements.txt but {theirs.get(name)} for the tests"
        for name, version in PIN.findall(service.read_text())
        if theirs.get(name) != version
    ]
    bench.log(leg).write_text("\n".join(complaints))
    assert not complaints, "run deploy/lock"


def lock_complaints(lock: Path, wishes: Path) -> list[str]:
    """What is wrong with a lock, in sentences."""
    text, where = lock.read_text(), lock.relative_to(REPOSITORY)
    found = []
    if f"# wishes: sha256:{hashlib.sha256(wishes.read_bytes()).hexdigest()}" not in text:
        found.append(f"{where} was not made from {wishes.relative_to(REPOSITORY)} as it is now")
    for entry in re.split(r"\n(?=[a-zA-Z0-9])", text):
        if (pin := PIN.match(entry)) and "--hash=sha256:" not in entry:
            found.append(f"{where} has no hash for {pin[1]}")
    if re.search(r"://|--index|--find-links|--extra-index", text):
        found.append(f"{where} names an index or an address")
    return found


# Each is a program of one process; side by side they take the two processors.
STATIC = (
    Leg("format", 60, check_format),
    Leg("lint", 60, check_lint),
    Leg("imports", 60, check_imports),
    Leg("templates", 60, check_templates),
    Leg("scripts", 60, check_scripts),
    Leg("lock", 10, check_lock),
    Leg("pending migrations", 60, check_migrations),
    Leg("migrations from nothing", 180, check_from_nothing),
    Leg("system checks", 60, check_system),
)
TYPES = Leg("types", 600, check_types)
