"""A leg is one check with a cap in seconds. It passes, fails, or did not run; the last is never called a pass."""

import os
import signal
import subprocess
import threading
import time
import xml.etree.ElementTree as ElementTree
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from deploy.environment import REPOSITORY
from deploy.setup.serve import die_with_the_parent
from deploy.setup.words import last_lines, say

SHOWN = 150  # lines of a failing leg


class DidNotRun(Exception):
    """What the leg needs is not on this machine; the text says what."""


@dataclass
class Counts:
    """Tests of a leg; a leg that is one command counts as one."""

    passed: int = 0
    failed: int = 0
    skipped: int = 0

    def __add__(self, other: "Counts") -> "Counts":
        return Counts(self.passed + other.passed, self.failed + other.failed, self.skipped + other.skipped)


@dataclass
class Leg:
    """`run(bench, leg)` raises on failure and returns the counts, or None for one check that passed."""

    name: str
    cap: int
    run: "Callable[[Bench, Leg], Counts | None]"


@dataclass
class Bench:
    """What the legs share: the Python with everything in it, a folder for logs, and what happened so far."""

    python: Path
    logs: Path
    scratch: Path
    migrated: Path | None = None  # an SQLite database with all migrations, once that leg has made it
    results: dict[str, tuple[str, Counts]] = field(default_factory=dict)
    children: list[subprocess.Popen[str]] = field(default_factory=list)
    mouth: threading.Lock = field(default_factory=threading.Lock)

    def command(
        self, leg: Leg, arguments: Sequence[str | Path], env: Mapping[str, str] | None = None, cwd: Path = REPOSITORY, check: bool = True
    ) -> int:
        """Run a program, its output kept in the leg's log; ended at the leg's cap. Raises AssertionError when it fails."""
        with self.log(leg).open("a") as log:
            child = subprocess.Popen(
                [str(argument) for argument in arguments],
                cwd=cwd,
                env=os.environ | dict(env or {}),
                stdin=subprocess.DEVNULL,
                stdout=log,
                stderr=subprocess.STDOUT,
                text=True,
                start_new_session=True,
                preexec_fn=die_with_the_parent,
            )
        self.children.append(child)
        try:
            code = child.wait(leg.cap)
        except subprocess.TimeoutExpired:
            end_group(child)
            raise AssertionError(f"not done in {leg.cap} s") from None
        finally:
            self.children.remove(child)
        if check and code != 0:
            raise AssertionError(f"{Path(str(arguments[0])).name} ended with code {code}")
        return code

    def tool(self, leg: Leg, *arguments: str | Path, env: Mapping[str, str] | None = None) -> None:
        """Run a module of the virtual environment."""
        self.command(leg, [self.python, "-m", *arguments], env)

    def log(self, leg: Leg) -> Path:
        """Where the output of a leg is kept."""
        return self.logs / (leg.name.replace(" ", "-") + ".log")

    def one(self, leg: Leg) -> None:
        """Run one leg and print how it went."""
        self.log(leg).write_text("")
        start = time.monotonic()
        try:
            how, counts = "passed", leg.run(self, leg) or Counts(passed=1)
            if counts.failed:
                how = "failed"
        except DidNotRun as reason:
            how, counts = f"did not run: {reason}", Counts(skipped=1)
        except AssertionError as reason:
            how, counts = f"failed: {reason}", failures(self.logs, leg)
        self.results[leg.name] = (how, counts)
        with self.mouth:
            say(f"{leg.name:<28} {time.monotonic() - start:6.1f} s (cap {leg.cap})  {how}")
            if how.startswith("failed"):
                say(last_lines(self.log(leg).read_text(errors="replace"), SHOWN))

    def together(self, *legs: Leg) -> None:
        """Run legs beside each other, one a core."""
        running = [self._begin(leg) for leg in legs]
        try:
            for done in running:
                done.wait()
        except KeyboardInterrupt:
            # Each leg ends its own services when its program has ended; wait for that, whatever else is pressed.
            for number in (signal.SIGINT, signal.SIGTERM, signal.SIGHUP):
                signal.signal(number, signal.SIG_IGN)
            self.stop()
            for done in running:
                done.wait(30)
            raise

    def _begin(self, leg: Leg) -> threading.Event:
        """Run a leg in a thread. An event tells the end: a join that a signal interrupts takes the thread for finished."""
        done = threading.Event()

        def run() -> None:
            try:
                self.one(leg)
            finally:
                done.set()

        threading.Thread(target=run, daemon=True).start()
        return done

    def stop(self) -> None:
        """End what still runs."""
        for child in list(self.children):
            end_group(child)


def end_group(child: subprocess.Popen[str]) -> None:
    """End a program and what it started; it leads a session of its own, so nobody else is in that group."""
    for number in (signal.SIGTERM, signal.SIGKILL):
        try:
            os.killpg(child.pid, number)
            child.wait(5)
            return
        except subprocess.TimeoutExpired:
            continue
        except ProcessLookupError:
            return


def failures(logs: Path, leg: Leg) -> Counts:
    """The counts of a leg that failed: those of its report when there is one with a failure in it, else one failure."""
    counts = read_report(logs, leg)
    return counts if counts and counts.failed else (counts or Counts()) + Counts(failed=1)


def report(logs: Path, leg: Leg) -> Path:
    """Where pytest writes the counts of a leg."""
    return logs / (leg.name.replace(" ", "-") + ".xml")


def read_report(logs: Path, leg: Leg) -> Counts | None:
    """Counts from pytest's JUnit file; None when it was not written."""
    try:
        suites = list(ElementTree.parse(report(logs, leg)).getroot().iter("testsuite"))
    except (OSError, ElementTree.ParseError):
        return None
    tests, failed, skipped = (sum(int(suite.get(key, 0)) for suite in suites) for key in ("tests", "failures", "skipped"))
    failed += sum(int(suite.get("errors", 0)) for suite in suites)
    return Counts(tests - failed - skipped, failed, skipped)
