"""The site's gate: every writer passes it first, shared; decisions pass it alone.

PostgreSQL: a transaction-level advisory lock, taken as the transaction's own first statement, since a snapshot taken in
the same statement would already be too old. SQLite: the back-end begins writing transactions IMMEDIATE, which is that lock.
A shared lock is never upgraded: the caller rolls back and comes again, exclusive.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from django.db import connection, transaction

GATE = 0x5E1D  # namespace of the lock, so that it meets no other user of advisory locks


class NeedsExclusive(Exception):
    """This write reaches below other items: roll back and come again alone."""


@contextmanager
def gate(site: int, exclusive: bool) -> Iterator[None]:
    """A transaction behind the site's gate. Raises whatever the body raises, with nothing written."""
    with transaction.atomic():
        if connection.vendor == "postgresql":
            suffix = "" if exclusive else "_shared"
            with connection.cursor() as cursor:
                cursor.execute("SET LOCAL lock_timeout = '15s'") if exclusive else None
                cursor.execute(f"SELECT pg_advisory_xact_lock{suffix}(%s, %s)", [GATE, site])
        yield
