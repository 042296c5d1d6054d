"""Benchmarks: a command, not timed tests. `python -m tests.benchmarks [name …]` prints ratios against a limit measured in the
same run. Names: scan, expiring, trace, stall, late, laminates, warmth, kinetics. Those against PostgreSQL need
SELVEDGE_BENCH_DATABASE_URL, a database that may be filled and emptied; the tables are left filled so that a figure can be looked into.
"""
