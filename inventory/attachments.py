"""Files kept as evidence: certificates, logger files, photographs.

A file is written while it comes in and never held whole in memory; it is kept under the hash of its bytes, so the same
bytes are stored once, whatever they are called. Its type is what its bytes say, not what its name says, and only a few types
are taken. Nothing here ever unpacks or runs a file; it is looked at just far enough to know its kind."""

from __future__ import annotations

import hashlib
import os
import re
import tempfile
import zipfile
from collections.abc import Iterable
from pathlib import Path
from typing import BinaryIO

import puremagic
from django.conf import settings

from inventory.core.codes import visible
from inventory.core.reasons import BadInput
from inventory.core.said import say
from inventory.models import Attachment, Item
from inventory.recording import Who

XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
TYPES = {
    "application/pdf": (".pdf",),
    "image/png": (".png",),
    "image/jpeg": (".jpg", ".jpeg"),
    XLSX: (".xlsx",),
    "text/csv": (".csv",),
    "text/plain": (".txt", ".log"),
}
KNOWN = say("PDF, PNG, JPEG, XLSX, CSV or plain text")
_HEAD = 65_536
_NAME_CHARS = 160
_SHA = re.compile(r"[0-9a-f]{64}")
_NOT_IN_NAMES = re.compile(r'[\\/:*?"<>|\s]+')


def keep(chunks: Iterable[bytes], name: str, who: Who, now_us: int, item: Item | None = None) -> Attachment:
    """Store a file that comes in piece by piece, for an item or for none yet; the same file for the same item is there
    once. Raises BadInput attachment.empty, .too_big, .type, .mismatch, .macros, and stores nothing then."""
    folder = Path(settings.MEDIA_ROOT)
    folder.mkdir(parents=True, exist_ok=True, mode=0o700)
    handle, temporary = tempfile.mkstemp(prefix=".incoming-", dir=folder)
    try:
        with os.fdopen(handle, "wb") as out:
            sha, size, head = _write(chunks, out)
        media_type = sniff(head, Path(temporary))
        clean = safe_name(name, media_type)
        media_type = "text/csv" if clean.endswith(".csv") else media_type
        final = path_of(sha)
        final.parent.mkdir(exist_ok=True, mode=0o700)
        Path(temporary).replace(final)  # the same bytes replace themselves
    except BaseException:
        Path(temporary).unlink(missing_ok=True)
        raise
    found = Attachment.objects.filter(sha256=sha, item=item).order_by("pk").first()
    return found or Attachment.objects.create(
        sha256=sha, name=clean, media_type=media_type, size=size, item=item, person_id=who.person, stored_us=now_us
    )


def _write(chunks: Iterable[bytes], out: BinaryIO) -> tuple[str, int, bytes]:
    """Write and hash; stop at the limit, not after it."""
    digest, size, head, most = hashlib.sha256(), 0, b"", settings.SELVEDGE_MAX_UPLOAD
    for chunk in chunks:
        size += len(chunk)
        if size > most:
            text = say(
                "The file is larger than {most} MB, which is the most that is kept here: hand in a smaller scan.",
                most=f"{most / 1000000.0:.1f}",
            )
            raise BadInput("attachment.too_big", text, "file", most=most)
        if len(head) < _HEAD:
            head += chunk[: _HEAD - len(head)]
        digest.update(chunk)
        out.write(chunk)
    if not size:
        raise BadInput("attachment.empty", say("The file is empty: save it again, and hand it in again."), "file")
    out.flush()
    os.fsync(out.fileno())
    return digest.hexdigest(), size, head


def sniff(head: bytes, path: Path) -> str:
    """The media type that the bytes say. Raises BadInput attachment.type, .macros."""
    try:
        found = {match.mime_type for match in puremagic.magic_string(head)}
    except (puremagic.PureError, ValueError):
        found = set()
    for media_type in ("application/pdf", "image/png", "image/jpeg"):
        if media_type in found and head.startswith((b"%PDF-", b"\x89PNG\r\n\x1a\n", b"\xff\xd8\xff")):
            return media_type
    if head.startswith(b"PK\x03\x04"):
        return _spreadsheet(path)
    if "text/html" in found or not _is_text(head):
        raise BadInput("attachment.type", say("This kind of file is not taken: hand in {known}.", known=KNOWN), "file")
    return "text/plain"


