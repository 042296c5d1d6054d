"""Serve: this process becomes the web server; with Redis it stays and keeps web, worker and beat going."""

import ctypes
import os
import signal
import subprocess
import time
from pathlib import Path
from types import FrameType
from typing import NoReturn

from deploy.environment import REPOSITORY
from deploy.setup.words import say

PAUSE = 2.0  # seconds before a worker or beat that ended is started again
PATIENCE = 25.0  # seconds that children have to finish what they hold
PR_SET_PDEATHSIG = 1


def web(python: Path) -> list[str]:
    """The command line of the web server."""
    return [str(python), "-m", "gunicorn", "-c", "python:deploy.gunicorn"]


def become_the_server(python: Path) -> NoReturn:
    """One process for everything: no shell and no parent stands between Ctrl-C and the server."""
    os.chdir(REPOSITORY)
    os.execv(python, web(python))


class Family:
    """Web, worker and beat as children. When the web server ends, all end; the other two are started again."""

    def __init__(self, python: Path) -> None:
        celery = [str(python), "-m", "celery", "--quiet", "-A", "deploy.celery"]
        self.commands = {
            "web": web(python),
            "worker": [*celery, "worker", "--loglevel", "INFO", "--concurrency", "2", "--without-gossip", "--without-mingle"],
            "beat": [*celery, "beat", "--loglevel", "WARNING", "--pidfile", ""],
        }
        self.children: dict[str, subprocess.Popen[bytes]] = {}
        self.again: dict[str, float] = {}
        self.ending = False

    def run(self) -> int:
        """Until a signal or the end of the web server; returns the exit code."""
        for number in (signal.SIGINT, signal.SIGTERM, signal.SIGHUP):
            signal.signal(number, self._end)
        for name in self.commands:
            self._start(name)
        while not self.ending and self.children["web"].poll() is None:
            self._revive()
            time.sleep(0.2)
        code = 0 if self.ending else self.children["web"].returncode or 1
        self._stop()
        return code

    def _end(self, number: int, frame: FrameType | None) -> None:
        self.ending = True

    def _start(self, name: str) -> None:
        # The pool of database connections is for request threads; a worker process has one connection.
        env = os.environ | ({} if name == "web" else {"SELVEDGE_POOL": "0"})
        self.children[name] = subprocess.Popen(self.commands[name], cwd=REPOSITORY, env=env, preexec_fn=die_with_the_parent)

    def _revive(self) -> None:
        for name, child in self.children.items():
            if child.poll() is not None and name not in self.again:
                say(f"{name} ended with code {child.returncode}; starting it again")
                self.again[name] = time.monotonic() + PAUSE
        for name in [name for name, at in self.again.items() if at <= time.monotonic()]:
            del self.again[name]
            self._start(name)

    def _stop(self) -> None:
        for child in self.children.values():
            if child.poll() is None:
                child.terminate()
        until = time.monotonic() + PATIENCE
        for child in self.children.values():
            try:
                child.wait(max(0.1, until - time.monotonic()))
            except subprocess.TimeoutExpired:
                child.kill()
                child.wait()


def die_with_the_parent(number: signal.Signals = signal.SIGTERM) -> None:
    """In a child on Linux: be told to end when the parent dies, even by SIGKILL, so that no second beat is left over."""
    try:
        ctypes.CDLL(None).prctl(PR_SET_PDEATHSIG, number)
    except (OSError, AttributeError):
        pass
