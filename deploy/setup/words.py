"""How the two commands talk to a person."""

import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager


class Stop(Exception):
    """The command cannot go on; the text says why and what to do."""


def say(text: str) -> None:
    """One line for the person who started the command."""
    print(text, flush=True)


@contextmanager
def timed(what: str) -> Iterator[None]:
    """Say what is being done, and how long it took when that is worth knowing."""
    start = time.monotonic()
    say(f"· {what}")
    yield
    if (took := time.monotonic() - start) >= 2:
        say(f"  done in {took:.0f} s")


def last_lines(text: str, count: int = 12) -> str:
    """The end of a program's output, indented."""
    return "\n".join(f"    {line}" for line in text.strip().splitlines()[-count:])


def complain(error: Stop | Exception) -> int:
    """Print the reason on standard error and return the exit code."""
    sys.stdout.flush()
    print(f"selvedge: {error}", file=sys.stderr, flush=True)
    return 1
