"""Database, queue and browser for the checks: found, started for this run alone, or installed when we may.

A server that already runs may be somebody's. A private one comes first, in a temporary folder, reachable only
through a socket in it; a running one is asked only for a database of our own name.
"""

import os
import pwd
import shutil
import signal
import subprocess
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path
from typing import Any

from deploy.setup.packages import install_with_apt
from deploy.setup.serve import die_with_the_parent
from deploy.testing.legs import DidNotRun

READY = 30.0  # seconds for a server to answer
# The data are thrown away, so nothing is synced; a test that kills a server's process loses nothing by that.
QUICK = ("fsync=off", "synchronous_commit=off", "full_page_writes=off", "max_connections=60", "shared_buffers=256MB", "listen_addresses=")


def die_by(number: signal.Signals) -> Callable[[], None]:
    """For a child: the signal that ends it when this process dies."""
    return lambda: die_with_the_parent(number)


@contextmanager
def postgresql(python: Path) -> Iterator[str]:
    """Yields the address of a PostgreSQL that tests may make databases in. Raises DidNotRun."""
    if given := os.environ.get("SELVEDGE_TEST_DATABASE_URL"):
        yield given
        return
    with ExitStack() as stack:
        binaries = postgresql_binaries()
        if binaries is None and (shared := on_port_5432(python)):
            yield shared
            return
        if binaries is None and install_with_apt("postgresql"):
            binaries = postgresql_binaries()
        if binaries is None:
            raise DidNotRun("no PostgreSQL: install it, or give SELVEDGE_TEST_DATABASE_URL")
        yield stack.enter_context(private_cluster(binaries))


def postgresql_binaries() -> Path | None:
    """The folder with initdb and postgres, the newest one first."""
    found = [Path(path).resolve().parent for path in (shutil.which("initdb"), shutil.which("postgres")) if path]
    versions = sorted(Path("/usr/lib/postgresql").glob("*/bin"), key=lambda path: int(path.parent.name), reverse=True)
    for folder in [*versions, *found]:
        if (folder / "initdb").exists() and (folder / "postgres").exists():
            return folder
    return None


def unprivileged() -> dict[str, Any]:
    """Popen's arguments for the account that may run a database server: ours, unless we are root."""
    if os.geteuid() != 0:
        return {}
    for name in ("postgres", "nobody"):
        try:
            entry = pwd.getpwnam(name)
        except KeyError:
            continue
        return {"user": entry.pw_uid, "group": entry.pw_gid, "extra_groups": []}
    raise DidNotRun("root cannot run PostgreSQL, and there is no account postgres or nobody")


@contextmanager
def private_cluster(binaries: Path) -> Iterator[str]:
    """A PostgreSQL of this run alone. The folder is short because a socket's path has at most 107 bytes."""
    folder = Path(tempfile.mkdtemp(prefix="svpg-", dir="/tmp")).resolve()
    account = unprivileged()
    if account:
        os.chown(folder, account["user"], account["group"])
    data = folder / "data"
    server: subprocess.Popen[bytes] | None = None
    try:
        initialise(binaries, data, account)
        options = [part for option in QUICK for part in ("-c", option)]
        with (folder / "log").open("wb") as log:
            server = subprocess.Popen(
                [binaries / "postgres", "-D", data, "-k", folder, *options],
                stdout=log,
                stderr=log,
                cwd="/",
                preexec_fn=die_by(signal.SIGQUIT),
                **account,
            )
        wait_for(lambda: asked(binaries, folder) == str(data), server, "the private PostgreSQL", folder / "log")
        yield f"postgresql://selvedge@/selvedge?host={folder}"
    finally:
        if server is not None:
            end(server, signal.SIGINT)
        shutil.rmtree(folder, ignore_errors=True)


def initialise(binaries: Path, data: Path, account: dict[str, Any]) -> None:
    """Make the data folder, in UTF-8; older systems lack the C.UTF-8 locale."""
    initdb = [str(binaries / "initdb"), "-D", str(data), "-U", "selvedge", "--auth=trust", "--encoding=UTF8", "--no-sync"]
    for locale in ("C.UTF-8", "C"):
        made = subprocess.run([*initdb, f"--locale={locale}"], capture_output=True, text=True, cwd="/", **account)
        if made.returncode == 0:
            return
    raise DidNotRun(f"initdb failed: {made.stderr.strip().splitlines()[-1]}")


