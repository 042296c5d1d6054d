"""python -m tests.benchmarks [name …]"""

from __future__ import annotations

import os
import subprocess
import sys
from importlib import import_module

NAMES = ("expiring", "trace", "late", "stall", "scan")


def main(names: list[str]) -> int:
    unknown = [n for n in names if n not in NAMES]
    if unknown:
        print(f"There is no benchmark {', '.join(unknown)}; there are {', '.join(NAMES)}.")
        return 2
    if len(names) == 1:
        from tests.benchmarks.ground import prepare

        prepare(names[0])
        import_module(f"tests.benchmarks.{names[0]}").main()
        return 0
    # A process each: one's caches, connections and garbage are not the next one's.
    return max(
        subprocess.run([sys.executable, "-m", "tests.benchmarks", n], env=os.environ, check=False).returncode for n in names or NAMES
    )


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
