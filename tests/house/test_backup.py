"""A copy of the shop is whole, is checked, and never written over an earlier one."""

import sqlite3
from io import StringIO
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command
from django.db import connection
from pytest_django import Settings

from inventory.models import Site


@pytest.mark.django_db(transaction=True)
def test_a_backup_holds_what_still_stands_in_the_log_and_the_papers(tmp_path: Path, settings: Settings) -> None:
    settings.MEDIA_ROOT = tmp_path / "uploads"
    (tmp_path / "uploads").mkdir()
    (tmp_path / "uploads" / "abc").write_bytes(b"certificate")
    Site.objects.create(code="YARD", name="Yard")
    said = StringIO()
    if connection.vendor != "sqlite":
        with pytest.raises(CommandError, match="pg_dump"):
            call_command("backup", tmp_path / "copy")
        return
    call_command("backup", tmp_path / "copy", stdout=said)
    assert "0 acts" in said.getvalue()
    assert "checked" in said.getvalue()
    assert (tmp_path / "copy" / "uploads" / "abc").read_bytes() == b"certificate"
    with sqlite3.connect(tmp_path / "copy" / "selvedge.sqlite3") as copy:
        assert copy.execute("SELECT code FROM inventory_site").fetchall() == [("YARD",)]


@pytest.mark.django_db(transaction=True)
def test_a_backup_is_not_written_over_an_earlier_one(tmp_path: Path) -> None:
    with pytest.raises(CommandError, match="name a new folder" if connection.vendor == "sqlite" else "pg_dump"):
        call_command("backup", tmp_path)
