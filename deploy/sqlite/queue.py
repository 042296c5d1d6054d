"""One writer at a time, first come first served, across threads and processes.

SQLite's own busy handler sleeps and tries again, so with eight writers one of them can wait for seconds.
Here a writer waits in line: threads of one process hand the turn over in order of arrival, processes wait
on an advisory lock (flock) on a file beside the database, which the kernel frees when a process dies.
"""

import fcntl
import os
import threading
import time
from collections import deque


class WriterQueue:
    """The line for one database file, shared by all connections of this process."""

    def __init__(self, path: str) -> None:
        self._path = path
        self._mutex = threading.Lock()
        self._waiting: deque[threading.Lock] = deque()
        self._taken = False
        self._descriptor: int | None = None

    def acquire(self, seconds: float) -> bool:
        """Wait at most `seconds` for the turn; False when it did not come."""
        until = time.monotonic() + seconds
        if not self._turn(seconds):
            return False
        if self._lock_file(max(0.0, until - time.monotonic())):
            return True
        self._next()
        return False

    def release(self) -> None:
        """Give the turn to the next in line."""
        if self._descriptor is not None:
            fcntl.flock(self._descriptor, fcntl.LOCK_UN)
        self._next()

    def _turn(self, seconds: float) -> bool:
        with self._mutex:
            if not self._taken:
                self._taken = True
                return True
            ticket = threading.Lock()
            ticket.acquire()
            self._waiting.append(ticket)
        if ticket.acquire(timeout=seconds):
            return True
        with self._mutex:
            if ticket in self._waiting:
                self._waiting.remove(ticket)
                return False
        return True  # handed over at the very end of the wait

    def _next(self) -> None:
        with self._mutex:
            if self._waiting:
                self._waiting.popleft().release()
            else:
                self._taken = False

    def _lock_file(self, seconds: float) -> bool:
        if self._descriptor is None:
            self._descriptor = os.open(self._path, os.O_RDWR | os.O_CREAT | os.O_CLOEXEC, 0o600)
        try:
            fcntl.flock(self._descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
            return True
        except BlockingIOError:
            return self._wait_for_file(self._descriptor, seconds)

    def _wait_for_file(self, descriptor: int, seconds: float) -> bool:
        # flock knows no time-out, and asking again and again is unfair: a thread waits in the kernel's line for us.
        waiter = threading.Thread(target=fcntl.flock, args=(descriptor, fcntl.LOCK_EX), daemon=True)
        waiter.start()
        waiter.join(seconds)
        if not waiter.is_alive():
            return True
        # The waiter may still get the lock later; a new descriptor is taken next time, and this one is given up then.
        self._descriptor = None
        threading.Thread(target=_close_after, args=(waiter, descriptor), daemon=True).start()
        return False

    def forget(self) -> None:
        """In a forked child: the descriptor is the parent's lock, and holding it would outlive the parent."""
        if self._descriptor is not None:
            os.close(self._descriptor)
        self.__init__(self._path)  # type: ignore[misc]  # a fresh line: the parent's threads do not exist here


def _close_after(waiter: threading.Thread, descriptor: int) -> None:
    waiter.join()
    os.close(descriptor)


_queues: dict[str, WriterQueue] = {}
_guard = threading.Lock()


def queue_for(database: str) -> WriterQueue:
    """The line of the database file `database`."""
    path = os.path.realpath(database) + "-writers"
    with _guard:
        return _queues.setdefault(path, WriterQueue(path))


def _forget_all() -> None:
    global _guard
    _guard = threading.Lock()
    for queue in _queues.values():
        queue.forget()


os.register_at_fork(after_in_child=_forget_all)
