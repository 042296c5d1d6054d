"""The database: brought up to date, guarded, and filled when it is empty."""

import json
import os
import socket
import subprocess
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from urllib.parse import quote, unquote, urlsplit

from deploy.environment import REPOSITORY, Environment
from deploy.setup.words import Stop, say, timed


@dataclass
class Tools:
    """The Python of the virtual environment, and what the variables said."""

    python: Path
    env: Environment

    def manage(self, *arguments: str, database: str | None = None, capture: bool = False) -> subprocess.CompletedProcess[str]:
        """Run a management command in the open, or with its standard output captured."""
        environ = os.environ | {"SELVEDGE_POOL": "0"} | ({"SELVEDGE_DATABASE_URL": database} if database else {})
        return subprocess.run(
            [self.python, "manage.py", *arguments], cwd=REPOSITORY, env=environ, stdout=subprocess.PIPE if capture else None, text=True
        )


def prepare(tools: Tools, empty: bool) -> dict[str, Any]:
    """Bring the database up to date and fill it when it is empty; returns what `manage.py prepare` reports. Raises Stop."""
    file = sqlite_file(tools.env)
    if file is None or file.exists():
        return _prepared(tools, None, empty)
    # A new file is built beside its place and renamed when complete: a set-up that is killed leaves nothing behind.
    fresh = file.with_name("new.sqlite3")
    for leftover in fresh.parent.glob("new.sqlite3*"):
        leftover.unlink()
    report = _prepared(tools, f"sqlite://{quote(str(fresh))}", empty)
    if fresh.with_name("new.sqlite3-wal").exists():
        raise Stop(f"the new database {fresh} was not closed; start again")
    fresh.with_name("new.sqlite3-writers").unlink(missing_ok=True)
    fresh.rename(file)
    return report


def sqlite_file(env: Environment) -> Path | None:
    """Where the embedded database lies; None with PostgreSQL."""
    if not env.database_url:
        return env.home / "selvedge.sqlite3"
    if env.database_url.startswith("sqlite:"):
        return Path(unquote(urlsplit(env.database_url).path))
    return None


def _prepared(tools: Tools, database: str | None, empty: bool) -> dict[str, Any]:
    with timed("bringing the database up to date"):
        done = tools.manage("prepare", *(["--empty"] if empty else []), database=database, capture=True)
    if done.returncode != 0:
        raise Stop("the database could not be prepared; the lines above say why")
    report: dict[str, Any] = json.loads(done.stdout.splitlines()[-1])
    return report


def tell_the_story(tools: Tools, report: dict[str, Any]) -> None:
    """Print the main job as it happens. Its acts have fixed keys: a second run shows the same receipts and adds nothing."""
    if not report["demo"] or tools.manage("story").returncode == 0:
        return
    if report["password"]:
        raise Stop("the main job could not be shown in the new demo shop; the lines above say why")
    # Somebody has worked in the demo since, and may have used up what the story needs: no reason not to serve.
    say("· the main job could not be shown this time; the lines above say why")


def redis_answers(url: str) -> None:
    """Raises Stop when nothing listens where SELVEDGE_REDIS_URL points."""
    parts = urlsplit(url)
    try:
        if parts.scheme == "redis+socket":
            with socket.socket(socket.AF_UNIX) as probe:
                probe.connect(unquote(parts.path))
        else:
            socket.create_connection((parts.hostname or "localhost", parts.port or 6379), timeout=5).close()
    except OSError as error:
        why = error.strerror or error
        raise Stop(f"no Redis answers at SELVEDGE_REDIS_URL: {why}. Start it, or unset the variable to do without.") from None