def asked(binaries: Path, folder: Path) -> str:
    """The data folder that the server behind our socket names: proof that it is ours."""
    command = [str(binaries / "psql"), "-h", str(folder), "-U", "selvedge", "-d", "postgres", "-Atc", "show data_directory"]
    return subprocess.run(command, capture_output=True, text=True, cwd="/").stdout.strip()


def on_port_5432(python: Path) -> str | None:
    """The address for databases of our own name on a server that runs here, when it lets us make them."""
    name = f"selvedge_{os.getpid()}"
    code = (
        "import sys, psycopg\n"
        "with psycopg.connect(host=sys.argv[1], user=sys.argv[2], dbname='postgres', autocommit=True, connect_timeout=3) as c:\n"
        "    c.execute(f'CREATE DATABASE {sys.argv[3]}_probe'); c.execute(f'DROP DATABASE {sys.argv[3]}_probe')\n"
    )
    for user in (pwd.getpwuid(os.geteuid()).pw_name, "postgres"):
        for host in ("127.0.0.1", "/var/run/postgresql"):
            if subprocess.run([python, "-c", code, host, user, name], capture_output=True).returncode == 0:
                return f"postgresql://{user}@/{name}?host={host}"
    return None


@contextmanager
def redis() -> Iterator[str]:
    """Yields the address of a Redis of this run alone. Raises DidNotRun."""
    if given := os.environ.get("SELVEDGE_TEST_REDIS_URL"):
        yield given
        return
    if not shutil.which("redis-server"):
        install_with_apt("redis-server")
    binary = shutil.which("redis-server")
    if not binary:
        raise DidNotRun("no Redis: install redis-server, or give SELVEDGE_TEST_REDIS_URL")
    folder = Path(tempfile.mkdtemp(prefix="svrd-", dir="/tmp"))
    path = folder / "s"
    settings = ["--port", "0", "--unixsocket", str(path), "--save", "", "--appendonly", "no", "--dir", str(folder), "--daemonize", "no"]
    with (folder / "log").open("wb") as log:
        server = subprocess.Popen([binary, *settings], stdout=log, stderr=log, preexec_fn=die_by(signal.SIGTERM))
    try:
        wait_for(path.exists, server, "the private Redis", folder / "log")
        yield f"redis+socket://{path}"
    finally:
        end(server, signal.SIGTERM)
        shutil.rmtree(folder, ignore_errors=True)


def chromium() -> str:
    """The path of a Chromium. Raises DidNotRun."""
    names = ("chromium", "chromium-browser", "google-chrome")
    if given := os.environ.get("SELVEDGE_TEST_CHROMIUM"):
        return given
    if not any(shutil.which(name) for name in names):
        install_with_apt("chromium")
    for name in names:
        if path := shutil.which(name):
            return path
    raise DidNotRun("no Chromium: install it, or name it in SELVEDGE_TEST_CHROMIUM")


def label_readers() -> None:
    """Programs that render a PDF and read and write symbols. Raises DidNotRun with what is missing."""
    packages = {"pdftoppm": "poppler-utils", "dmtxread": "dmtx-utils", "zint": "zint"}
    if missing := [packages[name] for name in packages if not shutil.which(name)]:
        install_with_apt(*missing)
    if missing := [packages[name] for name in packages if not shutil.which(name)]:
        raise DidNotRun(f"no {', '.join(missing)}: install them")


def wait_for(ready: Callable[[], bool], server: "subprocess.Popen[bytes]", what: str, log: Path) -> None:
    """Until it answers. Raises DidNotRun with the end of its log."""
    until = time.monotonic() + READY
    while not ready():
        if server.poll() is not None or time.monotonic() > until:
            words = log.read_text(errors="replace").strip().splitlines()
            raise DidNotRun(f"{what} did not start: {words[-1] if words else 'no output'}")
        time.sleep(0.1)


def end(server: "subprocess.Popen[bytes]", number: signal.Signals) -> None:
    """Stop a server that we started, by its process."""
    server.send_signal(number)
    try:
        server.wait(15)
    except subprocess.TimeoutExpired:
        server.kill()
        server.wait()
