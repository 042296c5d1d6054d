"""Files kept as evidence: known by their bytes, kept under their hash, never trusted."""

from __future__ import annotations

import hashlib
import io
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
import xlsxwriter

from inventory import attachments
from inventory.core.reasons import BadInput
from inventory.models import Attachment
from inventory.verbs.certifying import Certify, PaperValue
from inventory.verbs.receiving import ReceivedPiece
from tests.ledger.bench import Bench, item, last, prepreg

pytestmark = pytest.mark.django_db
PDF = b"%PDF-1.7\n1 0 obj\n<<>>\nendobj\ntrailer\n%%EOF\n"
PNG = b"\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR" + b"\0" * 40
JPEG = b"\xff\xd8\xff\xe0\x00\x10JFIF\x00" + b"\0" * 40


def book(**parts: bytes) -> bytes:
    out = io.BytesIO()
    with xlsxwriter.Workbook(out, {"in_memory": True}) as made:
        made.add_worksheet().write(0, 0, "resin")
    if parts:
        import zipfile

        with zipfile.ZipFile(out, "a") as archive:
            for name, data in parts.items():
                archive.writestr(name.replace("__", "/").replace("_bin", ".bin"), data)
    return out.getvalue()


@pytest.fixture
def bench(tmp_path: Path, settings: Any) -> Bench:
    settings.MEDIA_ROOT = tmp_path / "uploads"
    settings.SELVEDGE_MAX_UPLOAD = 100_000
    return Bench()


def keep(bench: Bench, data: bytes, name: str, **more: Any) -> Attachment:
    pieces = [data[i : i + 7] for i in range(0, len(data), 7)]
    return attachments.keep(pieces, name, bench.yard.who("Ines"), bench.now_us, **more)


def files(settings: Any) -> list[Path]:
    root = Path(settings.MEDIA_ROOT)
    return sorted(path for path in root.rglob("*") if path.is_file()) if root.exists() else []


def named(value: object) -> str | None:
    """Bytes made afresh name no test: two workers must call it the same."""
    return "bytes" if isinstance(value, bytes) else None


@pytest.mark.parametrize(
    ("data", "name", "media_type"),
    [
        (PDF, "cert.pdf", "application/pdf"),
        (PNG, "photo.PNG", "image/png"),
        (JPEG, "photo.jpeg", "image/jpeg"),
        (book(), "values.xlsx", attachments.XLSX),
        ("Wert;42,3\nGröße;1\n".encode("cp1252"), "logger.csv", "text/csv"),
        ("t;°C\n1;-12\n".encode("utf-16"), "logger.txt", "text/plain"),
        (b"time temp\n", "logger.log", "text/plain"),
        (PDF, "no ending", "application/pdf"),
    ],
    ids=named,
)
def test_a_file_is_known_by_its_bytes(bench: Bench, settings: Any, data: bytes, name: str, media_type: str) -> None:
    kept = keep(bench, data, name)
    assert (kept.media_type, kept.size, kept.sha256) == (media_type, len(data), hashlib.sha256(data).hexdigest())
    (path,) = files(settings)
    assert path == attachments.path_of(kept.sha256) and path.read_bytes() == data
    assert path.stat().st_mode & 0o777 == 0o600, "nobody else reads it, and nothing runs it"


@pytest.mark.parametrize(
    ("data", "name", "code"),
    [
        (b"", "cert.pdf", "attachment.empty"),
        (PDF + b"x" * 100_000, "cert.pdf", "attachment.too_big"),
        (PNG, "cert.pdf", "attachment.mismatch"),
        (PDF, "cert.txt", "attachment.mismatch"),
        (PDF, "cert.pdf.exe", "attachment.mismatch"),
        (b"MZ\x90\x00\x03\x00\x00\x00", "cert.pdf", "attachment.type"),
        (b"\x7fELF\x02\x01\x01\x00" + b"\0" * 20, "cert", "attachment.type"),
        (b"<html><script>alert(1)</script></html>", "cert.txt", "attachment.type"),
        (b"GIF89a" + b"\0" * 20, "photo.gif", "attachment.type"),
        (b"PK\x03\x04 not a zip", "values.xlsx", "attachment.type"),
        (book(xl__vbaProject_bin=b"macro"), "values.xlsx", "attachment.macros"),
    ],
    ids=named,
)
def test_what_is_not_taken_is_refused_with_the_reason_and_leaves_nothing(
    bench: Bench, settings: Any, data: bytes, name: str, code: str
) -> None:
    with pytest.raises(BadInput) as wrong:
        keep(bench, data, name)
    assert wrong.value.reason.code == code and wrong.value.where == "file"
    assert files(settings) == [] and Attachment.objects.count() == 0


def test_a_sender_that_never_ends_is_cut_off_at_the_limit(bench: Bench, settings: Any) -> None:
    sent = 0

    def endless() -> Iterator[bytes]:
        nonlocal sent
        while True:
            sent += 1000
            yield b"x" * 1000

    with pytest.raises(BadInput):
        attachments.keep(endless(), "a.txt", bench.yard.who("Ines"), bench.now_us)
    assert sent == 101_000 and files(settings) == []


def test_a_connection_that_breaks_leaves_nothing(bench: Bench, settings: Any) -> None:
    def broken() -> Iterator[bytes]:
        yield PDF
        raise ConnectionError

    with pytest.raises(ConnectionError):
        attachments.keep(broken(), "a.pdf", bench.yard.who("Ines"), bench.now_us)
    assert files(settings) == []


@pytest.mark.parametrize(
    ("name", "clean"),
    [
        ("../../etc/passwd.pdf", "passwd.pdf"),
        ("C:\\papers\\cert.pdf", "cert.pdf"),
        ("cert\x00\r\n.pdf", "cert␀.pdf"),
        (".pdf", "papers.pdf"),
        ('a"b<c>.pdf', "a b c.pdf"),
        ("x" * 300 + ".pdf", "x" * 154 + ".pdf"),
        ("", "papers.pdf"),
    ],
)
def test_a_name_is_only_a_name(bench: Bench, name: str, clean: str) -> None:
    assert keep(bench, PDF, name).name == clean


def test_the_same_bytes_are_stored_once_and_once_for_each_thing(bench: Bench, settings: Any) -> None:
    bench.roll("G7-1")
    first, again = keep(bench, PDF, "a.pdf", item=item("G7-1")), keep(bench, PDF, "b.pdf", item=item("G7-1"))
    loose = keep(bench, PDF, "c.pdf")
    assert first.pk == again.pk != loose.pk
    assert len(files(settings)) == 1


def test_a_certificate_names_the_file_that_it_was_read_from(bench: Bench) -> None:
    bench.do("receive", prepreg(ReceivedPiece("50 m", "T-7")))
    kept = keep(bench, PDF, "cert T26.pdf")
    bench.do("certify", Certify("T26-031", (PaperValue("resin", "42", "T-7"),), attachment=kept.sha256))
    assert f'"file":["{kept.sha256}","cert T26.pdf"]' in last("certify").body
    unknown = bench.not_understood("certify", Certify("T26-031", attachment="0" * 64))
    assert (unknown.reason.code, unknown.where) == ("attachment.unknown", "attachment")
    assert bench.not_understood("certify", Certify("T26-031", attachment="../x")).reason.code == "attachment.unknown"


def test_only_a_hash_is_a_path() -> None:
    for text in ("", "..", "/etc/passwd", "A" * 64, "0" * 63):
        with pytest.raises(ValueError):
            attachments.path_of(text)
