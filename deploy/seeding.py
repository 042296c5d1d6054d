"""A mark in the database while the demo shop is being loaded.

The demo is some thousand records in many commits; in one transaction PostgreSQL needs a third longer for it. A set-up
that is killed half-way leaves the mark, and the next start says so instead of serving half a shop.
"""

from collections.abc import Iterator
from contextlib import contextmanager

from django.db.backends.base.base import BaseDatabaseWrapper

MARK = "deploy_seeding"


def half_loaded(connection: BaseDatabaseWrapper) -> bool:
    """Whether an earlier loading did not come to its end."""
    return MARK in connection.introspection.table_names()


@contextmanager
def seeding(connection: BaseDatabaseWrapper) -> Iterator[None]:
    """The mark stands inside, and goes only when everything inside went well."""
    with connection.cursor() as cursor:
        cursor.execute(f"CREATE TABLE {MARK} (begun integer)")
    yield
    with connection.cursor() as cursor:
        cursor.execute(f"DROP TABLE {MARK}")
