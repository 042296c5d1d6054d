"""The clock. Read at the edges only (page, API view, task, command); below, `now_us` is a parameter."""

import time

MICROSECONDS = 1_000_000


def now_us() -> int:
    """Microseconds since 1970-01-01T00:00:00Z, without leap seconds. The one place that reads the clock."""
    return time.time_ns() // 1_000
