"""The leg that does what a new user does: deploy/start in a clean copy."""

import os
import shutil
import signal
import socket
import subprocess
import time
import urllib.error
import urllib.request
from pathlib import Path

from deploy.environment import REPOSITORY
from deploy.testing.legs import Bench, Leg, end_group

AGAIN = 45  # seconds for a second start, on a machine that does other things too


def start_once(bench: Bench, leg: Leg) -> None:
    """Set up, start again with the data kept, serve, answer a page, end by Ctrl-C with code 0."""
    copy = bench.scratch / "copy"
    clean_copy(copy)
    env = {
        "SELVEDGE_HOME": str(bench.scratch / "shop"),
        "SELVEDGE_VENV": str(bench.python.parent.parent),
        "SELVEDGE_PORT": str(free_port()),
    }
    env = {name: value for name, value in os.environ.items() if not name.startswith("SELVEDGE_")} | env
    until = time.monotonic() + leg.cap
    once(bench, leg, copy, env, until - time.monotonic())
    start = time.monotonic()
    once(bench, leg, copy, env, until - time.monotonic())
    assert time.monotonic() - start < AGAIN, f"a second start took {time.monotonic() - start:.0f} s"
    serve(bench, leg, copy, env, until)


def once(bench: Bench, leg: Leg, copy: Path, env: dict[str, str], seconds: float) -> None:
    """deploy/start --once."""
    with bench.log(leg).open("a") as log:
        try:
            done = subprocess.run(["deploy/start", "--once"], cwd=copy, env=env, stdout=log, stderr=log, timeout=seconds)
        except subprocess.TimeoutExpired:
            raise AssertionError("deploy/start --once did not end in time") from None
    assert done.returncode == 0, f"deploy/start --once ended with code {done.returncode}"


def serve(bench: Bench, leg: Leg, copy: Path, env: dict[str, str], until: float) -> None:
    """deploy/start, until the sign-in page answers; then Ctrl-C."""
    with bench.log(leg).open("a") as log:
        server = subprocess.Popen(["deploy/start"], cwd=copy, env=env, stdout=log, stderr=log, text=True, start_new_session=True)
    bench.children.append(server)
    try:
        url = f"http://127.0.0.1:{env['SELVEDGE_PORT']}/sign-in/"
        while not answers(url):
            assert server.poll() is None, f"deploy/start ended with code {server.returncode} instead of serving"
            assert time.monotonic() < until, "deploy/start did not serve in time"
            time.sleep(0.3)
        os.killpg(server.pid, signal.SIGINT)
        assert server.wait(30) == 0, f"Ctrl-C ended deploy/start with code {server.returncode}"
    except subprocess.TimeoutExpired:
        raise AssertionError("deploy/start did not end within 30 s of Ctrl-C") from None
    finally:
        end_group(server)
        bench.children.remove(server)


def answers(url: str) -> bool:
    """Whether a page comes without an error of the server's."""
    try:
        with urllib.request.urlopen(url, timeout=5) as page:
            return bool(page.status < 400)
    except urllib.error.HTTPError as error:
        raise AssertionError(f"{url} answered {error.code}") from None
    except OSError:
        return False


def free_port() -> int:
    """A port that is free now."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def clean_copy(copy: Path) -> None:
    """The files that belong to the project, as they are now, without what a run leaves behind."""
    listed = subprocess.run(["git", "ls-files", "-z", "--cached", "--others", "--exclude-standard"], cwd=REPOSITORY, capture_output=True)
    if listed.returncode != 0:
        shutil.copytree(REPOSITORY, copy, ignore=shutil.ignore_patterns(".selvedge", ".venv", "__pycache__", ".*_cache"))
        return
    for name in filter(None, os.fsdecode(listed.stdout).split("\0")):
        if (REPOSITORY / name).is_file():
            (copy / name).parent.mkdir(parents=True, exist_ok=True)
            shutil.copy2(REPOSITORY / name, copy / name)


START = Leg("start in a clean copy", 900, start_once)
