"""Writers of the embedded database wait in line: nobody is refused, nobody waits long, a fork takes nothing along."""

import multiprocessing
import os
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from django.db import OperationalError
from django.db.utils import ConnectionHandler
from pytest_django.plugin import DjangoDbBlocker

from deploy.sqlite.base import DatabaseWrapper, writes
from deploy.sqlite.queue import queue_for

pytestmark = pytest.mark.core
WRITERS, EACH = 8, 40


def handler(path: Path, timeout: float = 20) -> ConnectionHandler:
    """Connections to a database of the test's own, one a thread, as the service has them."""
    options = {"timeout": timeout, "transaction_mode": "IMMEDIATE"}
    return ConnectionHandler({"default": {"ENGINE": "deploy.sqlite", "NAME": str(path), "CONN_MAX_AGE": None, "OPTIONS": options}})


@pytest.fixture
def path(tmp_path: Path, django_db_blocker: DjangoDbBlocker) -> Iterator[Path]:
    """A database file of the test's own; the blocker guards the suite's database, which is not touched here."""
    file = tmp_path / "shop.sqlite3"
    with django_db_blocker.unblock():
        yield create(file)


def create(file: Path) -> Path:
    with handler(file)["default"].cursor() as cursor:
        cursor.execute("CREATE TABLE tally (id INTEGER PRIMARY KEY, n INTEGER NOT NULL)")
        cursor.execute("INSERT INTO tally VALUES (1, 0)")
    return file


def add_in_a_transaction(connection: DatabaseWrapper) -> None:
    connection.set_autocommit(False, force_begin_transaction_with_broken_autocommit=True)
    try:
        with connection.cursor() as cursor:
            cursor.execute("SELECT n FROM tally WHERE id = 1")
            n = cursor.fetchone()[0]
            cursor.execute("UPDATE tally SET n = %s WHERE id = 1", [n + 1])
        connection.commit()
    finally:
        connection.set_autocommit(True)


def add_on_its_own(connection: DatabaseWrapper) -> None:
    with connection.cursor() as cursor:
        cursor.execute("UPDATE tally SET n = n + 1 WHERE id = 1 RETURNING n")
        cursor.fetchone()


def write_many(path: Path, add: Callable[[DatabaseWrapper], None], times: int, waits: "list[float] | None" = None) -> None:
    connection = handler(path)["default"]
    for _ in range(times):
        start = time.perf_counter()
        add(connection)  # type: ignore[arg-type]
        if waits is not None:
            waits.append(time.perf_counter() - start)
    connection.close()


def total(path: Path) -> int:
    with handler(path)["default"].cursor() as cursor:
        cursor.execute("SELECT n FROM tally")
        return int(cursor.fetchone()[0])


def forked_writer(path: Path, add: Callable[[DatabaseWrapper], None], pipe: "multiprocessing.connection.Connection") -> None:
    waits: list[float] = []
    write_many(path, add, EACH, waits)
    pipe.send(waits)


