"""`manage.py backup FOLDER`: a copy of the embedded database and the attached papers, while the shop works."""

import shutil
import sqlite3
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management import CommandError
from django.core.management.base import BaseCommand, CommandParser
from django.db import connection


class Command(BaseCommand):
    """Copying the database file would lose what still stands in its log; this asks the database for a copy."""

    help = "Write a consistent copy of the database and the attached papers into a new folder."

    def add_arguments(self, parser: CommandParser) -> None:
        """The folder must not exist yet, so that no earlier copy is written over."""
        parser.add_argument("folder", type=Path)

    def handle(self, *args: Any, **options: Any) -> None:
        """Copy, read the copy back, and say what it holds."""
        if connection.vendor != "sqlite":
            raise CommandError("with PostgreSQL, copy the database with pg_dump, and the folder 'uploads' in the home beside it")
        folder: Path = options["folder"]
        try:
            folder.mkdir(mode=0o700, parents=True)
        except OSError as error:
            raise CommandError(f"cannot make {folder}: {error.strerror}; name a new folder") from None
        file = folder / "selvedge.sqlite3"
        with connection.cursor() as cursor:
            cursor.execute("VACUUM INTO %s", [str(file)])
        # Papers are named by their content and never change: those that came after the database's copy do no harm.
        if Path(settings.MEDIA_ROOT).is_dir():
            shutil.copytree(settings.MEDIA_ROOT, folder / "uploads")
        self.stdout.write(f"{folder}: {checked(file)}")


def checked(file: Path) -> str:
    """Open the copy as another program would, let SQLite check it, and count the records. Raises CommandError."""
    with sqlite3.connect(f"file:{file}?mode=ro", uri=True) as copy:
        verdict = copy.execute("PRAGMA integrity_check").fetchone()[0]
        acts = copy.execute("SELECT count(*) FROM inventory_act").fetchone()[0]
        guards = copy.execute("SELECT count(*) FROM sqlite_master WHERE type = 'trigger'").fetchone()[0]
    copy.close()
    if verdict != "ok" or not guards:
        raise CommandError(f"the copy {file} is not sound: {verdict}, {guards} guards")
    return f"{acts} acts, {guards} guards, checked"