def _spreadsheet(path: Path) -> str:
    """A zip file is taken only when it is a workbook without macros. The list of what is in it is read, nothing else."""
    try:
        with zipfile.ZipFile(path) as archive:
            names = set(archive.namelist()[:10_000])
    except (zipfile.BadZipFile, OSError, ValueError, NotImplementedError) as error:
        raise BadInput("attachment.type", say("The file is damaged or not what it says: hand in {known}.", known=KNOWN), "file") from error
    if any(name.lower().endswith("vbaproject.bin") for name in names):
        raise BadInput("attachment.macros", say("The workbook contains macros: save it as .xlsx without them."), "file")
    if not {"[Content_Types].xml", "xl/workbook.xml"} <= names:
        raise BadInput("attachment.type", say("A zip file is not taken: hand in {known}.", known=KNOWN), "file")
    return XLSX


def _is_text(head: bytes) -> bool:
    """Readable text: no control characters besides those of lines, tabs and pages. (UTF-16, as loggers write it, has a mark.)"""
    if head.startswith((b"\xff\xfe", b"\xfe\xff")):
        try:
            return not _controls(head[: len(head) // 2 * 2].decode("utf-16"))
        except UnicodeDecodeError as error:
            return error.start >= len(head) - 4
    return not any(byte < 32 and byte not in (9, 10, 12, 13) for byte in head)


def _controls(text: str) -> bool:
    return any(ord(ch) < 32 and ch not in "\t\n\f\r" for ch in text)


def safe_name(name: str, media_type: str) -> str:
    """A name to show and to save under: no folders, nothing hidden, an ending that fits. Raises BadInput attachment.mismatch
    when the name's ending says another type than the bytes."""
    base = _NOT_IN_NAMES.sub(" ", visible(name.replace("\\", "/").rsplit("/", 1)[-1])).strip()
    stem, dot, ending = base.rpartition(".")
    endings = TYPES[media_type] + (TYPES["text/csv"] if media_type == "text/plain" else ())
    if not dot:
        stem, ending = base, endings[0][1:]
    elif f".{ending.lower()}" not in endings:
        text = say(
            "The file is called .{ending}, but it is {word}: choose the right file, or give it its right name.",
            ending=ending[:12],
            word=_word(media_type),
        )
        raise BadInput("attachment.mismatch", text, "file", media_type=media_type)
    return f"{stem.strip(' .')[: _NAME_CHARS - 6] or 'papers'}.{ending.lower()}"


def _word(media_type: str) -> str:
    return {"text/plain": say("plain text"), XLSX: say("a workbook (XLSX)")}.get(media_type, media_type.split("/")[1].upper())


def path_of(sha256: str) -> Path:
    """Where the bytes lie. ValueError for what is no hash: no other text ever becomes a path."""
    if not _SHA.fullmatch(sha256):
        raise ValueError("not a SHA-256 in hex")
    return Path(settings.MEDIA_ROOT) / sha256[:2] / sha256


def of_record(sha256: str) -> dict[str, list[str]]:
    """For the body of a record that rests on a file: its hash and its name; nothing where no file was named. Raises BadInput
    attachment.unknown."""
    if not sha256.strip():
        return {}
    found = stored(sha256)
    return {"file": [found.sha256, found.name]}


def stored(sha256: str) -> Attachment:
    """A file that was handed in. Raises BadInput attachment.unknown."""
    wanted = sha256.strip().lower()
    found = Attachment.objects.filter(sha256=wanted).order_by("pk").first() if _SHA.fullmatch(wanted) else None
    if found is None:
        raise BadInput("attachment.unknown", say("That file has not been handed in: hand it in first."), "attachment")
    return found