@pytest.mark.parametrize("add", [add_in_a_transaction, add_on_its_own])
def test_eight_threads_write_without_a_refusal_and_without_losing_an_update(path: Path, add: Callable[[DatabaseWrapper], None]) -> None:
    waits: list[float] = []
    threads = [threading.Thread(target=write_many, args=(path, add, EACH, waits)) for _ in range(WRITERS)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(60)
    assert total(path) == WRITERS * EACH
    # Typical worst on an idle machine: 10-40 ms. The bound is loose because a loaded machine runs this too.
    assert max(waits) < 1.0


@pytest.mark.parametrize("add", [add_in_a_transaction, add_on_its_own])
def test_eight_processes_write_without_a_refusal_and_without_losing_an_update(path: Path, add: Callable[[DatabaseWrapper], None]) -> None:
    fork = multiprocessing.get_context("fork")
    pipes = [fork.Pipe(duplex=False) for _ in range(WRITERS)]
    processes = [fork.Process(target=forked_writer, args=(path, add, writing)) for _, writing in pipes]
    for process in processes:
        process.start()
    waits = [wait for reading, _ in pipes for wait in reading.recv()]
    for process in processes:
        process.join(60)
    assert [process.exitcode for process in processes] == [0] * WRITERS
    assert total(path) == WRITERS * EACH
    assert max(waits) < 1.0


def test_a_reader_does_not_wait_for_a_writer(path: Path) -> None:
    writer, reader = handler(path)["default"], handler(path, timeout=0.05)["default"]
    with writer.cursor() as cursor:
        cursor.execute("BEGIN IMMEDIATE")
        cursor.execute("UPDATE tally SET n = 99")
        with reader.cursor() as reading:
            reading.execute("WITH seen AS (SELECT n FROM tally) SELECT n FROM seen")
            assert reading.fetchone() == (0,)
        cursor.execute("ROLLBACK")


def test_a_writer_whose_turn_does_not_come_is_told_so_and_the_line_goes_on(path: Path) -> None:
    first, second = handler(path)["default"], handler(path, timeout=0.05)["default"]
    with first.cursor() as cursor:
        cursor.execute("BEGIN IMMEDIATE")
        with pytest.raises(OperationalError, match=r"another writer has kept the database for 0\.05 seconds"):
            add_on_its_own(second)  # type: ignore[arg-type]
        cursor.execute("COMMIT")
    add_on_its_own(second)  # type: ignore[arg-type]
    assert total(path) == 1


def test_a_writer_that_gives_up_on_another_process_leaves_the_line_usable(path: Path) -> None:
    script = (
        "import fcntl, os, sys, time\n"
        "descriptor = os.open(sys.argv[1], os.O_RDWR | os.O_CREAT)\n"
        "fcntl.flock(descriptor, fcntl.LOCK_EX); print('held', flush=True); time.sleep(60)\n"
    )
    holder = subprocess.Popen([sys.executable, "-c", script, f"{path}-writers"], stdout=subprocess.PIPE, text=True)
    try:
        assert holder.stdout is not None and holder.stdout.readline() == "held\n"
        with pytest.raises(OperationalError, match="another writer has kept the database"):
            add_on_its_own(handler(path, timeout=0.1)["default"])  # type: ignore[arg-type]
    finally:
        holder.send_signal(signal.SIGKILL)
        holder.wait(10)
    # The kernel freed the dead process's lock, and the one who gave up took nothing along.
    write_many(path, add_on_its_own, 3)
    assert total(path) == 3


def test_a_forked_child_does_not_keep_the_turn_of_its_parent(path: Path) -> None:
    connection = handler(path)["default"]
    cursor = connection.cursor()
    cursor.execute("BEGIN IMMEDIATE")
    child = os.fork()
    if child == 0:
        time.sleep(20)
        os._exit(0)
    try:
        queue_for(str(path))._descriptor, kept = None, queue_for(str(path))._descriptor
        assert kept is not None
        # The parent drops its descriptor without unlocking, as it would by dying: only a copy in the child could hold on.
        os.close(kept)
        took = subprocess.run(
            [sys.executable, "-c", "import fcntl, sys; fcntl.flock(open(sys.argv[1]), fcntl.LOCK_EX | fcntl.LOCK_NB)", f"{path}-writers"],
            capture_output=True,
            text=True,
        )
        assert took.returncode == 0, took.stderr
    finally:
        os.kill(child, signal.SIGKILL)
        os.waitpid(child, 0)
        cursor.execute("ROLLBACK")
        connection.close()


def test_a_returned_row_that_nobody_fetched_does_not_keep_the_turn(path: Path) -> None:
    first = handler(path)["default"]
    first.cursor().execute("UPDATE tally SET n = n + 1 RETURNING n")
    add_on_its_own(handler(path, timeout=1)["default"])  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("statement", "expected"),
    [
        ("SELECT 1", False),
        ("  \n select 1", False),
        ("PRAGMA foreign_keys", False),
        ("EXPLAIN QUERY PLAN DELETE FROM leg", False),
        ("WITH RECURSIVE up AS (SELECT 1) SELECT * FROM up", False),
        ("WITH gone AS (SELECT 1) DELETE FROM flag WHERE id IN (SELECT * FROM gone)", True),
        ("INSERT INTO t VALUES (1)", True),
        ("BEGIN IMMEDIATE", True),
        ("SAVEPOINT a", True),
        ("VACUUM", True),
    ],
)
def test_a_statement_queues_when_it_may_take_the_write_lock(statement: str, expected: bool) -> None:
    assert writes(statement) is expected


def test_the_database_syncs_every_commit_and_guards_its_keys_and_triggers(path: Path) -> None:
    with handler(path)["default"].cursor() as cursor:
        pragmas = {}
        for name in ("journal_mode", "synchronous", "foreign_keys", "recursive_triggers"):
            cursor.execute(f"PRAGMA {name}")
            pragmas[name] = cursor.fetchone()[0]
    assert pragmas == {"journal_mode": "wal", "synchronous": 2, "foreign_keys": 1, "recursive_triggers": 1}
