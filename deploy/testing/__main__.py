"""Runs the legs: all of them, the fast ones, or those named. Ends with one plain line of counts."""

import argparse
import os
import shutil
import signal
import sys
import tempfile
import time
from pathlib import Path
from types import FrameType

from deploy import environment
from deploy.setup import packages, places, reader
from deploy.setup.words import Stop, complain, say
from deploy.testing.legs import Bench, Counts, Leg
from deploy.testing.starting import START
from deploy.testing.static import STATIC, TYPES
from deploy.testing.suites import CORE, FAST, SMALL, SUITES

BUDGET = 20 * 60  # seconds that everything should take on two cores of its own; longer is said, loudly
LIMIT = 80 * 60  # longer than this is a failure even on a busy machine: something hangs
NAMED = {leg.name.replace(" ", "-"): leg for leg in (*STATIC, TYPES, CORE, *SUITES, *SMALL, FAST, START)}


def arguments(given: list[str]) -> argparse.Namespace:
    """What stands behind deploy/test."""
    parser = argparse.ArgumentParser(prog="deploy/test", description="Run every check.", epilog=f"Legs: {', '.join(NAMED)}")
    parser.add_argument("legs", nargs="*", metavar="fast | LEG", help="only the fast ones, or only these")
    wishes = parser.parse_args(given)
    unknown = set(wishes.legs) - set(NAMED) - {"fast"}
    if unknown:
        parser.error(f"no such leg: {', '.join(sorted(unknown))}. Legs: {', '.join(NAMED)}")
    return wishes


def plan(names: list[str]) -> list[tuple[Leg, ...]]:
    """The legs in order; those in one tuple run beside each other."""
    static: list[tuple[Leg, ...]] = [STATIC[n : n + 2] for n in range(0, len(STATIC), 2)]
    if names == ["fast"]:
        return [*static, (TYPES, CORE), (FAST,)]
    if names:
        return [(NAMED[name],) for name in names]
    return [*static, (TYPES, CORE), *((leg,) for leg in SUITES), (START, SMALL[0]), SMALL[1:]]


def check(names: list[str]) -> int:
    """Run the plan; returns the exit code."""
    env = environment.read(os.environ)
    if not packages.usable(env.venv):
        places.writable(env.venv.parent, "SELVEDGE_VENV")
    lock = environment.REPOSITORY / "tests" / "requirements.txt"
    start = time.monotonic()
    python = packages.environment(env.venv, lock, os.environ.get("SELVEDGE_WHEELS", ""))
    reader.bring(env.venv, os.environ.get("SELVEDGE_WHEELS", ""))
    say(f"{'environment':<28} {time.monotonic() - start:6.1f} s")
    scratch = Path(tempfile.mkdtemp(prefix="selvedge-checks-"))
    logs = scratch / "logs"
    logs.mkdir()
    bench = Bench(python, logs, scratch)
    try:
        for legs in plan(names):
            bench.together(*legs)
    finally:
        bench.stop()
        shutil.rmtree(scratch, ignore_errors=True)
    return verdict(bench, time.monotonic() - start)


def verdict(bench: Bench, took: float) -> int:
    """Print what went wrong, the time, and the line of counts."""
    failed = [name for name, (how, _) in bench.results.items() if how.startswith("failed")]
    absent = [name for name, (how, _) in bench.results.items() if how.startswith("did not run")]
    say("")
    if failed:
        say(f"Failed: {', '.join(failed)}")
    if absent:
        say(f"Did not run: {', '.join(absent)}" + (" (with CI=true that is a failure)" if in_ci() else ""))
    late = took > LIMIT
    over = "" if took <= BUDGET else ": OVER THE BUDGET, on a machine that was not busy this is a defect"
    say(f"Took {took / 60:.1f} of {BUDGET / 60:.0f} minutes{over}")
    total = sum((counts for _, counts in bench.results.values()), Counts())
    say(f"{total.passed} passed, {total.failed} failed, {total.skipped} skipped")
    return 1 if failed or late or (absent and in_ci()) else 0


def in_ci() -> bool:
    """Whether this run decides about a change."""
    return os.environ.get("CI", "").lower() in ("true", "1")


def end(number: int, frame: FrameType | None) -> None:
    """A signal unwinds the run, so that what it started is stopped."""
    raise KeyboardInterrupt


def main() -> int:
    """Reasons that a person can mend are sentences."""
    signal.signal(signal.SIGTERM, end)
    signal.signal(signal.SIGHUP, end)
    try:
        return check(arguments(sys.argv[1:]).legs)
    except (Stop, environment.BadSetting) as error:
        return complain(error)
    except KeyboardInterrupt:
        return complain(Stop("stopped; what was started for the checks has been ended"))


if __name__ == "__main__":
    sys.exit(main())
