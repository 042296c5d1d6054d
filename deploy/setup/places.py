"""The folders that a run writes to, tried before any work, and the lock that keeps a second start out."""

import errno
import fcntl
import os
import socket
import tempfile
from pathlib import Path

from deploy.environment import Environment
from deploy.setup.words import Stop


def writable(folder: Path, variable: str) -> None:
    """Make the folder if need be and write into it. Raises Stop with the variable that moves it elsewhere."""
    try:
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        with tempfile.TemporaryFile(dir=folder) as file:
            file.write(b"selvedge")
    except OSError as error:
        raise Stop(f"cannot write in {folder}: {error.strerror}. Set {variable} to a folder that you may write in.") from None


def start_lock(env: Environment) -> int:
    """Take `start.lock` in the home for as long as this process, or what it becomes, lives; returns the descriptor.

    Raises Stop when another start holds it, with the address that one wrote down.
    """
    path = env.home / "start.lock"
    descriptor = os.open(path, os.O_RDWR | os.O_CREAT, 0o600)
    try:
        fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError:
        raise Stop(f"already started with this home folder ({env.home}): {path.read_text().strip() or 'it is being set up'}") from None
    os.ftruncate(descriptor, 0)
    os.pwrite(descriptor, f"process {os.getpid()}, being set up\n".encode(), 0)
    return descriptor


def tell_where(lock: int, url: str) -> None:
    """Write into the lock where the service is, for a second start to read; the server inherits the lock."""
    os.ftruncate(lock, 0)
    os.pwrite(lock, f"process {os.getpid()} serves at {url}\n".encode(), 0)
    os.set_inheritable(lock, True)


def port_is_free(env: Environment) -> None:
    """Bind the address once. Raises Stop when that fails; the server itself would try for seconds and say less."""
    family = socket.AF_INET6 if ":" in env.bind else socket.AF_INET
    try:
        with socket.socket(family, socket.SOCK_STREAM) as probe:
            probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            probe.bind((env.bind.strip("[]"), env.port))
    except OSError as error:
        if error.errno == errno.EADDRINUSE:
            raise Stop(f"port {env.port} on {env.bind} is in use by another program. Set SELVEDGE_PORT to a free one.") from None
        if error.errno == errno.EACCES:
            raise Stop(f"port {env.port} may not be used by this account. Set SELVEDGE_PORT to one above 1023.") from None
        raise Stop(f"cannot listen on {env.bind}, port {env.port}: {error.strerror or error}. Check SELVEDGE_BIND.") from None


def url(env: Environment) -> str:
    """The address to open in a browser."""
    host = "localhost" if env.bind in ("127.0.0.1", "0.0.0.0", "::", "::1") else env.bind
    return f"http://{host}:{env.port}/"
