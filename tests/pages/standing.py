"""A shop that is made once, and put back as it was before each further test that commits: making it takes as long as several tests."""

from __future__ import annotations

import sqlite3

from django.db import connection

from inventory.recording.facts import forget_sources
from layups.demo.master import Yard

from . import floor

_KEPT: list[tuple[Yard, sqlite3.Connection]] = []


def monday() -> Yard:
    """The yard with its named things, on Monday at 07:30. Only SQLite can put a whole database back; elsewhere it is made each time."""
    if connection.vendor != "sqlite":
        return floor.monday()
    connection.ensure_connection()
    if not _KEPT:
        _KEPT.append((floor.monday(), sqlite3.connect(":memory:")))
        connection.connection.backup(_KEPT[0][1])
    else:
        _KEPT[0][1].backup(connection.connection)
        forget_sources()
    return _KEPT[0][0]
