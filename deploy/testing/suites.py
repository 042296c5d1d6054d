"""The legs that run tests."""

from deploy.setup import reader
from deploy.testing import services
from deploy.testing.legs import Bench, Counts, DidNotRun, Leg, read_report, report

NOTHING_COLLECTED = 5
PLAIN = "not browser and not redis_worker and not readers"
# A file stays with one process: some build a whole shop once for all their tests. In the order of tests/conftest.py.
SHARED_OUT = ("-n", "2", "--dist", "loadfile", "--no-loadscope-reorder")


def pytest(bench: Bench, leg: Leg, *arguments: str, env: dict[str, str] | None = None) -> Counts:
    """Run pytest and read its counts. Raises AssertionError on a failure, DidNotRun when there is no such test."""
    command = [str(bench.python), "-m", "pytest", "-q", f"--junitxml={report(bench.logs, leg)}", *arguments]
    head_start = {"SELVEDGE_TEST_MIGRATED": str(bench.migrated)} if bench.migrated else {}
    code = bench.command(leg, command, head_start | (env or {}), check=False)
    if code == NOTHING_COLLECTED:
        raise DidNotRun("there is no such test")
    counts = read_report(bench.logs, leg)
    assert code == 0, f"pytest ended with code {code}" + (f", {counts.failed} failed" if counts else "")
    assert counts, "pytest wrote no report"
    return counts


def core(bench: Bench, leg: Leg) -> Counts:
    """What needs no database."""
    return pytest(bench, leg, "tests/core", *SHARED_OUT)


def on_sqlite(bench: Bench, leg: Leg) -> Counts:
    """Everything else on the embedded database."""
    return pytest(bench, leg, "tests", "--ignore=tests/core", *SHARED_OUT, "-m", f"{PLAIN} and not postgresql")


def fast_on_sqlite(bench: Bench, leg: Leg) -> Counts:
    """The same without the slow ones."""
    return pytest(bench, leg, "tests", "--ignore=tests/core", *SHARED_OUT, "-m", f"{PLAIN} and not postgresql and not slow")


def on_postgresql(bench: Bench, leg: Leg) -> Counts:
    """The same on PostgreSQL, without what needs no database, and without the long ones whose parts are shown here elsewhere."""
    with services.postgresql(bench.python) as url:
        env = {"SELVEDGE_TEST_DATABASE_URL": url}
        return pytest(bench, leg, "tests", "--ignore=tests/core", *SHARED_OUT, "-m", f"{PLAIN} and not core and not once", env=env)


def with_redis(bench: Bench, leg: Leg) -> Counts:
    """A Redis and a Celery worker process of our own."""
    with services.redis() as url:
        return pytest(bench, leg, "tests", "-m", "redis_worker", env={"SELVEDGE_TEST_REDIS_URL": url})


def in_a_browser(bench: Bench, leg: Leg) -> Counts:
    """Journeys in a real browser."""
    return pytest(bench, leg, "tests", *SHARED_OUT, "-m", "browser and not camera", env={"SELVEDGE_TEST_CHROMIUM": services.chromium()})


def camera_without_a_network(bench: Bench, leg: Leg) -> Counts:
    """What reads codes in a browser, beside what reads them on the server. It is brought from elsewhere, as packages are."""
    if not reader.folder(bench.python.parent.parent).is_dir():
        raise DidNotRun("what reads codes in the browser could not be fetched; a line above says why")
    return pytest(bench, leg, "tests/pages", "-m", "camera", env={"SELVEDGE_TEST_CHROMIUM": services.chromium()})


def labels_read_back(bench: Bench, leg: Leg) -> Counts:
    """Printed labels, read by programs that share nothing with ours."""
    services.label_readers()
    return pytest(bench, leg, "tests/printing", "-m", "readers")


CORE = Leg("core", 900, core)
FAST = Leg("suite on SQLite, fast", 240, fast_on_sqlite)
SUITES = (
    Leg("suite on SQLite", 1200, on_sqlite),
    Leg("suite on PostgreSQL", 1500, on_postgresql),
    Leg("browser", 1500, in_a_browser),
)
SMALL = (
    Leg("Redis and a worker", 300, with_redis),
    Leg("labels read back", 300, labels_read_back),
    Leg("camera without a network", 300, camera_without_a_network),
)
"""One process each: they run beside each other."""
