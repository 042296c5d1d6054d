"""python -m tests.benchmarks [name …]"""

from __future__ import annotations

import os
import platform
import subprocess
import sys
import tempfile
import time
from importlib import import_module
from pathlib import Path

NAMES = (
    "expiring", "trace", "late", "stall", "scan", "laminates",
    "warmth", "kinetics", "offline", "tablet", "picture", "tables", "answer",
)  # fmt: skip


def main(names: list[str]) -> int:
    unknown = [n for n in names if n not in NAMES]
    if unknown:
        print(f"There is no benchmark {', '.join(unknown)}; there are {', '.join(NAMES)}.")
        return 2
    if len(names) == 1 and "SELVEDGE_BENCH_TABLE" in os.environ:
        from tests.benchmarks.ground import prepare

        prepare(names[0])
        import_module(f"tests.benchmarks.{names[0]}").main()
        return 0
    return each(names or list(NAMES))


def each(names: list[str]) -> int:
    """A process each: one's caches, connections and garbage are not the next one's. Ends with all their lines as a table."""
    with tempfile.TemporaryDirectory(prefix="selvedge-bench-") as folder:
        table = Path(folder, "table")
        env = os.environ | {"SELVEDGE_BENCH_TABLE": str(table)}
        codes = [subprocess.run([sys.executable, "-m", "tests.benchmarks", n], env=env, check=False).returncode for n in names]
        load = ", ".join(f"{n:.1f}" for n in os.getloadavg())
        print(f"\n{time.strftime('%Y-%m-%d')}, Python {platform.python_version()}, {os.cpu_count()} processors, load {load}")
        print(table.read_text(encoding="utf-8") if table.exists() else "nothing was measured", end="")
    failed = [name for name, code in zip(names, codes, strict=True) if code]
    if failed:
        print(f"not measured to its end: {', '.join(failed)}")
    return max(codes)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
