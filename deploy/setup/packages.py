"""The virtual environment and the packages in it, made by whatever this machine has."""

import fcntl
import hashlib
import os
import shutil
import subprocess
import sys
from collections.abc import Sequence
from pathlib import Path

from deploy.environment import REPOSITORY
from deploy.setup.words import Stop, last_lines, say, timed

OURS = ".selvedge"  # marks a folder that we made and may therefore remove
NO_NETWORK = (
    "NewConnectionError",
    "name resolution",
    "Network is unreachable",
    "ConnectTimeout",
    "Connection refused",
    "ProxyError",
    "No matching distribution found",
)
FEWER_PIPS = (22, 3)  # the first pip that can work on another environment (--python)


def environment(venv: Path, lock: Path, wheels: str = "") -> Path:
    """Make sure that `venv` holds exactly what `lock` names; returns its Python. Raises Stop.

    Costs one start of Python when everything is there. Two commands at once wait for each other.
    """
    with lock.open() as guard:
        fcntl.flock(guard, fcntl.LOCK_EX)
        python = venv / "bin" / "python"
        if not usable(venv):
            _make(venv)
        stamp = venv / f".stamp-{lock.parent.name if lock.parent != REPOSITORY else 'service'}"
        wanted = _fingerprint(lock, python)
        if not stamp.is_file() or stamp.read_text() != wanted:
            stamp.unlink(missing_ok=True)
            _install(python, lock, wheels)
            stamp.write_text(wanted)
        return python


def usable(venv: Path) -> bool:
    """Whether a Python runs there and believes to be there: a copied environment points to its old place."""
    python = venv / "bin" / "python"
    if not python.exists():
        return False
    code = "import sys; print(sys.prefix); sys.exit(sys.version_info < (3, 11))"
    done = subprocess.run([python, "-c", code], capture_output=True, text=True)
    return done.returncode == 0 and Path(done.stdout.strip()).resolve() == venv.resolve()


def _fingerprint(lock: Path, python: Path) -> str:
    interpreter = subprocess.run([python, "-c", "import sys; print(sys.version)"], capture_output=True, text=True, check=True).stdout
    return hashlib.sha256(lock.read_bytes() + interpreter.encode() + str(python).encode()).hexdigest()


def _make(venv: Path) -> None:
    """Try the ways that this machine may have, in order; leave nothing half-made behind."""
    if venv.exists() and any(venv.iterdir()) and not (venv / OURS).exists():
        raise Stop(
            f"{venv} is there but is not a virtual environment that works here. Move it away, or set SELVEDGE_VENV to another folder."
        )
    ways = (_with_venv, _with_bare_venv, _with_virtualenv, _with_apt)
    with timed(f"making a virtual environment in {venv}"):
        for way in ways:
            shutil.rmtree(venv, ignore_errors=True)
            venv.mkdir(parents=True)
            (venv / OURS).touch()
            if way(venv) and usable(venv) and pip_for(venv / "bin" / "python"):
                return
    shutil.rmtree(venv, ignore_errors=True)
    version = f"{sys.version_info.major}.{sys.version_info.minor}"
    raise Stop(
        f"no virtual environment can be made with {sys.executable}. "
        f"Install python{version}-venv (Debian, Ubuntu) or virtualenv, then start again."
    )


def _runs(*command: str | Path) -> bool:
    try:
        return subprocess.run(command, capture_output=True).returncode == 0
    except OSError:
        return False


def _with_venv(venv: Path) -> bool:
    return _runs(sys.executable, "-m", "venv", venv)


def _with_bare_venv(venv: Path) -> bool:
    return _runs(sys.executable, "-m", "venv", "--without-pip", venv)


def _with_virtualenv(venv: Path) -> bool:
    return _runs(sys.executable, "-m", "virtualenv", venv) or _runs("virtualenv", "-p", sys.executable, venv)


def _with_apt(venv: Path) -> bool:
    if os.geteuid() != 0 or not shutil.which("apt-get"):
        return False
    version = f"{sys.version_info.major}.{sys.version_info.minor}"
    say(f"  installing python{version}-venv from the system's packages")
    return install_with_apt(f"python{version}-venv") and _with_venv(venv)


def install_with_apt(*names: str) -> bool:
    """Install system packages when we may (root, apt); True when apt says that it worked."""
    if os.geteuid() != 0 or not shutil.which("apt-get"):
        return False
    quiet = os.environ | {"DEBIAN_FRONTEND": "noninteractive"}
    install = ["apt-get", "install", "-y", "--no-install-recommends", *names]
    for command in (install, ["apt-get", "update"], install):
        done = subprocess.run(command, capture_output=True, env=quiet)
        if command is install and done.returncode == 0:
            return True
    return False


def pip_for(python: Path) -> Sequence[str | Path] | None:
    """The command that installs into the environment of `python`: its own pip, else any newer one of this machine."""
    if _runs(python, "-m", "pip", "--version"):
        return [python, "-m", "pip"]
    for command in ([sys.executable, "-m", "pip"], ["python3", "-m", "pip"], ["pip3"], ["pip"]):
        if _pip_version(command) >= FEWER_PIPS:
            return [*command, "--python", python]
    return None


def _pip_version(command: Sequence[str]) -> tuple[int, ...]:
    try:
        words = subprocess.run([*command, "--version"], capture_output=True, text=True).stdout.split()
        return tuple(int(part) for part in words[1].split(".")[:2])
    except (OSError, IndexError, ValueError):
        return ()


def _install(python: Path, lock: Path, wheels: str) -> None:
    pip = pip_for(python)
    if pip is None:
        raise Stop(f"there is no pip for {python}. Remove {python.parent.parent} and start again.")
    count = sum("==" in line for line in lock.read_text().splitlines() if not line.startswith((" ", "#")))
    command = [*pip, "install", "--require-hashes", "--only-binary", ":all:", "--disable-pip-version-check", "--no-input"]
    if lock.parent != REPOSITORY:  # the checks import a small part of theirs: compiling all of it takes as long as the rest
        command.append("--no-compile")
    if wheels:
        command += ["--no-index", "--find-links", wheels]
    with timed(f"installing {count} packages from {lock.relative_to(REPOSITORY)} (once)"):
        done = subprocess.run([*command, "-r", lock], stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True, cwd=REPOSITORY)
    if done.returncode != 0:
        why = "pip could not install the packages."
        if any(sign in done.stdout for sign in NO_NETWORK):
            why = (
                "the packages could not be fetched: no network, or no mirror that has them (SELVEDGE_WHEELS=folder: take them from there)."
            )
        raise Stop(f"{why} pip said:\n{last_lines(done.stdout)}")
