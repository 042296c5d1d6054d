"""Django's SQLite back-end with durable settings and a queue for writers (see queue.py).

A statement that writes, or opens a transaction, waits for its turn; the turn ends with the transaction, or with
the statement when it runs on its own. Databases in memory have one process and skip the queue.
"""

import os
import re
from typing import Any

from django.db import OperationalError
from django.db.backends.sqlite3 import base as sqlite3

from deploy.sqlite.queue import WriterQueue, queue_for

READS = ("SELECT", "PRAGMA", "EXPLAI")
WRITES = re.compile(r"\b(INSERT|UPDATE|DELETE|REPLACE)\b", re.IGNORECASE)
RETURNING = re.compile(r"\bRETURNING\b", re.IGNORECASE)
PRAGMAS = (
    # An acknowledged scan survives a power cut: the log is synced at each commit.
    "PRAGMA synchronous = FULL",
    # REPLACE deletes rows; without this it walks round the triggers that guard the records.
    "PRAGMA recursive_triggers = ON",
    "PRAGMA cache_size = -32000",
    "PRAGMA temp_store = MEMORY",
    "PRAGMA journal_size_limit = 67108864",
)


def writes(statement: str) -> bool:
    """Whether a statement may take SQLite's write lock (a read inside WITH does not)."""
    start = statement.lstrip()[:6].upper()
    if start in READS:
        return False
    return not start.startswith("WITH") or bool(WRITES.search(statement))


class QueueingCursor(sqlite3.SQLiteCursorWrapper):
    """A cursor whose writes wait for their turn."""

    database: "DatabaseWrapper | None" = None
    _fetching = False

    def execute(self, query: str, params: Any = None) -> Any:
        """Run one statement."""
        if self.database is None or not writes(query):
            return super().execute(query, params)
        self.database.take_turn()
        # The rows of RETURNING are still to be fetched, and the statement ends with them: close() gives the turn back.
        self._fetching = bool(RETURNING.search(query))
        try:
            return super().execute(query, params)
        except BaseException:
            self._fetching = False
            raise
        finally:
            if not self._fetching:
                self.database.settle()

    def executemany(self, query: str, param_list: Any) -> Any:
        """Run one statement for many rows."""
        if self.database is None:
            return super().executemany(query, param_list)
        self.database.take_turn()
        try:
            return super().executemany(query, param_list)
        finally:
            self.database.settle()

    def close(self) -> None:
        """End the statement, and with it the turn of a write that ran on its own."""
        super().close()
        self._fetched()

    def __del__(self) -> None:
        self._fetched()

    def _fetched(self) -> None:
        if self._fetching and self.database is not None:
            self._fetching = False
            self.database.settle()


class DatabaseWrapper(sqlite3.DatabaseWrapper):
    """The back-end `deploy.sqlite`."""

    _queue: WriterQueue | None = None
    _holder: int | None = None  # the process that holds the turn: a forked child does not

    def get_new_connection(self, conn_params: dict[str, Any]) -> Any:
        """Open the file, in WAL mode and with the pragmas above."""
        connection = super().get_new_connection(conn_params)
        if self.is_in_memory_db():
            self._queue = None
            connection.execute("PRAGMA recursive_triggers = ON")
            return connection
        self._queue = queue_for(str(conn_params["database"]))
        if connection.execute("PRAGMA journal_mode").fetchone()[0] != "wal":
            self.take_turn()
            try:
                connection.execute("PRAGMA journal_mode = WAL")
            finally:
                self._give_turn_back()
        for pragma in PRAGMAS:
            connection.execute(pragma)
        return connection

    def create_cursor(self, name: str | None = None) -> Any:
        """A cursor that queues its writes."""
        cursor = self.connection.cursor(factory=QueueingCursor)
        cursor.database = self
        return cursor

    def take_turn(self) -> None:
        """Wait in line to write. Raises OperationalError when the turn does not come in time."""
        if self._queue is None or self._holder == os.getpid():
            return
        seconds = float(self.settings_dict["OPTIONS"].get("timeout", 5))
        if not self._queue.acquire(seconds):
            raise OperationalError(f"another writer has kept the database for {seconds:g} seconds")
        self._holder = os.getpid()

    def settle(self) -> None:
        """Give the turn back unless a transaction is open."""
        if self._holder is not None and not (self.connection is not None and self.connection.in_transaction):
            self._give_turn_back()

    def _give_turn_back(self) -> None:
        mine, self._holder = self._holder == os.getpid(), None
        if mine and self._queue is not None:
            self._queue.release()

    def _commit(self) -> None:
        try:
            super()._commit()  # type: ignore[misc]  # the stubs leave these three out
        finally:
            self.settle()

    def _rollback(self) -> None:
        try:
            super()._rollback()  # type: ignore[misc]
        finally:
            self.settle()

    def _close(self) -> None:
        try:
            super()._close()  # type: ignore[misc]
        finally:
            self._give_turn_back()
